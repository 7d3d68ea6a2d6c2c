"""One mark for one place: the answer, the sheets, the files and the trench all show the same."""

from __future__ import annotations

import csv
import io
import json
import re
from html import unescape
from typing import Any

import pytest

from yardfall.papers.station_file import decimal

STRUNG = {
    "units": "us",
    "route": {"length": 52},
    "ground": {
        "kind": "level_line",
        "readings": [
            {"at": at, "down": down}
            for at, down in ((0, 9), (13, 10.5), (26, 9.5), (39, 14), (52, 22))
        ],
    },
    "pipe": {"code": "pvc-sdr35-4"},
    "start": {"depth": 16},
    "outlet": {"kind": "pop_up"},
    "grade": {"min_percent": 1},
}
"""1.56 in every 13 ft, which takes eighths to keep."""
SHOTS = [{"sight": "BS", "rod": 4.5, "on": "BM"}] + [
    {"sight": "IS", "rod": rod, "at": at} for at, rod in ((0, 5.1), (17, 5.3), (31, 5.5), (47, 6.4))
]
RODDED = STRUNG | {
    "route": {"length": 47},
    "ground": {"kind": "rod", "benchmark": {"name": "BM", "elevation": 100}, "shots": SHOTS},
}


@pytest.mark.parametrize(
    ("body", "way", "by"),
    [(STRUNG, "line_to_bottom", "line_to_bottom"), (RODDED, "rod_at_bottom", "rod")],
    ids=["string", "rod"],
)
def test_every_paper_shows_the_mark_of_the_trench(
    take, planned, client, body: dict[str, Any], way: str, by: str
) -> None:
    answer = planned(body)
    assert answer["answer"]["verdict"] == "yes"
    marks = {s["at"]: s["marks"] for s in answer["stations"]}
    assert way == "rod_at_bottom" or answer["marks"]["step"] == 0.125
    sheet = unescape(take("dig-sheet.html", body, tags=True).data.decode())
    cells = re.findall(r"<t[dh][^>]*>\s*([^<]*?)\s*</t[dh]>", sheet)
    for own in marks.values():
        assert own[way] in cells
        assert own["dig_depth"] in cells
        assert f"{own[way]} " in sheet[sheet.index('class="tag"') :]
    column = "rod_mark_ft" if by == "rod" else "line_mark_in"
    rows = list(csv.DictReader(io.StringIO(take("stations.csv", body).data.decode("utf-8-sig"))))
    for row, own in zip(rows, marks.values(), strict=True):
        assert float(row[column]) == decimal(own[way])
        assert float(row["dig_mark_in"]) == decimal(own["dig_depth"])
    checked = client.post("/api/v1/grade-check", json={"plan": body, "as_dug": []}).json
    for wanted in checked["to_read"]:
        unit = "ft" if by == "rod" else "in"
        assert wanted["marks"][by] == f"{marks[wanted['at']][way]} {unit}"
        assert wanted["marks"][by] in wanted["sentence"]
    assert json.dumps(answer["marks"]["notes"]) == "[]"
