"""The kinds of NumPy arrays that signatures name, each called the same everywhere."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Integers = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
AnyArray = npt.NDArray[Any]
