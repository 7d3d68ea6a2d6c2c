"""The largest body that each call admits, as far as a body can be made large: for `costs.py`.

Bodies are of our own invention. A case tells the call, what is sent, and makes the request; what it
needs kept beforehand (a raster, a job) it keeps by calls of its own, which are not measured.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import rasterio
from flask.testing import FlaskClient
from PIL import Image
from rasterio.transform import from_origin
from rasterio.windows import Window
from scipy.ndimage import gaussian_filter

WEST, NORTH, CELL_M = 5e5, 47e5, 0.5
LOT_SIDE = 1414
"""The whole raster is searched: 1414² cells are 1,999,396."""
STATIONS, READINGS, BASE = 2000, 5000, "/api/v1"
JSON_BYTES = 4 << 20
PAPERS = (
    *("dig-sheet.html", "dig-sheet.pdf", "map.html"),
    *("stations.csv", "plan.geojson", "plan.gpkg", "profile.svg"),
)
PIPE, COVER, DAYLIGHT = {"code": "pvc-sdr35-4"}, {"cover": 200}, {"kind": "daylight"}


class Ask(NamedTuple):
    """One request: a JSON body, or a file to upload, or neither."""

    method: str
    path: str
    body: Any = None
    file: Path | None = None
    headers: dict[str, str] = {}  # noqa: RUF012 - no default is ever changed


@dataclass(frozen=True)
class Case:
    """`budget_s` is what the service gives the call; an answer may be any of `statuses`."""

    call: str
    sent: str
    make: Callable[[Yard], Ask]
    budget_s: float = 20.0
    statuses: tuple[int, ...] = (200, 201, 204)


class Yard:
    """What cases keep, each once: rasters, site plans, jobs, by an application's own calls."""

    def __init__(self, client: FlaskClient, folder: Path) -> None:
        self.client, self.folder = client, folder
        self.file = cache(lambda name: FILES[name](folder / name))
        self.kept = cache(self._kept)
        self.job = cache(self._job)

    def _kept(self, name: str) -> str:
        """The id of the raster or site plan made by the function of that name."""
        path, call = self.file(name), "site-plans" if "plan" in name else "rasters"
        with path.open("rb") as file:
            answer = self.client.post(f"{BASE}/{call}", data={"file": (file, path.name)})
        return self._made(answer)

    def _job(self, name: str) -> str:
        """The id of a job whose request is the plan of that name, and with a form of 1 MiB."""
        body = {"name": name, "request": PLANS[name](self), "form": {"notes": ["x" * 1000] * 1000}}
        return self._made(self.client.post(f"{BASE}/jobs", json=body))

    @staticmethod
    def _made(answer: Any) -> str:
        if answer.status_code != 201:
            raise SystemExit(answer.get_data(as_text=True)[:2000])
        return str(answer.json["id"])


# Files


def raster(path: Path, rows: Iterator[np.ndarray], side: int, **more: Any) -> Path:
    """A square GeoTIFF, written some rows at a time."""
    profile = {"driver": "GTiff", "width": side, "height": side, "count": 1, "dtype": "float32"}
    profile |= {"crs": "EPSG:26915", "transform": from_origin(WEST, NORTH, CELL_M, CELL_M)} | more
    with rasterio.open(path, "w", **profile) as out:
        top = 0
        for part in rows:
            out.write(part.astype(np.float32), 1, window=Window(0, top, side, len(part)))
            top += len(part)
    return path


