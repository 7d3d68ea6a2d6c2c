"""Many rows at once, straight between their stations."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def straight_between(rows, known, at):  # type: ignore[no-untyped-def]
    """Rows (n, k) at stations (n,), straight between them, at other stations (m,); ends held."""
    found = np.empty((len(at), rows.shape[1]))
    for i, right in enumerate(np.searchsorted(known, at)):
        j = min(max(right, 1), len(known) - 1)
        share = min(max((at[i] - known[j - 1]) / (known[j] - known[j - 1]), 0.0), 1.0)
        found[i] = rows[j - 1] * (1 - share) + rows[j] * share
    return found
