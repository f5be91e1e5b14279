"""What the works read through the last day, and weather by the day, where it can be counted out."""

from __future__ import annotations

import numpy as np

from hydroloop.waterworks.last_day import latest
from hydroloop.waterworks.recharge import day_means


def test_the_last_day_slides():
    """With three steps a day and readings 1, 2, 6, 3, 0: 1; 1, 2; 1, 2, 6; 2, 6, 3; 6, 3, 0."""
    kept, read = np.zeros(3), getattr(latest, "py_func", latest)
    found = [sorted(read(kept, t, value)) for t, value in enumerate([1.0, 2.0, 6.0, 3.0, 0.0])]
    assert found == [[1.0], [1.0, 2.0], [1.0, 2.0, 6.0], [2.0, 3.0, 6.0], [0.0, 3.0, 6.0]]


def test_weather_by_the_day():
    """Of two steps a day depths add up, and temperature is their mean."""
    sky = np.array(
        [[1.0, 4.0, 0.5, 0.6], [2.0, 8.0, 0.7, 0.8], [0.0, 1.0, 0.1, 0.2], [4.0, 2.0, 0.3, 0.4]]
    )
    np.testing.assert_allclose(day_means(sky, 0.5), [[3.0, 6.0, 1.2, 1.4], [4.0, 1.5, 0.4, 0.6]])
    assert day_means(sky, 1.0).tolist() == sky.tolist()
