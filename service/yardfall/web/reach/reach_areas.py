"""A reach as areas to draw: bands of spare fall, why not, and how sure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core.reach.request import ReachRequest
from yardfall.core.units import UnitSystem, plain_number
from yardfall.geo.search_grid import areas
from yardfall.sentences import say
from yardfall.use_cases.reach.routes import map_digits
from yardfall.use_cases.reach.search import ANY_CHANGES, PAST_HOLES, Searched
from yardfall.web.openapi.numbers import rounded

CLOSED_OFF: Final = "closed_off"
REASONS: Final = (
    "near_start", "too_deep", PAST_HOLES, CLOSED_OFF, "avoided", "unknown", "outside",
)  # fmt: skip
"""Why the pipe cannot come out at a place."""
CHANCES: Final = (
    ("no", None, 0.05),
    ("survey_first", 0.05, 0.5),
    ("likely", 0.5, 0.95),
    ("sure", 0.95, None),
)
"""Kind, least and most chance."""


@dataclass(frozen=True)
class _Class:
    kind: str
    least: float | None
    most: float | None
    text: str


def spare_areas(found: Searched, request: ReachRequest, units: UnitSystem) -> dict[str, Any]:
    """Bands of spare fall, and the reasons where the pipe cannot come out."""
    classes, codes = _spare_classes(found, request, units)
    return _collection(found, classes, codes, units)


def chance_areas(found: Searched, units: UnitSystem) -> dict[str, Any] | None:
    """Where the errors of the ground leave no doubt, some, or much; None where none were drawn."""
    if found.chance is None:
        return None
    known = np.isfinite(found.chance)
    edges = [least for _, least, _ in CHANCES[1:] if least is not None]
    codes = np.zeros(known.shape, dtype=np.uint8)
    codes[known] = np.digitize(found.chance[known] + 1e-9, edges) + 1
    classes = [
        _Class(kind, least, most, say(f"reach.chance.{kind}")) for kind, least, most in CHANCES
    ]
    return _collection(found, classes, codes, units)


def _spare_classes(
    found: Searched, request: ReachRequest, units: UnitSystem
) -> tuple[list[_Class], NDArray[np.uint8]]:
    depth_m = units.depth_m
    edges = [0.0, *(round(edge / depth_m, 6) for edge in request.bands_m)]
    limits = [*(-edge for edge in reversed(edges)), *edges[1:]]
    classes = [
        _band(least, most, units)
        for least, most in zip([None, *limits], [*limits, None], strict=True)
    ]
    shown = np.isfinite(found.spare_m)
    if request.plan.design.outlet.by == "invert":
        shown &= found.may_end
    codes = np.zeros(shown.shape, dtype=np.uint8)
    in_depth = np.round(found.spare_m[shown] / depth_m, 9)
    codes[shown] = np.digitize(in_depth, limits) + 1
    first = next(i for i, one in enumerate(classes) if one.kind == "outlet")
    eased = shown & (codes > first) & ~found.plain & found.comes_out
    changing = shown & (codes > first) & ~found.comes_out
    codes[eased] += len(classes) - first
    classes += [_conditional(one, units) for one in classes[first:]]
    grid = found.lot.grid
    rows, columns = grid.z_m.shape
    x, y = np.arange(columns) * grid.dx_m, np.arange(rows) * grid.dy_m
    near = np.hypot(x[None] - found.start[0], y[:, None] - found.start[1]) < request.least_run_m
    open_here = grid.known & ~found.closed
    kept_off = open_here & ~np.isfinite(found.spare_m) & ~found.deeper & ~near
    for kind, where in (
        (ANY_CHANGES, changing),
        ("near_start", near & open_here),
        ("too_deep", found.deeper & ~near),
        (PAST_HOLES, kept_off & found.past_holes),
        (CLOSED_OFF, kept_off & ~found.past_holes),
        ("avoided", found.closed & ~found.outside & grid.known),
        ("unknown", ~grid.known & ~found.outside),
    ):
        name = any_changes_text(found) if kind == ANY_CHANGES else f"why.{kind}"
        classes.append(_Class(kind, None, None, say(f"reach.{name}")))
        codes[where] = len(classes)
    return classes, codes


def any_changes_text(found: Searched) -> str:
    """The text for where the search alone brings the pipe out."""
    return "any_changes" if found.laid else "not_laid"


def _band(least: float | None, most: float | None, units: UnitSystem) -> _Class:
    """A band of spare fall (depth units); below 0 it is missing."""
    if most is not None and most <= 0:
        words = _span(-most, None if least is None else -least, units)
        return _Class("short", least, most, say("reach.band_short", band=words))
    words = _span(least or 0.0, most, units)
    return _Class("outlet", least, most, say("reach.band", band=words))


def _conditional(band: _Class, units: UnitSystem) -> _Class:
    """The same band of spare fall, where a usual value gives way."""
    words = _span(band.least or 0.0, band.most, units)
    return _Class("conditional", band.least, band.most, say("reach.band_if", band=words))


def _span(least: float, most: float | None, units: UnitSystem) -> str:
    low = plain_number(least, 2)
    if most is None:
        return say("reach.band.from", least=low, unit=units.depth_name)
    return say("reach.band.between", least=low, most=plain_number(most, 2), unit=units.depth_name)


def _collection(
    found: Searched, classes: list[_Class], codes: NDArray[np.uint8], units: UnitSystem
) -> dict[str, Any]:
    lot = found.lot
    cell = lot.grid.dx_m * lot.grid.dy_m / units.area_m2
    geographic = lot.crs is not None and lot.crs.is_geographic
    features = []
    for code, geometry, cells in areas(lot, codes, map_digits(geographic=geographic)):
        its = classes[code - 1]
        features.append(
            {
                "type": "Feature",
                "geometry": geometry,
                "properties": {
                    "kind": its.kind,
                    "from": None if its.least is None else rounded(its.least),
                    "to": None if its.most is None else rounded(its.most),
                    "area": rounded(cells * cell),
                    "text": its.text,
                },
            }
        )
    return {"type": "FeatureCollection", "features": features}
