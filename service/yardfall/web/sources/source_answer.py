"""Named sources, and what they have at a place, for JSON."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

from yardfall.core.units import UnitSystem
from yardfall.store.sources import Facts
from yardfall.use_cases.around_a_place import LOTS, GroundHere, OutlineHere
from yardfall.web.answers.survey_answer import source_answer
from yardfall.web.openapi.numbers import STEPS, rounded


def sources_answer(sources: list[tuple[str, Facts]], units: UnitSystem) -> dict[str, Any]:
    """All sources that were read to their end."""
    return {
        "units": units.name,
        "sources": [
            {
                "name": name,
                "kind": about["kind"],
                "count": about["count"],
                "bounds": _outward(about["bounds"]),
                "date": about["date"],
                "vertical_rmse": _depth(about["rmse_m"], units),
                "vertical_datum": about["datum"],
                "lidar": about["lidar"],
                "licence": about["licence"],
                "read_at": about["read_at"],
            }
            for name, about in sources
        ],
    }


def _outward(bounds: list[float]) -> list[float]:
    """To a millionth of a degree, none of it cut off."""
    west, south, east, north = np.array(bounds) * STEPS
    edges = [np.floor(west), np.floor(south), np.ceil(east), np.ceil(north)]
    return [float(edge / STEPS) for edge in edges]


def _depth(value_m: float | None, units: UnitSystem) -> float | None:
    return None if value_m is None else rounded(value_m / units.depth_m)


def ground_answer(
    found: list[GroundHere], place: tuple[float, float], units: UnitSystem
) -> dict[str, Any]:
    """The ground at a place in longitude and latitude, by each source."""
    lon, lat = place
    return {
        "units": units.name,
        "lon": lon,
        "lat": lat,
        "ground": [
            {
                "source": source_answer(one.source, units),
                "elevation": None
                if one.elevation_m is None
                else rounded(one.elevation_m / units.length_m),
                "cell": None if one.cell_m is None else [rounded(side) for side in one.cell_m],
                "problem": one.fault or None,
            }
            for one in found
        ],
    }


def lot_answer(found: list[OutlineHere], crs: str) -> dict[str, Any]:
    """A lot and its buildings as GeoJSON (RFC 7946), rings turned as it asks."""
    sources = {one.source.name: one.source for one in found}
    return {
        "type": "FeatureCollection",
        "crs": crs,
        "bounds": list(found[0].bounds) if found else None,
        "features": [
            {
                "type": "Feature",
                "id": one.id,
                "geometry": shapely.geometry.mapping(shapely.orient_polygons(one.shape)),
                "properties": {
                    "kind": "lot" if one.kind == LOTS else "building",
                    "source": one.source.name,
                },
            }
            for one in found
        ],
        "sources": [
            {"name": its.name, "date": its.date, "licence": its.licence} for its in sources.values()
        ],
    }
