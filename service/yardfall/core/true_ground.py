"""The ground as it may truly lie, given what was read of it: draws from the posterior.

y = u + e: what was read is the ground u at some places and the error e of reading it. The ground is
level and slopes, free, and a self-affine roughness of covariance

    ½ A (|x|^1.4 + |x′|^1.4 − |x − x′|^1.4)        A = m² / (5^1.4 − 10^1.4 / 4)

with distances from the first place; m is the standard deviation of the middle of a 10 m gap about
its chord. That and the errors are normal, so the ground given y is normal too, and drawn exactly.
Where the roughness or the errors are not known, each kind is drawn as often as what was read
speaks for it.

Sources. Exponents of 0.7 to 0.9 of the deviation, and m of 10 to 14 mm on practice turf, 25 to
32 mm on lawns and 42 to 47 mm in a meadow, are our own measurements on an open lidar survey of
Eugene, Oregon (2010); what they are rounded to is a judgement.
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
from scipy.linalg import LinAlgError, cho_factor, cho_solve, solve_triangular

from yardfall.core.errors import InputError
from yardfall.core.lidar import Lidar
from yardfall.core.route import Floats

EXPONENT: Final = 1.4
LEVEL_M: Final = 1.0
SLOPE: Final = 0.1
"""How far level and slopes may lie from those fitted to what was read: as good as free."""
LAND_REACH_M: Final = 8.0
TINY_M2: Final = 1e-10
"""A hundredth of a millimetre, squared, on each diagonal: for the factors to exist."""
MOST_TRIES: Final = 10
FIRST_PLACES: Final = 100
"""The kinds of ground are weighed by no more places than these."""
LEAST_SHARE: Final = 0.01
"""A kind of ground that is less likely than this is not drawn."""
SAME_DIRECTION: Final = 1e-12
KEPT: Final = 16
KEPT_UP_TO: Final = 200
"""So many layouts of readings are kept ready for the next request, of so many places and points."""
ROWS: Final = 64
"""Normal numbers are kept by so many rows, so that lines of about a length share them."""


@dataclass(frozen=True)
class Lawn:
    """How even the ground is: the standard deviation of the middle of a 10 m gap; its prior share.

    `land_m`: that of the lie of the land, smooth over LAND_REACH_M, which is no roughness (normal,
    its covariance falling as exp(−d² / 2 LAND_REACH_M²)).
    """

    name: str
    middle_m: float
    share: float = 1.0
    land_m: float = 0.0


ROUGHNESS_SOURCE: Final = (
    "our own measurements on an open lidar survey, rounded: turf 10 to 14 mm, lawns 25 to 32 mm, "
    "meadow 42 to 47 mm"
)
STRAIGHT: Final = "straight"
"""The name of ground that runs straight between readings: no lawn at all."""
LAWNS: Final[dict[str, Lawn]] = {
    lawn.name: lawn
    for lawn in (
        Lawn("graded", 0.012, 0.25),
        Lawn("ordinary", 0.028, 0.5),
        Lawn("rough", 0.045, 0.25),
    )
}


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


BROKEN: Final = Lawn("broken", 0.15, 0.009)
"""Ground with banks, kerbs and humps, whatever lawn is told: drawn where what was read shows it,
and left out by LEAST_SHARE where it does not. Its share is of all others together."""


LAND_M: Final = 0.3
LAND_SHARE: Final = 0.3
"""A yard has a lie of its own, of such a deviation, as likely as that (a judgement, no source)."""


@lru_cache(maxsize=16)
def kinds_of_ground(lawns: tuple[Lawn, ...]) -> tuple[Lawn, ...]:
    """The lawns on even land and on land with a lie of its own, and broken ground."""
    even = (replace(lawn, share=(1 - LAND_SHARE) * lawn.share) for lawn in lawns)
    lying = (replace(lawn, share=LAND_SHARE * lawn.share, land_m=LAND_M) for lawn in lawns)
    return (*even, *lying, BROKEN)


def per_distance_m2(middle_m: float) -> float:
    """A: the roughness differs by a variance of A d^1.4 over a distance d."""
    return float(middle_m**2 / (5**EXPONENT - 10**EXPONENT / 4))


def rough_covariance(one_m: Floats, other_m: Floats, middle_m: float) -> Floats:
    """Covariance (n, k) of the roughness at places (n, 2) and (k, 2), from the origin."""
    scale = per_distance_m2(middle_m)
    # |x|^1.4 = (x²)^0.7
    half = EXPONENT / 2
    squares = ((one_m[:, None, :] - other_m[None, :, :]) ** 2).sum(axis=2)
    own = (one_m**2).sum(axis=1) ** half
    others = (other_m**2).sum(axis=1) ** half
    found: Floats = 0.5 * scale * (own[:, None] + others[None, :] - squares**half)
    return found


@dataclass(frozen=True)
class Numbers:
    """Which normal numbers to draw by: how many draws, and the seed."""

    count: int
    seed: int

    def drawn(self, rows: int) -> tuple[NDArray[np.float32], NDArray[np.intp]]:
        """Standard normal numbers (rows or more, count), and which draws go to the kinds first.

        In single precision: a micrometre is near enough.
        """
        return _standard_normal(self.count, -(-rows // ROWS) * ROWS, self.seed)


@lru_cache(maxsize=8)
def _standard_normal(
    count: int, rows: int, seed: int
) -> tuple[NDArray[np.float32], NDArray[np.intp]]:
    rng = np.random.default_rng(seed)
    drawn = rng.standard_normal((rows, count), dtype=np.float32)
    drawn.flags.writeable = False
    return drawn, rng.permutation(count)


def draw_true_ground(seen: Seen, numbers: Numbers) -> tuple[Floats, Floats]:
    """How far the true ground lies from the one read (n, d), and the readings' errors (q, d)."""
    kinds = kinds_of(seen)
    n, rows = len(seen.points_m), len(seen.points_m) + len(seen.own_m)
    standard, order = numbers.drawn(rows)
    rest = kinds[0].trend.left_of(seen.z_m)
    ends = _ends(_shares([kind.likely for kind in kinds], rest), numbers.count)
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
    shares = _shares([kind.likely for kind in kinds], rest)
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
    seen = layout.seen
    places = seen.places_m - seen.places_m[0]
    points = seen.points_m - seen.places_m[0]
    pairs = [(lawn, error) for lawn in seen.lawns for error in seen.errors]
    trend = Trend.at(places)
    return tuple(
        Kind(seen, lawn, error, places, points, trend, likely, draws_kept=not layout.small)
        for (lawn, error), likely in zip(
            pairs, _likelihoods(pairs, places, seen.by_hand), strict=True
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
        return _factor(_covariance(self.places_m, self.places_m, self.lawn) + self.error)

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
            bow = _covariance if self.seen.by_hand else _land_covariance
            change += bow(self.points_m, self.places_m, self.lawn)
            change -= carry @ bow(self.places_m, self.places_m, self.lawn)
        per_pull = np.vstack([change, self.seen.carried])
        found: Floats = cho_solve((self.factor, True), per_pull.T, check_finite=False).T
        return found

    @cached_property
    def root(self) -> NDArray[np.float32]:
        """Lower triangle R (n + q, n + q): R Rᵀ is the covariance about the mean."""
        seen, n, q = self.seen, len(self.points_m), len(self.seen.own_m)
        across = np.hstack([_covariance(self.places_m, self.points_m, self.lawn), seen.carried.T])
        reduced = solve_triangular(self.factor, across, lower=True, check_finite=False)
        own = np.zeros((n + q, n + q))
        own[:n, :n] = _covariance(self.points_m, self.points_m, self.lawn)
        own[n:, n:] = np.diag(seen.own_m**2)
        own -= reduced.T @ reduced
        return np.tril(_factor(own)).astype(np.float32)

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


def kinds_by_shares(
    kinds: list[tuple[Lawn, Floats]], places_m: Floats, z_m: Floats, count: int
) -> NDArray[np.intp]:
    """The kind of ground of each of `count` draws, by what was read at places (k, 2).

    A kind is a lawn, and the covariance of the errors there (k, k).
    """
    places = places_m - places_m[0]
    rest = Trend.at(places).left_of(z_m)
    ends = _ends(_shares(_likelihoods(kinds, places), rest), count)
    found: NDArray[np.intp] = np.repeat(np.arange(len(kinds)), np.diff([0, *ends]))
    return found


def _ends(shares: Floats, count: int) -> NDArray[np.int64]:
    """Where each kind's draws end, of so many."""
    ends: NDArray[np.int64] = np.rint(np.cumsum(shares) * count).astype(np.int64)
    return ends


@dataclass(frozen=True, eq=False)
class Trend:
    """Level and slopes of k places, as three directions (k, 3) at right angles."""

    directions: Floats

    @classmethod
    def at(cls, places: Floats) -> Trend:
        """Of places (k, 2)."""
        u, size, _ = np.linalg.svd(
            np.column_stack([np.ones(len(places)), places]), full_matrices=False
        )
        return cls(u[:, size > SAME_DIRECTION * size[0]])

    def left_of(self, z_m: Floats) -> Floats:
        """What is left (k,) of what was read without the level and slopes that fit best."""
        found: Floats = z_m - self.directions @ (self.directions.T @ z_m)
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


def _covariance(one: Floats, other: Floats, lawn: Lawn) -> Floats:
    """Of the ground at places, its level and slopes as good as free."""
    found: Floats = rough_covariance(one, other, lawn.middle_m)
    found += LEVEL_M**2 + SLOPE**2 * (one @ other.T)
    if lawn.land_m:
        found += _land_covariance(one, other, lawn)
    return found


def _land_covariance(one: Floats, other: Floats, lawn: Lawn) -> Floats:
    squares = ((one[:, None, :] - other[None, :, :]) ** 2).sum(axis=2)
    found: Floats = lawn.land_m**2 * np.exp(squares / (-2 * LAND_REACH_M**2))
    return found


def _factor(covariance: Floats) -> Floats:
    """Lower factor of a covariance. On a line of kilometres its level and slope round off more
    than TINY_M2: then as much is put on the diagonal as they do."""
    diagonal = np.diag_indices_from(covariance)
    more_m2 = TINY_M2
    for _ in range(MOST_TRIES):
        covariance[diagonal] += more_m2
        try:
            factor, _ = cho_factor(covariance, lower=True, check_finite=False)
            return factor
        except LinAlgError:
            more_m2 *= 10
    raise InputError.at(
        "/ground",
        "These readings differ by too much, or stand too close, to tell how sure they are.",
    )


@dataclass(frozen=True, eq=False)
class Likelihood:
    """How likely a kind of ground is before its levels are read, and what they make of it."""

    few: NDArray[np.intp]
    whitening: Floats
    log_share: float

    def of(self, rest_m: Floats) -> float:
        """Logarithm, but for what is common to all kinds."""
        z = self.whitening @ rest_m[self.few]
        return float(self.log_share - 0.5 * z @ z)


def _likelihoods(
    kinds: list[tuple[Lawn, Floats]], places: Floats, by_hand: int = 0
) -> list[Likelihood]:
    """Of each kind, by no more than FIRST_PLACES of the places (k, 2), and the last `by_hand`."""
    count = len(places) - by_hand
    few = np.unique(np.linspace(0, count - 1, min(count, FIRST_PLACES)).astype(np.intp))
    few = np.append(few, np.arange(count, len(places)))
    lawns = sum(lawn.share for lawn, _ in kinds if lawn is not BROKEN)
    found = []
    for lawn, error in kinds:
        factor = _factor(_covariance(places[few], places[few], lawn) + error[np.ix_(few, few)])
        prior = lawn.share / (1.0 if lawn is BROKEN else lawns)
        whitening = solve_triangular(factor, np.eye(len(few)), lower=True, check_finite=False)
        log_share = float(np.log(prior) - np.log(np.diag(factor)).sum())
        found.append(Likelihood(few, whitening, log_share))
    return found


def _shares(likelihoods: list[Likelihood], rest: Floats) -> Floats:
    """How likely each kind of ground is, by what was read and its prior share."""
    if len(likelihoods) == 1:
        return np.ones(1)
    likely = np.array([one.of(rest) for one in likelihoods])
    share = np.exp(likely - likely.max())
    share[share < LEAST_SHARE * share.sum()] = 0.0
    found: Floats = share / share.sum()
    return found
