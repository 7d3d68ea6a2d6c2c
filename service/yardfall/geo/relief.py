"""A shaded relief with contour lines, for a person to read a yard from."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

import numpy as np
import rasterio
from affine import Affine
from PIL import Image, ImageDraw, ImageFont
from rasterio.enums import Resampling
from rasterio.vrt import WarpedVRT

from yardfall.core.arrays import Floats
from yardfall.core.errors import NotFoundError
from yardfall.core.units import SYSTEMS, VERTICAL_UNITS_M, UnitName, plain_number
from yardfall.geo.geotiff import GDAL_OPTIONS, GONE, UNREADABLE, open_raster
from yardfall.geo.raster import RasterFacts

LONG_SIDE_PX: Final = 1000
COLOURS: Final = 96
LOW_TINT: Final = (146, 178, 158)
HIGH_TINT: Final = (238, 226, 196)
FLAT_LIGHT: Final = 0.64
"""Light on level ground."""
CONTOUR_INK: Final = (92, 74, 52)


def draw_relief(path: Path, facts: RasterFacts, units: UnitName | None = None) -> bytes:
    """A north-up PNG that covers exactly the raster's bounds; transparent where empty.

    Light from the north-west. Slopes are steepened in the shading only, so that a yard's gentle
    falls can be seen; contour lines carry the true elevations, every fifth one labelled, in the
    length unit of the system `units` where one is named and the raster's own unit is known.
    """
    z, unit = _in_units(_north_up(path, facts), facts.vertical_unit, units)
    image, interval = _painted(z)
    if interval is not None:
        _write(
            image, (8.0, image.height - 8.0), f"contours every {interval:g} {unit}".strip(), "ls"
        )
    return _png(image, optimize=True)


def relief_of(z: Floats, own: str, units: UnitName) -> tuple[bytes, str]:
    """The same of elevations (tall, wide) in a unit, NaN where empty, some bytes larger but written
    at once; and what lies between two contours, with its unit, which stands in no corner."""
    z, unit = _in_units(z, own, units)
    image, interval = _painted(z)
    return _png(image, optimize=False), "" if interval is None else f"{interval:g} {unit}"


def _painted(z: Floats) -> tuple[Image.Image, float | None]:
    """The picture, and what lies between two contours; None where nothing is known."""
    known = np.isfinite(z)
    picture = np.zeros((*z.shape, 4), dtype=np.uint8)
    interval = None
    if known.any():
        span = float(np.nanmax(z) - np.nanmin(z))
        interval = contour_interval(span)
        picture[..., :3] = _tinted(z, _shade(z))
        picture[..., 3] = np.where(known, 255, 0)
        for every, ink in ((1, 0.45), (5, 0.95)):
            lines = _contours(z, interval * every)
            blend = picture[lines, :3] * (1 - ink) + np.array(CONTOUR_INK) * ink
            picture[lines, :3] = blend.astype(np.uint8)
    image = Image.fromarray(picture)
    if interval is not None:
        _label(image, z, interval)
    return image, interval


def _png(image: Image.Image, *, optimize: bool) -> bytes:
    out = io.BytesIO()
    few = image.quantize(COLOURS, method=Image.Quantize.FASTOCTREE)
    few.save(out, "PNG", optimize=optimize)
    return out.getvalue()


def _in_units(z: Floats, own: str | None, units: UnitName | None) -> tuple[Floats, str]:
    """Elevations and their unit, carried over where both units are known."""
    if own is None or units is None:
        return z, own or ""
    system = SYSTEMS[units]
    return z * (VERTICAL_UNITS_M[own] / system.length_m), system.length_name


def contour_interval(span: float) -> float:
    """A round interval (1, 2 or 5 times a power of ten) that puts about 20 lines on a span."""
    if span <= 0:
        return 1.0
    power = 10.0 ** np.floor(np.log10(span / 20))
    return float(next(power * m for m in (1, 2, 5, 10) if power * m >= span / 20))


def _north_up(path: Path, facts: RasterFacts) -> Floats:
    """The raster resampled to a north-up picture of its bounds; NaN where empty."""
    xmin, ymin, xmax, ymax = facts.bounds
    wide_m = (xmax - xmin) * facts.metres_per_unit[0]
    tall_m = (ymax - ymin) * facts.metres_per_unit[1]
    px_m = max(wide_m, tall_m) / LONG_SIDE_PX
    width, height = max(1, round(wide_m / px_m)), max(1, round(tall_m / px_m))
    view = Affine((xmax - xmin) / width, 0, xmin, 0, (ymin - ymax) / height, ymax)
    with (
        _still_there(),
        rasterio.Env(**GDAL_OPTIONS),
        open_raster(path) as dataset,
        WarpedVRT(
            dataset,
            crs=dataset.crs,
            transform=view,
            width=width,
            height=height,
            resampling=Resampling.bilinear,
            add_alpha=dataset.nodata is None,
        ) as warped,
    ):
        cells = warped.read(1, masked=True).astype(np.float64)
        return np.ma.filled(cells * dataset.scales[0] + dataset.offsets[0], np.nan)


@contextmanager
def _still_there() -> Iterator[None]:
    try:
        yield
    except UNREADABLE as error:
        raise NotFoundError(GONE) from error


def _shade(z: Floats) -> Floats:
    """Light from the north-west on slopes steepened to a readable strength, 0 to 1."""
    if min(z.shape) < 2:
        return np.full(z.shape, FLAT_LIGHT)
    down, across = np.gradient(z)
    steep = np.nanpercentile(np.hypot(down, across), 90)
    strength = 0.6 / steep if steep > 0 else 0.0
    east, north = -across * strength, down * strength
    light = (-east - (-north) + 1.4) / np.sqrt(1 + east**2 + north**2) / 2.2
    return np.clip(np.nan_to_num(light, nan=0.5), 0.25, 1.0)


def _tinted(z: Floats, shade: Floats) -> np.ndarray:
    span = np.nanmax(z) - np.nanmin(z)
    height = np.nan_to_num((z - np.nanmin(z)) / (span or 1.0))[..., None]
    tint = np.array(LOW_TINT) * (1 - height) + np.array(HIGH_TINT) * height
    return np.clip(tint * (0.55 + 0.6 * shade[..., None]), 0, 255).astype(np.uint8)


def _contours(z: Floats, interval: float) -> np.ndarray:
    """True where a contour passes between a pixel and its right or lower neighbour."""
    step = np.floor(z / interval)
    lines = np.zeros(z.shape, dtype=bool)
    lines[:, :-1] |= np.diff(step, axis=1) != 0
    lines[:-1, :] |= np.diff(step, axis=0) != 0
    empty = ~np.isfinite(z)
    lines[empty] = False
    lines[:, :-1] &= ~empty[:, 1:]
    lines[:-1, :] &= ~empty[1:, :]
    return lines


def _label(image: Image.Image, z: Floats, interval: float) -> None:
    """Write elevations on every fifth contour."""
    digits = max(0, -int(np.floor(np.log10(interval * 5))))
    rows, columns = np.nonzero(_contours(z, interval * 5))
    level = np.round(z[rows, columns] / (interval * 5)) * interval * 5
    for value in np.unique(level):
        here = np.flatnonzero(level == value)
        pick = here[len(here) // 2]
        at = (float(columns[pick]), float(rows[pick]))
        _write(image, at, plain_number(float(value), digits), "mm")


def _write(image: Image.Image, at: tuple[float, float], text: str, anchor: str) -> None:
    ImageDraw.Draw(image).text(
        at,
        text,
        fill=CONTOUR_INK,
        font=ImageFont.load_default(size=max(10, LONG_SIDE_PX // 70)),
        anchor=anchor,
        stroke_width=3,
        stroke_fill=(244, 238, 222),
    )
