"""A site plan's picture laid on its plan: where its marks land, by hand."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from yardfall.core.ground.placement import Placement
from yardfall.geo.site_plan_overlay import LONG_SIDE_PX, LaidSheet, lay_sheet

RED, BLUE = (255, 0, 0), (0, 0, 255)


def sheet(folder: Path, size: tuple[int, int], marks: dict) -> Path:
    """A white picture with a square of each colour about a place in pixels."""
    picture = Image.new("RGB", size, "white")
    pen = ImageDraw.Draw(picture)
    for colour, (u, v) in marks.items():
        pen.rectangle((u - 8, v - 8, u + 7, v + 7), fill=colour)  # 16 pixels a side
    path = folder / "sheet.picture"
    picture.save(path, "PNG")
    return path


def place_of(laid: LaidSheet, colour: tuple[int, int, int]) -> np.ndarray:
    """Where the middle of a square lies on the plan, m."""
    pixels = np.asarray(Image.open(io.BytesIO(laid.content)).convert("RGB"), dtype=int)
    down, across = np.nonzero(np.abs(pixels - colour).sum(axis=2) < 200)
    assert down.size
    xmin, ymin, xmax, ymax = laid.bounds_m
    tall, wide, _ = pixels.shape
    x = xmin + (across.mean() + 0.5) * (xmax - xmin) / wide
    y = ymax - (down.mean() + 0.5) * (ymax - ymin) / tall
    return np.array([x, y])


def test_a_quarter_turn_by_hand(tmp_path: Path) -> None:
    """A picture 400 wide and 200 high at 0.1 m a pixel, turned a quarter clockwise about its lower
    left corner: its upper edge, 20 m up, comes to lie 20 m to the right, and its right end 40 m
    down."""
    path = sheet(tmp_path, (400, 200), {RED: (20, 20), BLUE: (380, 180)})
    laid = lay_sheet(path, Placement(((0, 0), (100, 0)), 10.0, (0, 200), turn_deg=90))
    assert laid.bounds_m == pytest.approx((0, -40, 20, 0), abs=1e-6)
    assert place_of(laid, RED) == pytest.approx([18, -2], abs=0.03)
    assert place_of(laid, BLUE) == pytest.approx([2, -38], abs=0.03)


@pytest.mark.parametrize("turn", [0.0, 17.0, -133.3, 360.0])
@pytest.mark.parametrize("size", [(700, 500), (3900, 2600)])
def test_marks_land_where_a_turn_by_sine_and_cosine_puts_them(tmp_path, turn, size) -> None:
    """Clockwise by t, (x, y) goes to (x cos t + y sin t, y cos t - x sin t): the textbook turn."""
    wide, tall = size
    marks = {RED: (50, 60), BLUE: (wide - 70, tall - 40)}
    metres = 30.0 / wide
    origin = (wide / 3, tall / 2)
    placement = Placement(((0, 0), (0, tall)), metres * tall, origin, turn_deg=turn)
    laid = lay_sheet(sheet(tmp_path, size, marks), placement)
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    for colour, (u, v) in marks.items():
        x, y = (u - origin[0]) * metres, (origin[1] - v) * metres
        expected = [x * cos + y * sin, y * cos - x * sin]
        assert place_of(laid, colour) == pytest.approx(expected, abs=0.5 * 30 / 700)
    with Image.open(io.BytesIO(laid.content)) as picture:
        assert max(picture.size) <= LONG_SIDE_PX + 1


def test_a_drawing_goes_as_png_a_photograph_as_jpeg_and_both_stay_small(tmp_path: Path) -> None:
    placement = Placement(((0, 0), (100, 0)), 10.0, (0, 0), turn_deg=3)
    drawn = lay_sheet(sheet(tmp_path, (2000, 1500), {RED: (900, 700)}), placement)
    assert drawn.media_type == "image/png"
    assert len(drawn.content) < 50_000
    noise = np.random.default_rng(1).normal(0, 25, (300, 400, 1))
    slope = np.linspace(60, 200, 400)[None, :, None] + noise + np.array([0, 10, -10])
    small = Image.fromarray(slope.clip(0, 255).astype(np.uint8))
    small.resize((3000, 2250), Image.Resampling.BICUBIC).save(tmp_path / "photo", "JPEG")
    photo = lay_sheet(tmp_path / "photo", placement)
    assert photo.media_type == "image/jpeg"
    assert len(photo.content) < 400_000
