"""The types of what weather functions take and give: numbers, or arrays of numbers."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

Array: TypeAlias = npt.NDArray[np.float64]
Days: TypeAlias = npt.NDArray[np.datetime64]
# A float or an Array, and the result follows the argument: numpy's own types cannot say that.
Values: TypeAlias = Any
