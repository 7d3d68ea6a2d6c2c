"""What elevations are read from: an uploaded raster, or a source of tiles.

Both are opened for where the ground is wanted, and then read alike.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pyproj

from yardfall.core.arrays import Floats
from yardfall.core.ground.profile import NamedSource
from yardfall.geo.geotiff import kept_raster
from yardfall.geo.raster import RasterFacts
from yardfall.geo.vertical_unit import vertical_unit_m

AREA_TOLD = "elevations of the raster"


@dataclass(frozen=True, eq=False)
class OpenElevations:
    """A dataset as rasterio's, the metres in the unit of its cells, and the size of a cell.

    Cells of one `label` share their errors; `corner` is the column and row that the first of them
    has among all of that label. `source` is what a caller is told of where they came from.
    """

    dataset: Any
    unit_m: float
    cell_m: tuple[float, float]
    label: str
    datum: str = AREA_TOLD
    corner: tuple[int, int] = (0, 0)
    source: NamedSource | None = None


Elevations = Callable[[Floats, pyproj.CRS, float], AbstractContextManager[OpenElevations]]
"""Opens what lies under points (n, 2) of a system and so many metres about them."""


def of_raster(
    path: Path, facts: RasterFacts, vertical_unit: str | None, pointer: str = "/raster"
) -> Elevations:
    """An uploaded raster. Raises InputError when its vertical unit is unknown or contradicted, and
    on opening where it is gone."""
    unit_m = vertical_unit_m(facts.vertical_unit, vertical_unit)
    label = f"{path.name} {unit_m:g}"

    @contextmanager
    def opened(_xy: Floats, _crs: pyproj.CRS, _margin_m: float) -> Iterator[OpenElevations]:
        with kept_raster(path, pointer) as dataset:
            yield OpenElevations(dataset, unit_m, facts.cell_m, label, source=facts.named)

    return opened
