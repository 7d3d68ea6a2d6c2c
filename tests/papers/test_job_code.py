"""The code on a kept job's dig sheet, read off the paper by zxing-cpp, an independent reader.

ISO/IEC 18004 asks for four white modules around a code; a phone's camera reads 0.4 mm a module
from a hand's breadth away (common practice, no source).
"""

from __future__ import annotations

import re
from pathlib import Path

import pypdfium2 as pdfium
import pytest
import zxingcpp
from flask.testing import FlaskClient

from yardfall.app import Settings, create_app
from yardfall.papers.dig_sheet.page import CODE_PT
from yardfall.papers.drawing.qr_code import QUIET, qr_code
from yardfall.web.page.public_url import MOST

JOBS = "/api/v1/jobs"
URL = "https://yard.example.org"
DPI = 150
PT_MM = 25.4 / 72
LEAST_MM = 0.4


@pytest.fixture
def reached(tmp_path: Path) -> FlaskClient:
    """A planner that others reach at an address."""
    return create_app(Settings(tmp_path / "reached", public_url=URL)).test_client()


def kept(client: FlaskClient, request: dict, name: str = "Elm St 4") -> str:
    return client.post(JOBS, json={"name": name, "request": request}).json["id"]


def codes(pdf: bytes, page: int = 0) -> list[str]:
    """What the codes on a page say, printed at 150 dots an inch."""
    document = pdfium.PdfDocument(pdf)
    try:
        picture = document[page].render(scale=DPI / 72).to_pil().convert("L")
    finally:
        document.close()
    return [code.text for code in zxingcpp.read_barcodes(picture)]


def test_the_sheet_of_a_kept_job_opens_its_revision(reached, yard_request) -> None:
    job = kept(reached, yard_request)
    address = f"{URL}/crew#job={job}&revision={{}}&in-the-trench"
    assert codes(reached.get(f"{JOBS}/{job}/dig-sheet.pdf").data) == [address.format(1)]
    reached.put(
        f"{JOBS}/{job}", json={"name": "b", "request": yard_request}, headers={"If-Match": "*"}
    )
    assert codes(reached.get(f"{JOBS}/{job}/dig-sheet.pdf").data) == [address.format(2)]
    older = reached.get(f"{JOBS}/{job}/dig-sheet.pdf?revision=1").data
    assert codes(older) == [address.format(1)]
    text = pdfium.PdfDocument(older)[0].get_textpage().get_text_range()
    assert "Revision 1. Scan the square" in " ".join(text.split())
    page = reached.get(f"{JOBS}/{job}/dig-sheet.html").get_data(as_text=True)
    assert page.count('class="code"') == 1
    assert "Revision 2. Scan the square" in page


@pytest.mark.parametrize("name", ["Elm St 4", "A name so long that it " + "wraps and wraps " * 9])
@pytest.mark.parametrize("size", ["letter", "a4"])
def test_it_reads_on_every_page_size_and_beside_any_name(reached, yard_request, name, size) -> None:
    job = kept(reached, yard_request, name)
    found = codes(reached.get(f"{JOBS}/{job}/dig-sheet.pdf?page={size}&place={'x' * 90}").data)
    assert len(found) == 1


def test_there_is_none_where_nobody_said_how_it_is_reached(client, take, yard_request) -> None:
    job = kept(client, yard_request)
    assert codes(client.get(f"{JOBS}/{job}/dig-sheet.pdf").data) == []
    assert 'class="code"' not in client.get(f"{JOBS}/{job}/dig-sheet.html").get_data(as_text=True)


def test_a_plan_that_no_job_keeps_has_no_address(reached, yard_request) -> None:
    answer = reached.post("/api/v1/papers/dig-sheet.pdf", json=yard_request)
    assert (answer.status_code, codes(answer.data)) == (200, [])


def test_no_key_is_ever_on_the_sheet(reached, yard_request) -> None:
    """Paper is left lying about: who scans it needs a link or a key of their own."""
    job = kept(reached, yard_request)
    link = reached.post(f"{JOBS}/{job}/crew-links", json={"name": "crew"}).json
    sent = {"Authorization": f"Bearer {link['key']}"}
    (code,) = codes(reached.get(f"{JOBS}/{job}/dig-sheet.pdf", headers=sent).data)
    assert not re.search("crew_|crew=", code)


def test_a_module_is_large_enough_with_four_white_ones_around() -> None:
    longest = f"{URL}/crew#job={'a' * 32}&revision=1234&in-the-trench"
    drawing = qr_code(longest, CODE_PT, "about")
    left, _ = drawing.marks[0].points[0]
    step = left / QUIET
    assert step * PT_MM >= LEAST_MM
    places = [place for mark in drawing.marks for point in mark.points for place in point]
    assert min(places) == pytest.approx(QUIET * step)
    assert max(places) == pytest.approx(CODE_PT - QUIET * step)
    assert qr_code("x" * (MOST + 80), CODE_PT, "about").marks, "the longest address has a code"
