"""What is uploaded, placed, drawn and given up: rasters, site plans, jobs that name them."""

from __future__ import annotations

from collections.abc import Callable, Collection
from contextlib import suppress
from dataclasses import asdict, replace
from pathlib import Path
from typing import IO

from yardfall.core.errors import NotFoundError, NotYoursError, under
from yardfall.core.ground.placement import MapTie, Placement, check_placement
from yardfall.core.ground.profile import NamedSource
from yardfall.core.units import UnitName
from yardfall.geo.crs import find_crs
from yardfall.geo.raster import RasterFacts
from yardfall.geo.relief import draw_relief
from yardfall.geo.sandbox import examine
from yardfall.geo.site_plan import draw_sheet
from yardfall.store.records.jobs import JobStore
from yardfall.store.uploads.rasters import RasterRecord, RasterStore
from yardfall.store.uploads.site_plans import SitePlanRecord, SitePlanStore
from yardfall.use_cases.grounds import facts_of


def add_raster(
    stream: IO[bytes],
    name: str,
    rasters: RasterStore,
    look: Callable[[Path], RasterFacts] = examine,
    named: NamedSource | None = None,
    *,
    keep_once: bool = False,
) -> RasterRecord:
    """Keep an uploaded raster, or a window of a source that was `named`.

    With `keep_once` the answer is the one that is kept already, where there is one all the same.
    Raises FileRefusedError or TooLargeError; then nothing is kept.
    """
    with rasters.incoming(stream) as part:
        facts = asdict(replace(look(part), named=named))
        same = rasters.find_same(part, name, facts) if keep_once else None
        return same or rasters.keep(part, name, facts)


def relief(key: str, rasters: RasterStore, units: UnitName | None = None) -> bytes:
    """The shaded relief of a kept raster as PNG, drawn once for each unit of its contours."""
    record = rasters.get(key)
    drawn_before = record.relief_path(units)
    if not drawn_before.exists():
        picture = draw_relief(record.path, facts_of(record), units)
        rasters.keep_relief(drawn_before, picture)
        return picture
    return drawn_before.read_bytes()


def delete_job(
    key: str,
    expected: Collection[str] | None,
    jobs: JobStore,
    files: Collection[RasterStore | SitePlanStore] = (),
) -> None:
    """Forget a job, and from `files` what no other job names. Raises NotFoundError, StaleError."""
    freed = jobs.delete(key, expected)
    for store in files:
        for file in freed:
            with suppress(NotFoundError, NotYoursError):
                store.delete(file)


def add_site_plan(
    stream: IO[bytes], name: str, page: int | None, site_plans: SitePlanStore
) -> SitePlanRecord:
    """Keep the picture of an uploaded site plan; when it is refused, nothing is kept.

    Raises FileRefusedError, TooLargeError, or InputError for a page that is not there.
    """
    with site_plans.incoming(stream) as (part, picture):
        return site_plans.keep(picture, name, asdict(draw_sheet(part, picture, page)))


def place_site_plan(
    key: str, placement: Placement, units: UnitName, site_plans: SitePlanStore
) -> SitePlanRecord:
    """Keep where a site plan lies, with the units that was said in.

    Raises NotFoundError, InputError.
    """
    facts = site_plans.get(key).facts
    check_placement(placement, facts["width"], facts["height"])
    if placement.on_map is not None:
        with under("/on_map"):
            find_crs(placement.on_map.crs)
    return site_plans.place(key, asdict(placement) | {"units": units})


def placement_of_record(record: SitePlanRecord) -> Placement:
    """Where a site plan that was placed lies."""
    kept = record.placement or {}
    (u1, v1), (u2, v2) = kept["points"]
    u0, v0 = kept["origin"]
    tie = kept["on_map"]
    return Placement(
        points=((u1, v1), (u2, v2)),
        distance_m=kept["distance_m"],
        origin=(u0, v0),
        turn_deg=kept["turn_deg"],
        north_deg=kept["north_deg"],
        on_map=MapTie(tie["crs"], (tie["origin"][0], tie["origin"][1])) if tie else None,
    )
