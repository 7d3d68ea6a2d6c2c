"""The online map tiles that the operator of a planner may allow; there are none by default."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

FORM: Final = re.compile(r"(https?://[A-Za-z0-9.-]+(?::[0-9]{1,5})?)/[\w~.%@:/?&=+,{}-]*", re.ASCII)
PLACES: Final = ("{z}", "{x}", "{y}")
MOST_ZOOM: Final = 24


class TilesSettingError(ValueError):
    """A setting of the operator's that cannot be used; the sentence says which and why."""


@dataclass(frozen=True)
class Tiles:
    """Where map tiles come from, whom the map credits for them, and how close they go."""

    url: str
    attribution: str
    max_zoom: int = 19

    @property
    def origin(self) -> str:
        """Scheme and host: what the page may load pictures from."""
        form = FORM.fullmatch(self.url)
        assert form is not None
        return form[1]


def tiles_from(environment: Mapping[str, str]) -> Tiles | None:
    """The tiles that YARDFALL_TILES_URL, _ATTRIBUTION and _MAX_ZOOM name; None without a URL.

    Raises TilesSettingError. The host is one, and plain: it becomes part of the content security
    policy.
    """
    url = environment.get("YARDFALL_TILES_URL", "").strip()
    if not url:
        return None
    form = FORM.fullmatch(url)
    rest = url[len(form[1]) :] if form else ""
    extra = re.sub(r"\{[zxy]\}", "", rest)
    if (
        form is None
        or not all(rest.count(place) == 1 for place in PLACES)
        or set("{}") & set(extra)
    ):
        raise TilesSettingError(
            "YARDFALL_TILES_URL must be an address with {z}, {x} and {y} once each in its path and "
            f"one plain host, as in https://tiles.example.org/{{z}}/{{x}}/{{y}}.png, not {url!r}."
        )
    attribution = environment.get("YARDFALL_TILES_ATTRIBUTION", "").strip()
    if not attribution:
        raise TilesSettingError(
            "YARDFALL_TILES_ATTRIBUTION is missing: say whom the map must credit for its tiles."
        )
    zoom = environment.get("YARDFALL_TILES_MAX_ZOOM", "19").strip()
    if not (zoom.isascii() and zoom.isdigit() and 1 <= int(zoom) <= MOST_ZOOM):
        raise TilesSettingError(f"YARDFALL_TILES_MAX_ZOOM must be from 1 to {MOST_ZOOM}.")
    return Tiles(url, attribution, int(zoom))
