"""Levelling notes against published worked examples."""

from __future__ import annotations

import numpy as np
import pytest

from yardfall.core.errors import InputError
from yardfall.core.ground.level_book import Shot, closure_limit_m, from_level_book, reduce_levels

FOOT_M = 0.3048


def run_of(
    backsights: list[float], foresights: list[float], close: str, unit_m: float
) -> list[Shot]:
    """A run of set-ups from the benchmark to a closing point."""
    shots = []
    for i, (back, fore) in enumerate(zip(backsights, foresights, strict=True), start=1):
        end = close if i == len(backsights) else f"TP{i}"
        shots += [Shot("BS", back * unit_m), Shot("FS", fore * unit_m, on=end)]
    return shots


def test_open_run_in_feet() -> None:
    """A US surveying-course problem, recomputed: HI and turning points, misclosure +0.04 ft."""
    shots = run_of([3.10, 6.44, 8.76, 7.12], [9.82, 6.96, 3.27, 10.42], "BM B", FOOT_M)
    book = reduce_levels("BM A", 100 * FOOT_M, shots, {"BM B": 94.91 * FOOT_M}, None)
    assert book.closure is not None
    assert book.closure.misclosure_m / FOOT_M == pytest.approx(0.04, abs=1e-9)
    share = 0.04 / 4
    heights = [h / FOOT_M + share * (k + 1) for k, h in enumerate(book.heights_m)]
    assert heights == pytest.approx([103.10, 99.72, 101.52, 105.37], abs=1e-9)
    turning = [book.points_m[f"TP{k}"] / FOOT_M + share * k for k in (1, 2, 3)]
    assert turning == pytest.approx([93.28, 92.76, 98.25], abs=1e-9)
    # After the correction the closing point is what it is known to be (FM 5-233, App. B:
    # the correction has the opposite sign of the error).
    assert book.points_m["BM B"] / FOOT_M == pytest.approx(94.91, abs=1e-9)


def test_loop_in_metres() -> None:
    """Ghilani & Wolf, Elementary Surveying, 14th ed., problem 5.12 (readings; results derived)."""
    shots = run_of(
        [4.388, 6.907, 4.680, 3.730, 8.464], [4.538, 8.800, 5.978, 5.245, 3.598], "BM", 1.0
    )
    book = reduce_levels("BM", 852.045, shots, {}, 1500.0)
    closure = book.closure
    assert closure is not None
    assert closure.misclosure_m == pytest.approx(0.010, abs=1e-9)
    raw = [book.points_m[f"TP{k}"] + 0.010 / 5 * k for k in (1, 2, 3, 4)]
    assert raw == pytest.approx([851.895, 850.002, 848.704, 847.189], abs=1e-9)
    # Third order allows 12 mm·√km = 14.7 mm over 1500 m (FGCC 1984).
    assert closure.limit_m == pytest.approx(0.0147, abs=5e-5)


def test_sum_of_backsights_less_foresights() -> None:
    """Arithmetic check: ΣBS − ΣFS = last − first elevation (US Navy NAVEDTRA 14071)."""
    backs, fores = [3.10, 6.44, 8.76, 7.12], [9.82, 6.96, 3.27, 10.42]
    book = reduce_levels("A", 100.0, run_of(backs, fores, "end", 1.0), {}, None)
    assert book.points_m["end"] - 100.0 == pytest.approx(sum(backs) - sum(fores), abs=1e-9)


def test_over_a_yard_the_instrument_governs() -> None:
    """Third order over 200 ft is 0.01 ft (derived); the instrument's own error is larger."""
    third_order = 0.012 * np.sqrt(200 * FOOT_M / 1000)
    assert third_order / FOOT_M == pytest.approx(0.01, abs=0.001)
    assert closure_limit_m(200 * FOOT_M, 4) > third_order


def test_ground_shots_and_a_turning_point_on_the_route() -> None:
    shots = [
        Shot("BS", 1.5, on="BM"),
        Shot("IS", 1.6, at_m=0),
        Shot("IS", 1.8, at_m=10),
        Shot("FS", 2.0, on="TP", at_m=20),
        Shot("BS", 1.0, on="TP", at_m=20),
        Shot("IS", 1.4, at_m=30),
    ]
    ground = from_level_book("BM", 100.0, shots)
    assert ground.at_m.tolist() == [0, 10, 20, 30]
    assert ground.elevation_m == pytest.approx([99.9, 99.7, 99.5, 99.1])
    heights = {r.name: r.elevation_m for r in ground.references}
    assert heights == pytest.approx({"set-up 1": 101.5, "set-up 2": 100.5})


@pytest.mark.parametrize(
    ("shots", "pointer"),
    [
        ([Shot("FS", 1.0), Shot("BS", 1.0)], "/shots/0/sight"),
        ([Shot("BS", 1.0), Shot("BS", 1.0)], "/shots/1/sight"),
        ([Shot("BS", 1.0), Shot("FS", 1.0, "A"), Shot("BS", 1.0, "B")], "/shots/2/on"),
        ([Shot("BS", 1.0), Shot("FS", 1.0), Shot("IS", 1.0, at_m=3)], "/shots/2/sight"),
        ([Shot("BS", 1.0), Shot("IS", 1.0, "sill")], "/shots"),
        ([Shot("BS", 1.0), Shot("IS", 1.0), Shot("IS", 1.1, at_m=3)], "/shots/1/at"),
        (
            [Shot("BS", 1.0), Shot("IS", 1.0, at_m=3), Shot("IS", 1.1, at_m=3)],
            "/shots/2/at",
        ),
    ],
)
def test_notes_out_of_order_say_where(shots: list[Shot], pointer: str) -> None:
    with pytest.raises(InputError) as caught:
        from_level_book("BM", 100.0, shots)
    assert caught.value.problems[0].pointer == pointer
