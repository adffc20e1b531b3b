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

# The same for kernels, named by how many indices they have: a kernel's signature says by them how
# each array is indexed, which whoever writes it out in another language must know.
Vector = npt.NDArray[np.float64]
Matrix = npt.NDArray[np.float64]
Cube = npt.NDArray[np.float64]
Block = npt.NDArray[np.float64]  # four indices
SingleBlock = npt.NDArray[np.float32]  # four indices
IntegerVector = npt.NDArray[np.int64]
IntegerMatrix = npt.NDArray[np.int64]
