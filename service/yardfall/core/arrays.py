"""Arrays as the core passes them on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

Indices = NDArray[np.int64]

Mask = NDArray[np.bool_]

Ints = NDArray[np.int64]
