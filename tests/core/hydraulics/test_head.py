"""Head at the house: the outlet's lid below the lowest opening by friction and a margin."""

from __future__ import annotations

import pytest

from yardfall.core.hydraulics.head import Opening, find_head
from yardfall.core.pipes import CATALOGUE
from yardfall.core.units import FOOT_M, INCH_M, US

PIPE = CATALOGUE["pvc-sch40-4"]


def test_the_lowest_opening_governs() -> None:
    head = find_head(
        (Opening("adapter joint", 100.0), Opening("basin grate", 99.8)), 99.5, 0.0, PIPE, 30.0
    )
    assert head.opening.what == "basin grate"
    assert head.spare_m == pytest.approx(0.3 - 3 * INCH_M)  # 2 to 3 in: common practice, no source


def test_friction_at_the_capacity_of_a_grade_is_that_grade() -> None:
    """IPC 2021 Table 1106.2: 4 in carries 115 gpm at 1/8 in per ft, so 100 ft lose 12.5 in then.

    Manning with n = 0.010 is within 1.6 % of that row's flow, so within 3.2 % of its head.
    """
    head = find_head((Opening("grate", 10.0),), 0.0, 115 * US.flow_m3s, PIPE, 100 * FOOT_M)
    assert head.friction_m / INCH_M == pytest.approx(12.5, rel=0.033)
