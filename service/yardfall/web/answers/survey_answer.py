"""The ground along a route in the caller's units."""

from __future__ import annotations

from typing import Any

import numpy as np

from yardfall.core.errors import GroundGap, InputError
from yardfall.core.ground.profile import GroundProfile, NamedSource
from yardfall.core.units import UnitSystem
from yardfall.sentences import say
from yardfall.use_cases.survey import Survey
from yardfall.web.answers.warnings import warning_answer
from yardfall.web.openapi.numbers import rounded, scaled


def survey_answer(survey: Survey, units: UnitSystem) -> dict[str, Any]:
    """Stations with ground, low and high points, overall fall."""
    route, ground = survey.route, survey.ground
    length_m = units.length_m
    read_m = ground.reading_at_m
    at_m = sorted({*survey.asked_m.tolist(), *route.vertex_at_m.tolist(), *read_m.tolist()})
    at_m = [x for i, x in enumerate(at_m) if not i or x - at_m[i - 1] > 1e-6]
    at_m = [x for x in at_m if x <= route.length_m + 1e-6]
    inside = ground.at_m <= route.length_m + 1e-6
    line_z = ground.elevation_m[inside]
    low, high = int(line_z.argmin()), int(line_z.argmax())
    ends_m = ground.elevation(route.vertex_at_m[[0, -1]])
    stations = []
    for x, source in zip(at_m, ground.sources_at(np.array(at_m)), strict=True):
        xy = route.position_at(x)
        stations.append(
            {
                "at": rounded(x / length_m),
                "label": units.station_label(x),
                "x": None if xy is None else rounded(xy[0]),
                "y": None if xy is None else rounded(xy[1]),
                "ground": rounded(ground.elevation_at(x) / length_m),
                "source": source,
            }
        )
    return {
        "units": units.name,
        "length": rounded(route.length_m / length_m),
        "datum": ground.datum,
        "stations": stations,
        "low_point": _point(ground, low, units),
        "high_point": _point(ground, high, units),
        "overall_fall": rounded(float(ends_m[0] - ends_m[1]) / units.depth_m),
        "profile": {
            "at": scaled(ground.at_m[inside], length_m),
            "ground": scaled(line_z, length_m),
        },
        "closure": closure_answer(ground, units),
        "ground_source": source_answer(ground.named, units),
        "warnings": [warning_answer(remark, units) for remark in survey.warnings],
    }


def source_answer(named: NamedSource | None, units: UnitSystem) -> dict[str, Any] | None:
    """The source that the ground came from; None for ground of anybody's own."""
    if named is None:
        return None
    error = None if named.rmse_m is None else units.depth_text(named.rmse_m)
    told = [
        say("sources.told.name", name=named.name),
        say("sources.told.date", date=named.date) if named.date else say("sources.told.no_date"),
        say("sources.told.datum", datum=named.vertical_datum)
        if named.vertical_datum
        else say("sources.told.no_datum"),
        say("sources.told.error", error=error) if error else say("sources.told.no_error"),
        say("sources.told.licence", licence=named.licence.rstrip("."))
        if named.licence
        else say("sources.told.no_licence"),
    ]
    return {
        "name": named.name,
        "date": named.date,
        "vertical_rmse": None if named.rmse_m is None else rounded(named.rmse_m / units.depth_m),
        "vertical_datum": named.vertical_datum,
        "lidar": named.lidar,
        "licence": named.licence,
        "text": " ".join(told),
    }


def _point(ground: GroundProfile, i: int, units: UnitSystem) -> dict[str, Any]:
    at_m = float(ground.at_m[i])
    return {
        "at": rounded(at_m / units.length_m),
        "label": units.station_label(at_m),
        "ground": rounded(float(ground.elevation_m[i]) / units.length_m),
    }


def closure_answer(ground: GroundProfile, units: UnitSystem) -> dict[str, Any] | None:
    closure = ground.closure
    if closure is None:
        return None
    return {
        "on": closure.on,
        "misclosure": rounded(closure.misclosure_m / units.length_m),
        "limit": rounded(closure.limit_m / units.length_m),
        "set_ups": closure.set_ups,
        "distance": rounded(closure.distance_m / units.length_m),
        "distance_known": closure.distance_known,
        "within": closure.within,
        "source": say("survey.closure_source"),
    }


def gap_error(gap: GroundGap, units: UnitSystem) -> InputError:
    """Ground that is not known, with its stations in the caller's units."""
    places = ", ".join(
        units.station_label(a)
        if a == b
        else f"{units.station_label(a)} to {units.station_label(b)}"
        for a, b in gap.gaps_m
    )
    return InputError.at(
        "/ground",
        f"The ground is not known at {places}: {gap.reason}. Measure it there, or move the "
        "route; no value is made up.",
    )
