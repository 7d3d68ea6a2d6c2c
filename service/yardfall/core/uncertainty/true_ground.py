"""The ground as it may truly lie, given what was read of it: draws from the posterior.

y = u + e: what was read is the ground u at some places and the error e of reading it. The ground is
level and slopes, free, and a self-affine roughness of covariance

    ½ A (|x|^1.4 + |x′|^1.4 − |x − x′|^1.4)        A = m² / (5^1.4 − 10^1.4 / 4)

with distances from the first place; m is the standard deviation of the middle of a 10 m gap about
its chord. That and the errors are normal, so the ground given y is normal too, and drawn exactly.
Where the roughness or the errors are not known, each kind is drawn as often as what was read
speaks for it.

Conditional simulation: C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine
Learning, 2006, equations 2.22 to 2.24 and 2.30.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from hashlib import blake2b
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.linalg import cho_solve, solve_triangular

from yardfall.core.arrays import Floats
from yardfall.core.uncertainty.lawns import Lawn, covariance, land_covariance
from yardfall.core.uncertainty.lidar import Lidar
from yardfall.core.uncertainty.likely_lawns import (
    Likelihood,
    Trend,
    cholesky,
    draw_ends,
    likelihoods,
    shares_of,
)

KEPT: Final = 16
KEPT_UP_TO: Final = 200
"""So many layouts of readings are kept ready for the next request, of so many places and points."""
MANY: Final = 2_000_000
"""Of more normal numbers than these (8 MB) the last ones alone are kept, for their memory."""
ROWS: Final = 64
"""Normal numbers are kept by so many rows, so that lines of about a length share them."""


@dataclass(frozen=True, eq=False)
class Seen:
    """What was read of a ground, and where it is to be drawn.

    `z_m` (k,) was read at `places_m` (k, 2), with errors of covariance one of `errors` (k, k), all
    as likely. `points_m` (n, 2) are where the ground is drawn and `read_m` (n,) is what was taken
    for it there, by `carry` (n, k) times `z_m`: the ground is drawn about that and the bow of the
    land, since a kerb or a bank between places is no roughness. `carried` (q, k): covariance of q
    readings' own errors with those of `z_m`, and `own_m` (q,) their standard errors. `along`: the
    places are the ground's own points, by station. `raster` names the raster whose cells
    were read, `lidars` (as many as `errors`) how it was flown. `by_hand`: the last so many places
    were read by hand over a raster; then the ground is drawn about its mean by all that was read.
    `kinds` keeps what does not change with `z_m` (`read_again`).
    """

    places_m: Floats
    z_m: Floats
    errors: tuple[Floats, ...]
    points_m: Floats
    read_m: Floats
    carry: Floats
    lawns: tuple[Lawn, ...]
    carried: Floats
    own_m: Floats
    along: bool = False
    raster: str | None = None
    lidars: tuple[Lidar, ...] = ()
    by_hand: int = 0
    kinds: list[Kind] = field(default_factory=list, repr=False, init=False)

    def read_again(self, z_m: Floats, read_m: Floats) -> Seen:
        """The same places with other levels read there."""
        again = replace(self, z_m=z_m, read_m=read_m)
        again.kinds[:] = self.kinds
        return again


@dataclass(frozen=True)
class Numbers:
    """Which normal numbers to draw by: how many draws, and the seed."""

    count: int
    seed: int

    def drawn(self, rows: int) -> tuple[NDArray[np.float32], NDArray[np.intp]]:
        """Standard normal numbers (rows or more, count), and which draws go to the kinds first.

        In single precision: a micrometre is near enough.
        """
        rows = -(-rows // ROWS) * ROWS
        kept = _standard_normal if rows * self.count <= MANY else _many_normal
        return kept(self.count, rows, self.seed)


@lru_cache(maxsize=8)
def _standard_normal(
    count: int, rows: int, seed: int
) -> tuple[NDArray[np.float32], NDArray[np.intp]]:
    rng = np.random.default_rng(seed)
    drawn = rng.standard_normal((rows, count), dtype=np.float32)
    drawn.flags.writeable = False
    return drawn, rng.permutation(count)


_many_normal = lru_cache(maxsize=1)(_standard_normal.__wrapped__)


def draw_true_ground(seen: Seen, numbers: Numbers) -> tuple[Floats, Floats]:
    """How far the true ground lies from the one read (n, d), and the readings' errors (q, d)."""
    kinds = kinds_of(seen)
    n, rows = len(seen.points_m), len(seen.points_m) + len(seen.own_m)
    standard, order = numbers.drawn(rows)
    rest = kinds[0].trend.left_of(seen.z_m)
    ends = draw_ends(shares_of([kind.likely for kind in kinds], rest), numbers.count)
    drawn = np.empty((rows, numbers.count))
    for kind, first, last in zip(kinds, [0, *ends[:-1]], ends, strict=True):
        if last > first:
            part = kind.about_the_middle(standard, first, last)
            _put(part, kind.middle_m(rest), order[first:last], drawn)
    if seen.by_hand:
        drawn[:n] += (seen.carry @ seen.z_m - seen.read_m)[:, None]
    return drawn[:n], drawn[n:]


def mean_change_m(seen: Seen) -> Floats:
    """How far the true ground lies on average from the one read (n,), places read by hand among
    what was seen."""
    kinds = kinds_of(seen)
    rest = kinds[0].trend.left_of(seen.z_m)
    shares = shares_of([kind.likely for kind in kinds], rest)
    found: Floats = seen.carry @ seen.z_m - seen.read_m
    for kind, share in zip(kinds, shares.tolist(), strict=True):
        if share > 0:
            found += share * kind.middle_m(rest)[: len(found)]
    return found


