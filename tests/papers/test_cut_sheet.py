"""A surveyor's cut sheet, worked by hand: hub elevation less invert elevation is the cut.

The sum is the one US Navy surveying manuals teach (Engineering Aid training, from memory); the
hubs and levels here are our own.
"""

from __future__ import annotations

import csv
import io

import pytest

# Hubs every 25 ft; the invert starts at 96.50 and falls 1.5 ft in 100 ft.
HUBS = ((0, 99.00), (25, 98.81), (50, 98.34), (75, 97.92), (100, 97.20))
INVERTS = (96.500, 96.125, 95.750, 95.375, 95.000)
CUTS_FT = (2.500, 2.685, 2.590, 2.545, 2.200)


def test_hub_less_invert_is_the_cut(take) -> None:
    request = {
        "units": "us",
        "route": {"length": 100},
        "ground": {
            "kind": "elevations",
            "points": [{"at": at, "elevation": z} for at, z in HUBS],
        },
        "pipe": {"outside": 4.5, "inside": 4, "n": 0.01, "min_percent": 1.5},
        "start": {"invert": 96.5},
        "limits": {"max_depth": 60},
        "outlet": {"kind": "tie_in", "invert": {"min": 95, "max": 95}},
        "stations": {"every": 25},
    }
    content = take("stations.csv", request).data.decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(content)))
    assert [float(row["invert_ft"]) for row in rows] == pytest.approx(INVERTS, abs=1e-5)
    cuts = [float(row["cut_to_invert_in"]) / 12 for row in rows]
    assert cuts == pytest.approx(CUTS_FT, abs=1e-3)
    # The trench goes deeper than the invert by the pipe's wall, a quarter inch.
    digs = [float(row["dig_depth_in"]) for row in rows]
    assert digs == pytest.approx([cut * 12 + 0.25 for cut in CUTS_FT], abs=1e-3)