def _lot(kind: str, side: int = LOT_SIDE) -> np.ndarray:
    down, across = np.mgrid[0:side, 0:side]
    noise = np.random.default_rng(1).standard_normal((side, side))
    z = 300 - 0.004 * (down + across)
    if kind == "sloped":
        return z - 0.006 * down
    z += gaussian_filter(noise, 6) * 8
    if kind == "rough":
        z += 0.3 * noise
    if kind == "holed":
        z[gaussian_filter(np.random.default_rng(2).standard_normal(z.shape), 5) > 0.08] = np.nan
        z[side // 2 - 30 : side // 2 + 30, side // 2 - 30 : side // 2 + 30] = 298.0
    return z


def _lot_file(kind: str) -> Callable[[Path], Path]:
    return lambda path: raster(path, iter([_lot(kind)]), LOT_SIDE, nodata=np.nan)


def _heavy(path: Path) -> Path:
    """484 MiB of noise, as large as whole tiles come to the most that is taken."""
    side, rng = 11_264, np.random.default_rng(3)
    tiled = {"tiled": True, "blockxsize": 512, "blockysize": 512}
    parts = (
        rng.standard_normal((min(512, side - top), side), dtype=np.float32) + 300
        for top in range(0, side, 512)
    )
    return raster(path, parts, side, **tiled)


def _wide(path: Path) -> Path:
    """400 million cells, packed into little."""
    side = 20_000
    parts = (np.full((min(500, side - top), side), 300.0) for top in range(0, side, 500))
    return raster(path, parts, side, compress="deflate", predictor=3, tiled=True)


def _picture(path: Path) -> Path:
    """80 million pixels."""
    side, rng = 8_944, np.random.default_rng(4)
    small = rng.integers(0, 255, (side // 8, side // 8, 3), dtype=np.uint8)
    Image.fromarray(small).resize((side, side)).save(path, "JPEG", quality=90)
    return path


def _page(path: Path) -> Path:
    """A PDF page as large as may be, of 200,000 lines."""
    ends = np.random.default_rng(5).uniform(0, 14_400, (200_000, 4)).round(1)
    drawn = zlib.compress(b"\n".join(b"%g %g m %g %g l S" % tuple(e) for e in ends.tolist()))
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 14400 14400]/Contents 4 0 R>>",
        b"<</Length %d/Filter/FlateDecode>>stream\n%b\nendstream" % (len(drawn), drawn),
    ]
    text, places = b"%PDF-1.4\n", []
    for number, part in enumerate(objects, 1):
        places.append(len(text))
        text += b"%d 0 obj%b endobj\n" % (number, part)
    start = len(text)
    text += b"xref\n0 5\n0000000000 65535 f \n" + b"".join(b"%010d 00000 n \n" % p for p in places)
    text += b"trailer<</Size 5/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF" % start
    path.write_bytes(text)
    return path


FILES: dict[str, Callable[[Path], Path]] = {
    **{kind: _lot_file(kind) for kind in ("drawn", "sloped", "rough", "holed")},
    "heavy": _heavy,
    "wide": _wide,
    "plan picture": _picture,
    "plan page": _page,
}

# Plans


def readings(count: int, every_m: float | None = None, **more: Any) -> dict[str, Any]:
    """Elevations 0.6 m apart on a yard with humps."""
    at = 0.6 * np.arange(count)
    z = 30 - 0.02 * at + 0.03 * np.random.default_rng(1).standard_normal(count)
    points = [{"at": a, "elevation": e} for a, e in zip(at.round(1), z.round(3), strict=True)]
    body = {"units": "si", "route": {"length": points[-1]["at"]}, "pipe": PIPE, "start": COVER}
    body |= {"ground": {"kind": "elevations", "points": points}, "outlet": DAYLIGHT}
    stations = {"stations": {"every": every_m}} if every_m else {}
    return body | stations | more


def on_raster(yard: Yard) -> dict[str, Any]:
    """A bent line of 500 points over a lot, 2,000 stations."""
    t = np.linspace(0, 1, 500)
    x = WEST + 10 + 660 * t
    y = NORTH - 10 - 660 * t + 3 * np.sin(60 * t)
    line = {"type": "LineString", "coordinates": np.column_stack([x, y]).round(2).tolist()}
    ground = {"kind": "raster", "raster": yard.kept("sloped"), "vertical_unit": "m"}
    body = {"units": "si", "route": {"line": line, "crs": "EPSG:26915"}, "ground": ground}
    return body | {"pipe": PIPE, "start": COVER, "outlet": DAYLIGHT, "stations": {"every": 0.49}}


def tree(lines: int, count: int) -> dict[str, Any]:
    """A main and branches of branches, so many lines in all, so many readings each."""
    one = {k: v for k, v in readings(count).items() if k not in ("units", "outlet")}
    rows: list[dict[str, Any]] = []
    for n in range(lines - 1):
        rows.append(one | {"name": f"branch {n}", "joins_at": 0.5 + 0.5 * (n % 12)})
    main = readings(count, branches=rows[:12])
    for n, row in enumerate(rows[12:]):
        parent = rows[n // 4]
        parent.setdefault("branches", []).append(row)
    return main


def outline(limit: int, middle: tuple[float, float], radius: float) -> dict[str, Any]:
    """An outline of so many points that goes up and down."""
    turn = np.linspace(0, 2 * np.pi, limit)
    out = radius * (1 + 0.3 * np.sin(turn * limit / 7))
    xy = np.column_stack([middle[0] + out * np.cos(turn), middle[1] + out * np.sin(turn)]).round(2)
    xy[-1] = xy[0]
    return {"type": "Polygon", "coordinates": [xy.tolist()]}


PLANS: dict[str, Callable[[Yard], dict[str, Any]]] = {
    "readings": lambda _: readings(READINGS),
    "chance": lambda _: readings(READINGS, accuracy={"sigma": 30}),
    "least dig": lambda _: readings(
        STATIONS,
        grade={"shape": "least_dig", "max_breaks": 5},
        limits={"max_depth": 900, "min_cover": 150},
        accuracy={"sigma": 30},
    ),
    "raster": on_raster,
    "stations": lambda _: readings(500, 0.15, accuracy={"sigma": 10}),
    "fifty lines": lambda _: tree(51, 100) | {"accuracy": {"sigma": 10}},
    "whole body": lambda _: tree(51, 2000),
}


def flow() -> dict[str, Any]:
    """A hundred inflows into one pipe."""
    roof = {"kind": "roof", "area": 80, "rain_rate": 120, "duration": 5}
    return {"units": "si", "pipe": PIPE, "grade": {"percent": 1.0}, "inflows": [roof] * 100}


def dug(plan: dict[str, Any]) -> dict[str, Any]:
    """A trench of 500 readings against a plan."""
    length_m = 0.6 * 100
    at = np.linspace(0, length_m, 500).round(2)
    return {"plan": plan, "as_dug": [{"at": a, "depth": 500} for a in at.tolist()]}


def old_pipe() -> dict[str, Any]:
    """500 readings along a pipe that lies."""
    rod = np.random.default_rng(6).normal(1.3, 0.01, 500) + 0.005 * np.arange(500)
    points = [{"at": 0.5 * k, "rod": r} for k, r in enumerate(rod.round(3).tolist())]
    return {"units": "si", "pipe": {"code": "pvc-drain-4"}, "height": 51.2, "points": points}


def form(mib: float) -> dict[str, Any]:
    """What a page's form might hold, so many MiB of it."""
    return {"notes": ["x" * 1000] * int(mib * 1000)}


def search(yard: Yard, kind: str, **more: Any) -> dict[str, Any]:
    """The largest lot, from its middle."""
    low, far = 1.0, LOT_SIDE * CELL_M - 1
    square = [[low, low], [far, low], [far, far], [low, far], [low, low]]
    ring = [[WEST + x, NORTH - y] for x, y in square]
    body = {"units": "si", "crs": "EPSG:26915", "pipe": PIPE, "start": _middle(COVER)}
    body |= {"ground": {"kind": "raster", "raster": yard.kept(kind), "vertical_unit": "m"}}
    within = {"type": "Polygon", "coordinates": [ring]}
    return body | {"outlet": DAYLIGHT, "within": within} | more


def _middle(start: dict[str, Any]) -> dict[str, Any]:
    far = LOT_SIDE * CELL_M - 1
    return start | {"point": [WEST + far / 2, NORTH - far / 2]}


def everything() -> dict[str, Any]:
    """All that a search may be asked besides: 15 places, areas of 10,000 points, 12 bands."""
    far, rng = LOT_SIDE * CELL_M - 1, np.random.default_rng(7)
    places = rng.uniform(5, far - 5, (14, 2))
    ask = np.column_stack([WEST + places[:, 0], NORTH - places[:, 1]]).round(1).tolist()
    row = [[WEST + 5, NORTH - far + 5], [WEST + far - 5, NORTH - far + 5]]
    targets = {"type": "LineString", "coordinates": row}
    avoid = outline(10_000, (WEST + far / 4, NORTH - far / 4), 60)
    bands = [25 * k for k in range(1, 13)]
    asked = {"ask": ask, "targets": targets, "avoid": avoid, "clearance": 5, "bands": bands}
    return asked | {"draws": 200, "limits": {"max_depth": 30_000}}


def spots(**more: Any) -> dict[str, Any]:
    """5,000 spot heights over 700 m by 700 m."""
    rng = np.random.default_rng(8)
    xy = np.vstack(
        [rng.uniform(0, 700, (READINGS - 4, 2)), [[0, 0], [700, 0], [0, 700], [700] * 2]]
    )
    z = 100 - 0.02 * xy.sum(axis=1) + 0.2 * rng.standard_normal(READINGS)
    ground = {"kind": "spots", "points": np.column_stack([xy, z]).round(3).tolist()}
    body = {"units": "si", "crs": "local", "ground": ground, "pipe": PIPE, "outlet": DAYLIGHT}
    return body | {"start": COVER | {"point": [350, 350]}} | more


def many_places() -> dict[str, Any]:
    """100 points to tell about and 380 to reach."""
    places = np.random.default_rng(9).uniform(5, 695, (480, 2)).round(2).tolist()
    return {"ask": places[:100], "targets": {"type": "MultiPoint", "coordinates": places[100:]}}


def exported(yard: Yard) -> Path:
    """Everything kept but the heaviest raster, as a file to bring in."""
    for kept in yard.client.get(f"{BASE}/rasters?page_size=200").json["rasters"]:
        if kept["name"].startswith("heavy"):
            yard.client.delete(f"{BASE}/rasters/{kept['id']}")
    path = yard.folder / "export.zip"
    with yard.client.get(f"{BASE}/export") as answer, path.open("wb") as out:
        for part in answer.iter_encoded():
            out.write(part)
    return path
