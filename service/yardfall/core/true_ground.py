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
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import LinAlgError, cho_factor, solve_triangular

from yardfall.core.errors import InputError
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
    places are the ground's own points, by station. `kinds` keeps what does not change with `z_m`,
    by lawn and by which of `errors`: a copy with other values read shares it.
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
    kinds: dict[tuple[Lawn, int], Posterior] = field(default_factory=dict, repr=False)


BROKEN: Final = Lawn("broken", 0.15, 0.009)
"""Ground with banks, kerbs and humps, whatever lawn is told: drawn where what was read shows it,
and left out by LEAST_SHARE where it does not. Its share is of all others together."""


LAND_M: Final = 0.3
LAND_SHARE: Final = 0.3
"""A yard has a lie of its own, of such a deviation, as likely as that (a judgement, no source)."""


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


def draw_true_ground(
    seen: Seen, standard: NDArray[np.float32], order: NDArray[np.intp]
) -> tuple[Floats, Floats]:
    """How far the true ground lies from the one read (n, d), and the readings' errors (q, d).

    `standard` (at least n + q, d) are standard normal, in single precision: a micrometre is near
    enough. `order` (d,) is in which order the draws go to the kinds of ground.
    """
    n, count = len(seen.read_m), standard.shape[1]
    anchor = seen.places_m[0]
    places, points = seen.places_m - anchor, seen.points_m - anchor
    _, rest = _fitted(places, seen.z_m)
    kinds = [(lawn, error) for lawn in seen.lawns for error in seen.errors]
    ends = _ends(_shares(kinds, places, rest), count)
    drawn = np.empty((n + len(seen.own_m), count), dtype=np.float32)
    for (lawn, error), first, last in zip(kinds, [0, *ends[:-1]], ends, strict=True):
        if last > first:
            known = seen.kinds.get((lawn, id(error)))
            if known is None:
                known = _posterior(seen, lawn, error, places, points)
                seen.kinds[lawn, id(error)] = known
            middle = _middle(seen, known, error, rest)
            part = known.about_the_middle(standard, first, last)
            drawn[:, order[first:last]] = part + middle[:, None].astype(np.float32)
    return drawn[:n].astype(np.float64), drawn[n:].astype(np.float64)


def kinds_by_shares(
    kinds: list[tuple[Lawn, Floats]], places_m: Floats, z_m: Floats, count: int
) -> NDArray[np.intp]:
    """The kind of ground of each of `count` draws, by what was read at places (k, 2).

    A kind is a lawn, and the covariance of the errors there (k, k).
    """
    places = places_m - places_m[0]
    ends = _ends(_shares(kinds, places, _fitted(places, z_m)[1]), count)
    found: NDArray[np.intp] = np.repeat(np.arange(len(kinds)), np.diff([0, *ends]))
    return found


def _ends(shares: Floats, count: int) -> NDArray[np.int64]:
    """Where each kind's draws end, of so many."""
    ends: NDArray[np.int64] = np.rint(np.cumsum(shares) * count).astype(np.int64)
    return ends


def _fitted(places: Floats, z_m: Floats) -> tuple[Floats, Floats]:
    """Level and slopes (3,) that fit best, and what is left of what was read."""
    trend = np.column_stack([np.ones(len(places)), places])
    fitted = np.asarray(np.linalg.lstsq(trend, z_m, rcond=None)[0], dtype=np.float64)
    return fitted, z_m - trend @ fitted


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


@dataclass(eq=False)
class Posterior:
    """One kind of ground given where it was read: all of a draw that the values read do not change.

    `of_places` factors the covariance of what was read (k, k), `bow` (n, k) is the land's between
    the places, `own` (n + q, n + q) factors that of what is drawn. `part` are draws about the
    middle, of the columns from `first` of `standard`.
    """

    of_places: Floats
    bow: Floats | None
    own: NDArray[np.float32]
    standard: NDArray[np.float32] | None = None
    first: int = 0
    part: NDArray[np.float32] | None = None

    def about_the_middle(
        self, standard: NDArray[np.float32], first: int, last: int
    ) -> NDArray[np.float32]:
        """Draws (n + q, last - first) of mean 0, kept: the same ones are wanted again."""
        part = self.part
        known = 0 if part is None else part.shape[1]
        if part is None or self.standard is not standard or first < self.first:
            self.standard, self.first, known = standard, first, 0
            part = self.own @ standard[: len(self.own), first:last]
        elif last > self.first + known:
            more = self.own @ standard[: len(self.own), self.first + known : last]
            part = np.hstack([part, more])
        self.part = part
        return part[:, first - self.first : last - self.first]


def _posterior(seen: Seen, lawn: Lawn, error: Floats, places: Floats, points: Floats) -> Posterior:
    n, q = len(points), len(seen.own_m)
    factor = _factor(_covariance(places, places, lawn) + error)
    across = np.hstack([_covariance(places, points, lawn), seen.carried.T])
    reduced = solve_triangular(factor, across, lower=True, check_finite=False)
    own = np.zeros((n + q, n + q))
    own[:n, :n] = _covariance(points, points, lawn)
    own[n:, n:] = np.diag(seen.own_m**2)
    own -= reduced.T @ reduced
    bow = None
    if lawn.land_m:  # it bows between what was read
        bow = _land_covariance(points, places, lawn)
        bow -= seen.carry @ _land_covariance(places, places, lawn)
    return Posterior(factor, bow, np.tril(_factor(own)).astype(np.float32))


def _middle(seen: Seen, kind: Posterior, error: Floats, rest: Floats) -> Floats:
    """Mean (n + q,) of the ground's change and the readings' errors."""
    half = solve_triangular(kind.of_places, rest, lower=True, check_finite=False)
    of_errors = solve_triangular(kind.of_places, half, lower=True, trans="T", check_finite=False)
    middle = np.append(-seen.carry @ (error @ of_errors), seen.carried @ of_errors)
    if kind.bow is not None:
        middle[: len(kind.bow)] += kind.bow @ of_errors
    return middle


def _shares(kinds: list[tuple[Lawn, Floats]], places: Floats, rest: Floats) -> Floats:
    """How likely each kind of ground is, by what was read and its prior share."""
    if len(kinds) == 1:
        return np.ones(1)
    few = np.unique(np.linspace(0, len(rest) - 1, min(len(rest), FIRST_PLACES)).astype(int))
    likely = np.empty(len(kinds))
    lawns = sum(lawn.share for lawn, _ in kinds if lawn is not BROKEN)
    for k, (lawn, error) in enumerate(kinds):
        covariance = _covariance(places[few], places[few], lawn) + error[np.ix_(few, few)]
        factor = _factor(covariance)
        z = solve_triangular(factor, rest[few], lower=True, check_finite=False)
        likely[k] = (
            np.log(lawn.share / (1.0 if lawn is BROKEN else lawns))
            - 0.5 * z @ z
            - np.log(np.diag(factor)).sum()
        )
    share = np.exp(likely - likely.max())
    share[share < LEAST_SHARE * share.sum()] = 0.0
    found: Floats = share / share.sum()
    return found
