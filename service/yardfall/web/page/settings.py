"""What the page asks for once: what the operator of this planner has set."""

from __future__ import annotations

import marshmallow as ma
from flask import Response, current_app, jsonify

from yardfall.web.http.parsing import Calls
from yardfall.web.openapi.answer_fields import part, words
from yardfall.web.page.tiles import Tiles

page_settings = Calls("page settings", __name__, description="What the operator has set")


class TilesAnswer(ma.Schema):
    """Online map tiles: an address with {z}, {x} and {y}, and a credit as plain text."""

    url = words()
    attribution = words()
    max_zoom = ma.fields.Integer(required=True)


class PageSettings(ma.Schema):
    """`public_url` is the address at which others reach this planner; null where nobody said."""

    tiles = part(TilesAnswer, allow_none=True)
    public_url = words(nullable=True)


@page_settings.get("/page-settings")
@page_settings.response(200, PageSettings)
def get_page_settings() -> Response:
    """What the operator has set for the page: online map tiles, and how others reach it."""
    tiles: Tiles | None = current_app.extensions["tiles"]
    return jsonify(
        tiles=tiles
        and {"url": tiles.url, "attribution": tiles.attribution, "max_zoom": tiles.max_zoom},
        public_url=current_app.extensions["public_url"],
    )
