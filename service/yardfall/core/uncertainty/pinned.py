"""A raster pinned by a few hand readings: the ground given both.

Each level line that was read down from hangs at a height of its own over the raster, free within
OFFSET_M. What a reading tells is then one more height at a place, with an error of its own and one
that all of its line share; the ground is the mean of all grounds given the cells and the readings.

    mean = K(points, places) S⁻¹ z        S = K(places, places) + E

with level and slopes apart, K the covariance of the ground and E that of the errors (kriging:
C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning, 2006, equation
2.23). A reading is held against the cells and the other readings by what it would have been
expected to be without it (equations 5.10 to 5.12 there).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.linalg import block_diag, solve_triangular

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError, Problem
from yardfall.core.ground.level_line import LineReading
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import SAME_STATION_M, merge_stations
from yardfall.core.remarks import Remark
from yardfall.core.uncertainty.accuracy import Accuracy, ErrorModel, drawn_stations, straight
from yardfall.core.uncertainty.lidar import MOST_CELLS, Cells
from yardfall.core.uncertainty.likely_lawns import kinds_by_shares
from yardfall.core.uncertainty.place_errors import model_of_cells
from yardfall.core.uncertainty.true_ground import Seen, kinds_of, mean_change_m

OFFSET_M: Final = 1.0
"""How far a line's height may lie from where the raster puts it: as good as free. Lidar lies some
0.1 m off levels on the ground."""
BEYOND: Final = 3.0
"""A reading so many standard errors off what the rest tells is told (a judgement, no source)."""
WEIGHED: Final = 1000
"""Kinds of ground are weighed to one in so many."""


@dataclass(frozen=True)
class HandReadings:
    """Readings down from level lines, how well they were read, and how well the raster is known."""

    readings: tuple[LineReading, ...]
    by: Accuracy
    raster: Accuracy

    rows: tuple[int, ...] = ()
    """Which of those in the request they are; empty: all."""

    def refuse_useless(self) -> None:
        """Raise InputError for two readings at one station of a line, or one alone on its line."""
        problems = []
        for i, one in enumerate(self.readings):
            its = [o.at_m for o in self.readings if o.line == one.line]
            before = [o.at_m for o in self.readings[:i] if o.line == one.line]
            if len(its) == 1:
                problems.append(
                    Problem(
                        f"/readings/{i}",
                        "One reading from a level line tells nothing over a raster, because the "
                        "line's height is not known. Read the ground from it at another station "
                        "too.",
                    )
                )
            if any(abs(one.at_m - at_m) <= SAME_STATION_M for at_m in before):
                problems.append(
                    Problem(
                        f"/readings/{i}/at",
                        f"Reading {i + 1} stands at the same station as an earlier one on the same "
                        "line; a station takes one reading from each line.",
                    )
                )
        if problems:
            raise InputError(*problems)

    def within(self, length_m: float) -> HandReadings | None:
        """Those on a route of such a length: further on none has a place. None: there are none."""
        rows = [i for i, r in enumerate(self.readings) if r.at_m <= length_m + SAME_STATION_M]
        if not rows:
            return None
        return replace(self, readings=tuple(self.readings[i] for i in rows), rows=tuple(rows))

    @property
    def at_m(self) -> Floats:
        """Their stations (h,), in the order given."""
        return np.array([r.at_m for r in self.readings])

    @property
    def stations_m(self) -> Floats:
        """Their stations, in order, each once."""
        return merge_stations(self.at_m)

    def lines(self) -> list[list[int]]:
        """Which readings are of each line."""
        found: dict[str, list[int]] = {}
        for i, reading in enumerate(self.readings):
            found.setdefault(reading.line, []).append(i)
        return list(found.values())

    def levels_m(self, ground: GroundProfile) -> Floats:
        """What each reading makes of the ground (h,), its line hung where the raster puts it."""
        z_m = np.array([-r.down_m for r in self.readings])
        for its in self.lines():
            z_m[its] += (ground.elevation(self.at_m[its]) - z_m[its]).mean()
        return z_m

    def errors(self) -> Floats:
        """Covariance of the readings' errors (h, h), their lines' heights among them."""
        found = np.zeros((len(self.readings),) * 2)
        for its in self.lines():
            reach_m = float(np.ptp(self.at_m[its]))
            found[np.ix_(its, its)] = OFFSET_M**2
            found[its, its] += self.by.of(reach_m) ** 2
        return found


@dataclass(frozen=True, eq=False)
class Pinned:
    """The ground of a line given a raster and hand readings; `seen` is what it was found from.

    `raw` is the ground by the raster alone. `remarks` are about readings along this line.
    """

    ground: GroundProfile
    remarks: tuple[Remark, ...]
    seen: Seen
    cells: Cells
    hand: HandReadings
    raw: GroundProfile

    @property
    def accuracy(self) -> Accuracy:
        """How well the raster is known."""
        return self.hand.raster

    def errors(self) -> ErrorModel:
        """How well it is known."""
        ground = self.ground
        drawn_m = np.union1d(drawn_stations(ground), ground.read_over_m)
        points_m = straight(ground.at_m, drawn_m, self.cells.ground_m)
        seen = _drawn_at(self.seen, points_m, ground.elevation(drawn_m))
        return model_of_cells(self.accuracy, ground, drawn_m, seen)


def pin(ground: GroundProfile, cells: Cells, hand: HandReadings) -> Pinned:
    """The ground of a raster pinned by hand readings, which stand among its points."""
    return pin_lines([(ground, cells)], hand)[0]


def pin_lines(lines: Sequence[tuple[GroundProfile, Cells]], hand: HandReadings) -> list[Pinned]:
    """The grounds of lines over one raster, pinned by readings that stand among the first's points.

    They are one ground, given the cells of all; of lines about more than MOST_CELLS, each is given
    those of the first and its own. A ground is worked out at places of all four cells and at the
    readings; between these it keeps the raster's shape, moved evenly.
    """
    (first, its_cells), *others = lines
    every = np.vstack([np.column_stack([one.places_m, one.z_m]) for _, one in lines])
    every = np.unique(every, axis=0)
    if len(every) > MOST_CELLS and len(others) > 1:
        return [pin(first, its_cells, hand), *(pin_lines([lines[0], o], hand)[1] for o in others)]
    at = [int(np.abs(first.at_m - at_m).argmin()) for at_m in hand.at_m]
    lidars = hand.raster.of_cells(float(first.at_m[-1]))
    places_m = np.vstack([every[:, :2], its_cells.ground_m[at]])
    seen = Seen(
        places_m,
        np.append(every[:, 2], hand.levels_m(first)),
        tuple(block_diag(one.covariance(every[:, :2]), hand.errors()) for one in lidars),
        np.empty((0, 2)),
        np.empty(0),
        np.empty((0, len(places_m))),
        hand.raster.lawns_of_cells,
        np.empty((0, len(places_m))),
        np.empty(0),
        raster=its_cells.raster,
        lidars=lidars,
        by_hand=len(at),
    )
    return [_pinned(first, its_cells, seen, hand, at)] + [
        _pinned(*line, seen, hand, []) for line in others
    ]


def _pinned(
    raw: GroundProfile, cells: Cells, seen: Seen, hand: HandReadings, read: Sequence[int]
) -> Pinned:
    """The ground of one line, `read` its points where readings were taken."""
    knots = np.union1d(cells.between, read).astype(np.intp)
    there = _drawn_at(seen, cells.ground_m[knots], raw.elevation_m[knots])
    moved_m = np.interp(raw.at_m, raw.at_m[knots], mean_change_m(there))
    ground = replace(raw, elevation_m=raw.elevation_m + moved_m)
    remarks: tuple[Remark, ...] = ()
    if read:
        ground = replace(ground, read_over_m=hand.stations_m)
        remarks = tuple(_disagreements(there, hand))
    return Pinned(ground, remarks, seen, cells, hand, raw)


def _drawn_at(seen: Seen, points_m: Floats, read_m: Floats) -> Seen:
    """What was seen, to be drawn at points (n, 2) about levels (n,): carried there by level and
    slopes alone."""
    origin = seen.places_m[0]
    tilted = np.column_stack([np.ones(len(seen.places_m)), seen.places_m - origin])
    there = np.column_stack([np.ones(len(points_m)), points_m - origin])
    return replace(seen, points_m=points_m, read_m=read_m, carry=there @ np.linalg.pinv(tilted))


def _disagreements(seen: Seen, hand: HandReadings) -> list[Remark]:
    """The readings that lie further off what all others and the cells tell than errors allow.

    The worst first; then it is left out, and the others are held against what is left.
    """
    off_m, covariance = _off_the_raster(seen)
    out: set[int] = set()
    found: list[Remark] = []
    while True:
        lines = [[i for i in its if i not in out] for its in hand.lines()]
        left = [i for its in lines if len(its) > 1 for i in its]
        if not left:
            return found
        inverse = np.linalg.inv(covariance[np.ix_(left, left)])
        unlike_m = (inverse @ off_m[left]) / np.diag(inverse)
        errors = np.abs(unlike_m) * np.sqrt(np.diag(inverse))
        worst = int(errors.argmax())
        if errors[worst] <= BEYOND:
            return found
        k = left[worst]
        its = next(its for its in lines if k in its)
        found.append(_remark(k, its, float(unlike_m[worst]), hand))
        out.add(k)


def _remark(k: int, its: Sequence[int], off_m: float, hand: HandReadings) -> Remark:
    row = hand.rows[k] if hand.rows else k
    pointer, at_m = f"/ground/readings/{row}/down", hand.readings[k].at_m
    size_m = abs(off_m)
    if len(its) == 2:  # which of them is off, they do not tell
        one_m, other_m = sorted(hand.readings[i].at_m for i in its)
        stations: dict[str, float | str] = {"from_station_m": one_m, "to_station_m": other_m}
        return Remark("two_readings_off_raster", pointer, {**stations, "off_m": size_m})
    code = "reading_above_raster" if off_m > 0 else "reading_below_raster"
    return Remark(code, pointer, {"station_m": at_m, "off_m": size_m})


def _off_the_raster(seen: Seen) -> tuple[Floats, Floats]:
    """How far the hand readings (h,) lie off what the cells alone tell there, and the covariance
    (h, h) of that.

    The kinds of ground are weighed by the cells alone: a slip would speak for broken ground.
    """
    k = len(seen.places_m) - seen.by_hand
    kinds = kinds_of(seen)
    pairs = [(kind.lawn, kind.error[:k, :k]) for kind in kinds]
    which = kinds_by_shares(pairs, seen.places_m[:k], seen.z_m[:k], WEIGHED)
    shares = np.bincount(which, minlength=len(kinds)) / WEIGHED
    rest = kinds[0].trend.left_of(seen.z_m)
    likely = [(kind, share) for kind, share in zip(kinds, shares, strict=True) if share > 0]
    found: list[Floats] = []
    spread = np.zeros((seen.by_hand,) * 2)
    for kind, share in likely:
        its = np.tril(kind.factor[k:, k:])
        found.append(its @ solve_triangular(kind.factor, rest, lower=True)[k:])
        spread += share * (its @ its.T)
    weights = np.array([share for _, share in likely])
    off_m: Floats = weights @ np.array(found)
    apart = np.array(found) - off_m
    spread += apart.T @ (weights[:, None] * apart)
    return off_m, spread
