"""Volumes against published worked figures, and depth classes against a fine sum."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yardfall.core.pipes import CATALOGUE
from yardfall.core.quantities.earthwork import Earthwork, earthwork
from yardfall.core.units import FOOT_M, INCH_M

CU_YD = (3 * FOOT_M) ** 3


def trench(width_in: float, *depth_in: float, swell: float = 0.25, **more: float) -> Earthwork:
    """A trench 100 ft long of evenly spaced depths."""
    at_m = np.linspace(0, 100, len(depth_in)) * FOOT_M
    return earthwork(
        at_m,
        np.array(depth_in) * INCH_M,
        tuple(b * INCH_M for b in (18, 24, 36)),
        width_in * INCH_M,
        more.get("bedding_m", 0.0),
        more.get("outside_m", 0.0),
        swell,
    )


@pytest.mark.parametrize(
    ("width_in", "depth_in", "bank", "loose"), [(6, 18, 2.8, 3.5), (12, 24, 7.4, 9.3)]
)
def test_worked_trenches(width_in: float, depth_in: float, bank: float, loose: float) -> None:
    """Per 100 ft, 25 % swell, as trade handbooks round them (common practice, no source);
    100 ft x 1 ft x 2 ft = 7.41 cu yd is arithmetic."""
    found = trench(width_in, depth_in, depth_in)
    assert found.bank_m3 / CU_YD == pytest.approx(bank, abs=0.05)
    assert found.loose_m3 / CU_YD == pytest.approx(loose, abs=0.05)
    if width_in == 12:
        assert found.bank_m3 / CU_YD == pytest.approx(7.41, abs=0.005)


def test_swell_as_printed() -> None:
    """1,000 bank cu yd at 30 % swell = 1,300 loose (US Army FM 5-434)."""
    found = trench(12, 24, 24, swell=0.30)
    assert found.loose_m3 / found.bank_m3 * 1000 == pytest.approx(1300)


def test_a_4_in_pipe_takes_the_place_of_0_36_cu_yd() -> None:
    """Per 100 ft (common practice, no source); 4.215 in outside, ASTM D3034."""
    found = trench(12, 24, 24, outside_m=CATALOGUE["pvc-sdr35-4"].outside_m)
    assert found.pipe_m3 / CU_YD == pytest.approx(0.36, abs=0.005)
    assert found.haul_loose_m3 == pytest.approx(found.pipe_m3 * 1.25)
    assert found.backfill_m3 == pytest.approx(found.bank_m3 - found.pipe_m3)


def test_station_by_station_is_not_by_the_average() -> None:
    """End areas by hand, 12 in wide: 50 ft of 12 to 36 in and 50 ft of 36 to 12 in are
    2 x 50 x 1 x 2 = 200 cu ft; the mean of the ends alone would say 100."""
    found = trench(12, 12, 36, 12)
    assert found.bank_m3 / FOOT_M**3 == pytest.approx(200)


def test_classes_by_hand() -> None:
    """12 to 36 in over 100 ft: 25 ft to 18 in (mean 15), 25 ft to 24 (21), 50 ft to 36 (30)."""
    found = trench(12, 12, 36).classes
    assert [round(c.from_m / INCH_M, 9) for c in found] == [0, 18, 24]
    assert [round((c.to_m or 0) / INCH_M, 9) for c in found] == [18, 24, 36]
    assert [c.length_m / FOOT_M for c in found] == pytest.approx([25, 25, 50])
    assert [c.volume_m3 / FOOT_M**3 for c in found] == pytest.approx(
        [25 * 15 / 12, 25 * 21 / 12, 50 * 30 / 12]
    )


def test_sod_and_bedding() -> None:
    found = trench(12, 24, 24, bedding_m=3 * INCH_M)
    assert found.sod_m2 / FOOT_M**2 == pytest.approx(100)
    assert found.bedding_m3 / FOOT_M**3 == pytest.approx(25)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(-6, 60), min_size=2, max_size=8))
def test_classes_add_up_to_a_fine_sum(depth_in: list[int]) -> None:
    found = trench(6, *depth_in)
    assert sum(c.volume_m3 for c in found.classes) == pytest.approx(found.bank_m3)
    assert sum(c.length_m for c in found.classes) == pytest.approx(100 * FOOT_M)
    at = np.linspace(0, 100, len(depth_in))
    middle = (np.arange(40_000) + 0.5) / 400
    deep = np.interp(middle, at, np.maximum(depth_in, 0))
    for c in found.classes:
        first = c.from_m / INCH_M if c.from_m else -1.0
        last = np.inf if c.to_m is None else c.to_m / INCH_M
        here = (deep > first + 1e-9) & (deep <= last + 1e-9)
        assert c.length_m / FOOT_M == pytest.approx(here.sum() / 400, abs=0.05)
        assert c.volume_m3 / FOOT_M**3 == pytest.approx(
            (deep[here] / 12 * 0.5).sum() / 400, abs=0.12
        )
