"""A site plan's picture turned to lie on its plan, small enough to carry along in a page."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from PIL import Image

from yardfall.core.ground.placement import Placement

LONG_SIDE_PX: Final = 1600
"""As much as a phone can show, zoomed in a few times."""
COLOURS: Final = 64
QUALITY: Final = 80


@dataclass(frozen=True)
class LaidSheet:
    """The picture with the plan's y up, and its bounds xmin, ymin, xmax, ymax on the plan, m."""

    content: bytes
    media_type: str
    bounds_m: tuple[float, float, float, float]


def lay_sheet(path: Path, placement: Placement) -> LaidSheet:
    """The kept picture as its placement lays it; white where a turn leaves a corner empty.

    Never larger than it is, at most LONG_SIDE_PX (and a pixel) on its longest side; PNG or JPEG,
    whichever is smaller. Raises FileNotFoundError where the file is gone.
    """
    with Image.open(path) as kept:
        picture = kept.convert("RGB")
    corners = placement.corners_m(*picture.size)
    low, high = corners.min(axis=0), corners.max(axis=0)
    pixel_m = max(placement.metres_per_pixel, float((high - low).max()) / LONG_SIDE_PX)
    wide, tall = (int(n) for n in np.ceil((high - low) / pixel_m - 1e-6))
    # The upper left corner, a pixel to the right of it and a pixel below, in pixels of the picture.
    (u, v), right, down = placement.to_picture(
        np.array([low[0], high[1]]) + np.array([[0, 0], [pixel_m, 0], [0, -pixel_m]])
    )
    # Pillow's turn takes single pixels, so that a larger picture is made smaller first.
    shrunk = picture.resize(
        [max(1, round(n * placement.metres_per_pixel / pixel_m)) for n in picture.size],
        Image.Resampling.LANCZOS,
    )
    across, along = np.divide(shrunk.size, picture.size)
    laid = shrunk.transform(
        (wide, tall),
        Image.Transform.AFFINE,
        (
            (right[0] - u) * across,
            (down[0] - u) * across,
            u * across,
            (right[1] - v) * along,
            (down[1] - v) * along,
            v * along,
        ),
        Image.Resampling.BICUBIC,
        fillcolor="white",
    )
    xmin, ymax = float(low[0]), float(high[1])
    bounds_m = (xmin, ymax - tall * pixel_m, xmin + wide * pixel_m, ymax)
    return LaidSheet(*_smaller(laid), bounds_m)


def _smaller(picture: Image.Image) -> tuple[bytes, str]:
    """A drawing is smaller as PNG, a photograph as JPEG."""
    few = picture.quantize(COLOURS, method=Image.Quantize.FASTOCTREE)
    written = []
    for image, kind, options in (
        (few, "PNG", {"optimize": True}),
        (picture, "JPEG", {"quality": QUALITY, "optimize": True}),
    ):
        out = io.BytesIO()
        image.save(out, kind, **options)
        written.append((out.getvalue(), f"image/{kind.lower()}"))
    return min(written, key=lambda one: len(one[0]))