class _Layout:
    """All that was read but the levels: equal where places, points and errors are."""

    def __init__(self, seen: Seen) -> None:
        self.seen = seen
        self.small = len(seen.places_m) + len(seen.points_m) + len(seen.own_m) <= KEPT_UP_TO
        counts = len(seen.errors), len(seen.own_m), seen.by_hand
        told = blake2b(repr((seen.lawns, *counts)).encode())
        for part in (seen.places_m, seen.points_m, seen.carry, seen.carried, seen.own_m):
            told.update(part.tobytes())
        for error in seen.errors:
            told.update(error.tobytes())
        self.digest = told.digest()

    def __hash__(self) -> int:
        return hash(self.digest)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Layout) and self.digest == other.digest


def kinds_of(seen: Seen) -> list[Kind]:
    """The kinds of ground it may be; kept for the next time that the same places are read."""
    if not seen.kinds:
        layout = _Layout(seen)
        seen.kinds[:] = (_kept_kinds if layout.small else _make_kinds)(layout)
    return seen.kinds


def _make_kinds(layout: _Layout) -> tuple[Kind, ...]:
    seen = replace(layout.seen)  # which has no kinds: in a ring, large arrays wait for a collection
    places = seen.places_m - seen.places_m[0]
    points = seen.points_m - seen.places_m[0]
    pairs = [(lawn, error) for lawn in seen.lawns for error in seen.errors]
    trend = Trend.at(places)
    return tuple(
        Kind(seen, lawn, error, places, points, trend, likely, draws_kept=not layout.small)
        for (lawn, error), likely in zip(
            pairs, likelihoods(pairs, places, seen.by_hand), strict=True
        )
    )


_kept_kinds = lru_cache(maxsize=KEPT)(_make_kinds)


@dataclass(frozen=True, eq=False)
class Kind:
    """One kind of ground and of errors, and what of the draws needs no level that was read."""

    seen: Seen
    lawn: Lawn
    error: Floats
    places_m: Floats
    points_m: Floats
    trend: Trend
    likely: Likelihood
    draws_kept: bool = False
    """Whether draws are worth keeping: the same ones are wanted again where soil is moved."""
    _drawn: list[tuple[NDArray[np.float32], int, NDArray[np.float32]]] = field(
        default_factory=list, repr=False
    )
    """The last draws: of which numbers, from which column on."""

    @cached_property
    def factor(self) -> Floats:
        """Cholesky's, of the covariance of what was read (k, k), in the lower triangle."""
        return cholesky(covariance(self.places_m, self.places_m, self.lawn) + self.error)

    def middle_m(self, rest_m: Floats) -> Floats:
        """Mean (n + q,) of the ground's change and the readings' errors, by what is left of levels.

        `rest_m` (k,) are the levels read, without level and slopes.
        """
        found: Floats = self._per_level @ rest_m
        return found

    @cached_property
    def _per_level(self) -> Floats:
        carry = self.seen.carry
        change = -carry @ self.error
        if self.lawn.land_m or self.seen.by_hand:  # it bows between what was read
            bow = covariance if self.seen.by_hand else land_covariance
            change += bow(self.points_m, self.places_m, self.lawn)
            change -= carry @ bow(self.places_m, self.places_m, self.lawn)
        per_pull = np.vstack([change, self.seen.carried])
        found: Floats = cho_solve((self.factor, True), per_pull.T, check_finite=False).T
        return found

    @cached_property
    def root(self) -> NDArray[np.float32]:
        """Lower triangle R (n + q, n + q): R Rᵀ is the covariance about the mean."""
        seen, n, q = self.seen, len(self.points_m), len(self.seen.own_m)
        across = np.hstack([covariance(self.places_m, self.points_m, self.lawn), seen.carried.T])
        reduced = solve_triangular(self.factor, across, lower=True, check_finite=False)
        own = np.zeros((n + q, n + q))
        own[:n, :n] = covariance(self.points_m, self.points_m, self.lawn)
        own[n:, n:] = np.diag(seen.own_m**2)
        own -= reduced.T @ reduced
        return np.tril(cholesky(own)).astype(np.float32)

    def about_the_middle(
        self, standard: NDArray[np.float32], first: int, last: int
    ) -> NDArray[np.float32]:
        """Draws (n + q, last - first) of mean 0, by columns of standard normal numbers."""
        root = self.root
        for numbers, from_column, part in self._drawn:
            known = from_column + part.shape[1]
            if numbers is standard and from_column <= first <= known:
                if last > known:
                    more = root @ standard[: len(root), known:last]
                    part = np.hstack([part, more])
                    self._drawn[:] = [(standard, from_column, part)]
                return part[:, first - from_column : last - from_column]
        found: NDArray[np.float32] = root @ standard[: len(root), first:last]
        if self.draws_kept:
            self._drawn[:] = [(standard, first, found)]
        return found


@njit(cache=True, nogil=True)
def _put(part, middle, columns, drawn):  # type: ignore[no-untyped-def]
    """Put draws (n, c) about a mean (n,) into columns (c,) of all draws (n, d)."""
    for i in range(len(middle)):
        for c in range(len(columns)):
            drawn[i, columns[c]] = middle[i] + part[i, c]


def warm() -> None:
    """Compile the loop above, or load what was compiled before, so that no caller waits."""
    one = np.zeros(1)
    _put(np.zeros((1, 1), dtype=np.float32), one, np.zeros(1, dtype=np.intp), np.zeros((1, 1)))
