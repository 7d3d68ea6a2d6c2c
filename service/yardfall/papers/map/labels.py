"""Labels of the map: texts that are only texts, shown where there is room for them."""

from __future__ import annotations

import html
from dataclasses import dataclass, field
from typing import Final

import folium
import numpy as np

from yardfall.core.arrays import Floats

INK, BRANCH, PAPER = "#06283d", "#0b5c8a", "#ffffff"
PHONE_PX: Final = (300.0, 480.0)
"""Room for the drain on a phone held upright."""
LABEL_PX: Final = (125.0, 24.0)
"""What a label takes; what has not so much keeps its own until it is tapped."""
EDGE_PX: Final = 30.0
"""What of the surroundings a phone shows beside the drain."""


def inert(text: str) -> str:
    """A text that is only text in HTML, and in the template literal that folium puts it in."""
    escaped = html.escape(text)
    for sign in "`$\\{}":
        escaped = escaped.replace(sign, f"&#{ord(sign)};")
    return escaped


@dataclass
class Room:
    """Where on the plane labels stand, how many metres a pixel of a phone shows, and what it
    shows at first: xmin, ymin, xmax, ymax."""

    pixel_m: float
    view_m: tuple[float, float, float, float]
    taken: list[Floats] = field(default_factory=list)

    @classmethod
    def around(cls, every: Floats) -> Room:
        """Room for a drain with these stations (n, 2) on a phone's screen."""
        pixel_m = float(max(np.ptp(every, axis=0) / np.array(PHONE_PX)))
        edge = EDGE_PX * pixel_m
        (xmin, ymin), (xmax, ymax) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
        return cls(pixel_m, (xmin - edge, ymin - edge, xmax + edge, ymax + edge))

    def is_clear(self, place: Floats, side: str = "auto") -> bool:
        """Whether a label at a place (2,) covers no other."""
        apart = np.array(LABEL_PX) * self.pixel_m
        middle = self._middle(place, side)
        return all((np.abs(middle - other) > apart).any() for other in self.taken)

    def take(self, place: Floats, side: str = "auto") -> None:
        """Keep the room of a label at a place (2,)."""
        self.taken.append(self._middle(place, side))

    def _middle(self, place: Floats, side: str) -> Floats:
        """The middle of a label; Leaflet's "auto" puts it right of a place in the map's left half,
        else left of it."""
        wide, tall = LABEL_PX
        xmin, _, xmax, _ = self.view_m
        along = 0.5 if place[0] < (xmin + xmax) / 2 else -0.5
        shift = {"auto": (along * wide, 0.0), "top": (0.0, tall), "bottom": (0.0, -tall)}
        middle: Floats = np.asarray(place) + np.array(shift.get(side, (0.0, 0.0))) * self.pixel_m
        return middle


def mark(
    chart: folium.Map,
    place: Floats,
    text: str,
    *,
    radius: int,
    filled: bool,
    label: bool,
    side: str = "auto",
) -> None:
    """A ring or a disc, its label shown always or when it is tapped."""
    folium.CircleMarker(
        leaflet(place),
        radius=radius,
        color=INK,
        weight=3,
        fill=True,
        fill_color=INK if filled else PAPER,
        fill_opacity=0.95 if radius < 10 else 0,
        tooltip=tip(text, permanent=label, side=side),
    ).add_to(chart)


def tip(text: str, *, permanent: bool = False, side: str = "auto") -> folium.Tooltip:
    """A label."""
    offset = {"top": [0, -10], "bottom": [0, 10]}.get(side, [0, 0])
    return folium.Tooltip(
        inert(text),
        sticky=False,
        permanent=permanent,
        direction=side,
        offset=offset,
        class_name="plan-label",
    )


def leaflet(places: Floats) -> list[float]:
    """A place (2,) or places (n, 2) as Leaflet has them: y first; to a millimetre."""
    turned: list[float] = np.round(np.asarray(places)[..., ::-1], 3).tolist()
    return turned
