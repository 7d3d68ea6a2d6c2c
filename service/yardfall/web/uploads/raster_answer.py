"""A kept raster's facts for JSON."""

from __future__ import annotations

from typing import Any

from yardfall.store.uploads.rasters import RasterRecord, RasterStore
from yardfall.use_cases.grounds import facts_of


def raster_answer(record: RasterRecord) -> dict[str, Any]:
    """Facts of one raster; cell sizes in metres, elevations in its own vertical unit."""
    facts = facts_of(record)
    known = facts.lowest is not None
    return {
        "id": record.id,
        "name": record.name,
        "uploaded_at": record.uploaded_at.isoformat(),
        "size_bytes": record.size_bytes,
        "crs": facts.crs,
        "geographic": facts.geographic,
        "bounds": list(facts.bounds),
        "metres_per_unit": list(facts.metres_per_unit),
        "width": facts.width,
        "height": facts.height,
        "cell": list(facts.cell_m),
        "vertical_unit": facts.vertical_unit,
        "elevation": {"min": facts.lowest, "max": facts.highest} if known else None,
        "empty_share": facts.empty_share,
        "source": None
        if facts.named is None
        else {
            "name": facts.named.name,
            "date": facts.named.date,
            "licence": facts.named.licence,
        },
        "relief": f"/api/v1/rasters/{record.id}/relief.png",
    }


def raster_page(store: RasterStore, page: int, page_size: int) -> dict[str, Any]:
    """One page of the rasters kept."""
    records, total = store.page(page, page_size)
    return {
        "rasters": [raster_answer(record) for record in records],
        "page": {"number": page, "size": page_size, "total": total},
    }
