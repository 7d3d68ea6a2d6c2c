"""create_app: the only module that knows every layer."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from pathlib import Path

from flask import Flask

from yardfall import workflow
from yardfall.core import straight, way
from yardfall.store.database import open_database
from yardfall.store.rasters import MAX_UPLOAD_BYTES, RasterStore
from yardfall.store.site_plans import SitePlanStore
from yardfall.web.api import make_api
from yardfall.web.calls import planning, rasters
from yardfall.web.checking_calls import checking
from yardfall.web.compression import register_compression
from yardfall.web.json_answers import AnswerJson
from yardfall.web.page import DEMO, DEMO_RASTER, register_page
from yardfall.web.page_settings import page_settings
from yardfall.web.paper_calls import papers
from yardfall.web.problems import register_problems
from yardfall.web.reach_calls import searching
from yardfall.web.site_plan_calls import site_plans
from yardfall.web.tiles import Tiles


@dataclass(frozen=True)
class Settings:
    """Where data is kept, and the online map tiles that the page may ask for."""

    data_dir: Path
    tiles: Tiles | None = None


def open_rasters(data_dir: Path) -> RasterStore:
    """The raster store of a data directory, made when missing."""
    data_dir.mkdir(parents=True, exist_ok=True)
    return RasterStore(open_database(data_dir), data_dir)


def load_demo(store: RasterStore) -> None:
    """Put the demo yard's raster into a store, once."""
    if store.find_named(DEMO_RASTER) is None:
        with (DEMO / "yard.tif").open("rb") as file:
            workflow.add_raster(file, DEMO_RASTER, store)


def _warm() -> None:
    straight.warm()
    way.warm()


def create_app(settings: Settings) -> Flask:
    """The service: API, page and reference over one data directory."""
    app = Flask("yardfall", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = MAX_UPLOAD_BYTES + (1 << 20)
    app.json = AnswerJson(app)
    app.extensions["rasters"] = open_rasters(settings.data_dir)
    app.extensions["site_plans"] = SitePlanStore(
        open_database(settings.data_dir), settings.data_dir
    )
    app.extensions["tiles"] = settings.tiles
    make_api(app, planning, searching, checking, rasters, site_plans, page_settings, papers)
    threading.Thread(target=_warm, name="warm", daemon=True).start()
    register_page(app)
    register_problems(app)
    register_compression(app)
    return app
