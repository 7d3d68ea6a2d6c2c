"""What one more reading would settle, against the normal distribution's own sums."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from yardfall.core.chance.one_more import _chance_if_mean


@pytest.mark.parametrize("sigma", [0.2, 0.5, 1.0, 3.0])
@pytest.mark.parametrize("least", [-1.0, 0.0, 0.7])
def test_the_chance_after_a_reading_of_the_mean(sigma: float, least: float) -> None:
    """Ground of deviation 1 read with error σ is left with variance σ²/(1 + σ²) about the mean.

    What fits is ground + other > least, the other of deviation 0.6 and untouched by the reading.
    """
    rng = np.random.default_rng(1)
    here, other = rng.standard_normal(400_000), 0.6 * rng.standard_normal(400_000)
    told = _chance_if_mean(here + 5, here + other > least, sigma)
    left = np.sqrt(sigma**2 / (1 + sigma**2) + 0.6**2)
    assert told == pytest.approx(norm.sf(least, scale=left), abs=0.01)
