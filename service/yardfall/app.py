"""create_app: the only module that knows every layer."""

from __future__ import annotations

import os
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from flask import Flask
from threadpoolctl import threadpool_limits

from yardfall.core.errors import YardfallError
from yardfall.geo.raster import inspect_raster
from yardfall.sentences import say
from yardfall.store.database import open_database
from yardfall.store.files import private_folder
from yardfall.store.imports import forget_abandoned
from yardfall.store.keys import KeyStore
from yardfall.store.owners import SHARED
from yardfall.store.reserve import Reserve
from yardfall.store.sources import SourceStore
from yardfall.store.uploads.rasters import MAX_UPLOAD_BYTES, RasterStore
from yardfall.store.uploads.site_plans import SitePlanStore
from yardfall.use_cases import uploads
from yardfall.use_cases.around_a_place import BUILDINGS, LOTS
from yardfall.use_cases.sources import Stated, name_elevations, name_outlines
from yardfall.web.checks.views import checking
from yardfall.web.http.access import register_access
from yardfall.web.http.api import make_api
from yardfall.web.http.compression import register_compression
from yardfall.web.http.conditions import register_conditions
from yardfall.web.http.json_provider import AnswerJson
from yardfall.web.http.problems import register_problems
from yardfall.web.http.watch.heap import settle_heap
from yardfall.web.http.watch.limits import Limits
from yardfall.web.http.watch.metrics import register_metrics
from yardfall.web.http.watch.request_log import register_journal
from yardfall.web.http.watch.room import register_room
from yardfall.web.http.watch.turns import register_turns
from yardfall.web.jobs.check_views import record
from yardfall.web.jobs.crew_views import crews
from yardfall.web.jobs.paper_views import job_papers
from yardfall.web.jobs.transfer_views import moving
from yardfall.web.jobs.views import jobs
from yardfall.web.page.page import DEMO, DEMO_RASTER, register_page
from yardfall.web.page.public_url import public_url_from
from yardfall.web.page.settings import page_settings
from yardfall.web.page.tiles import Tiles, tiles_from
from yardfall.web.papers.views import papers
from yardfall.web.plan.views import planning, rasters
from yardfall.web.reach.views import searching
from yardfall.web.sources.views import sources
from yardfall.web.uploads.site_plan_views import site_plans

DEMO_GROUND: Final = "demo-ground"
DEMO_OUTLINES: Final = (
    ("demo-lots", LOTS, "lots.geojson"),
    ("demo-houses", BUILDINGS, "houses.geojson"),
)
MAX_REQUEST_BYTES: Final = MAX_UPLOAD_BYTES + (1 << 20)


@dataclass(frozen=True)
class Settings:
    """Where data is kept (`database_url` None: SQLite in `data_dir`), the online map tiles that the
    page may ask for, what a key may ask, and the address at which others reach the planner."""

    data_dir: Path
    tiles: Tiles | None = None
    database_url: str | None = None
    limits: Limits = field(default_factory=Limits)
    public_url: str | None = None

    @classmethod
    def from_environment(cls, data_dir: Path) -> Settings:
        """With what the environment says. Raises ValueError, TilesSettingError, PublicUrlError."""
        url = os.environ.get("YARDFALL_DATABASE_URL") or None
        limits, public_url = Limits.from_environment(), public_url_from(os.environ)
        return cls(data_dir, tiles_from(os.environ), url, limits, public_url)


def open_rasters(data_dir: Path) -> RasterStore:
    """Every raster of a data directory, whoever owns it; the directory is made when missing."""
    private_folder(data_dir)
    return RasterStore(open_database(data_dir, os.environ.get("YARDFALL_DATABASE_URL")), data_dir)


def open_site_plans(data_dir: Path) -> SitePlanStore:
    """Every site plan of a data directory that is there, whoever owns it."""
    engine = open_database(data_dir, os.environ.get("YARDFALL_DATABASE_URL"))
    return SitePlanStore(engine, data_dir)


def load_demo(store: RasterStore) -> None:
    """Put the demo yard's raster into a store, once, for everybody."""
    shared = store.of(SHARED)
    if shared.find_named(DEMO_RASTER) is None:
        with (DEMO / "yard.tif").open("rb") as file:
            uploads.add_raster(file, DEMO_RASTER, shared, inspect_raster)


def load_demo_sources(store: SourceStore) -> None:
    """Name the demo street's ground, lots and houses, where nobody ever named a source.

    Those named before are read again where the files that come with the planner moved.
    """
    fresh = not store.folder.exists()
    town = DEMO / "town"
    stated = Stated(date="2026-01-01", rmse_m=0.006, licence=say("sources.demo_licence"))
    with suppress(YardfallError, OSError):  # another worker names them this moment
        if fresh or _stale(store, DEMO_GROUND, town):
            name_elevations(store, DEMO_GROUND, [str(town)], stated, lambda _done, _total: None)
        for name, kind, file in DEMO_OUTLINES:
            if fresh or _stale(store, name, town / file):
                name_outlines(store, kind, name, str(town / file), "number", None, stated)


def _stale(store: SourceStore, name: str, root: Path) -> bool:
    """Forget a demo source whose files moved; whether it did."""
    if name not in store.names() or store.about(name)["roots"] == [str(root.resolve())]:
        return False
    store.remove(name)
    return True


class Planner(Flask):
    """The application. No call of it is a coroutine, so flask need not ask each, each time."""

    def ensure_sync(self, func: Callable[..., Any]) -> Callable[..., Any]:
        """The function itself."""
        return func


def create_app(settings: Settings) -> Flask:
    """The service: API, page and reference over one data directory."""
    private_folder(settings.data_dir)
    threadpool_limits(1, "blas")  # many requests at once: BLAS's threads would wait for each other
    settle_heap()
    engine = open_database(settings.data_dir, settings.database_url)
    every = RasterStore(engine, settings.data_dir, None, settings.limits.kept_mib << 20)
    every_plan = SitePlanStore(engine, settings.data_dir, None, settings.limits.kept_mib << 20)
    forget_abandoned(engine, settings.data_dir)
    for store in (every, every_plan):
        store.sweep()
    keys = KeyStore(engine)
    app = Planner("yardfall", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = MAX_REQUEST_BYTES
    app.json = AnswerJson(app)
    app.extensions |= {
        "engine": engine,
        "data_dir": settings.data_dir,
        "rasters": every,
        "site_plans": every_plan,
        "keys": keys,
        "limits": settings.limits,
        "tiles": settings.tiles,
        "public_url": settings.public_url,
    }
    register_journal(app)
    register_metrics(app)
    register_access(app, keys, settings.limits)
    register_room(app, Reserve(engine, settings.data_dir))
    register_turns(app, settings.limits)
    plans = (planning, searching, checking, papers)
    kept = (jobs, record, crews, job_papers, moving)
    make_api(app, *plans, rasters, sources, site_plans, page_settings, *kept)
    register_page(app)
    register_problems(app)
    register_compression(app)
    register_conditions(app)
    return app
