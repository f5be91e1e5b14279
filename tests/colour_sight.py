"""Colours as people see them who lack one kind of cones, to check that pictures are still clear."""

from __future__ import annotations

import numpy as np
from matplotlib.colors import to_rgb

# Machado, Oliveira & Fernandes 2009, A physiologically-based model for simulation of color vision
# deficiency, IEEE Trans. Vis. Comput. Graph. 15(6): matrices for severity 1.0, from memory.
_SEEN = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def as_seen(colour: str, deficiency: str) -> str:
    """A colour as somebody with this deficiency sees it, by a model of an average eye."""
    value = np.array(to_rgb(colour))
    light = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    seen = np.clip(np.array(_SEEN[deficiency]) @ light, 0.0, 1.0)
    value = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
    return "#" + "".join(f"{round(255 * float(part)):02x}" for part in value)
