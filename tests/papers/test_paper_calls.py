"""POST /papers/<name>: what is made, what is refused and why, and `yardfall plan --paper`."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from yardfall.cli.main import main
from yardfall.core.errors import InputError
from yardfall.papers.registry import PAPERS
from yardfall.use_cases import papers


@pytest.mark.parametrize("name", sorted(PAPERS))
def test_every_paper_of_a_drawn_line_is_made(take, drawn_request, name) -> None:
    answer = take(name, drawn_request, title="A job")
    assert answer.mimetype == PAPERS[name].media_type
    assert answer.headers["Content-Disposition"] == f'attachment; filename="A-job-{name}"'
    starts = {
        ".pdf": b"%PDF-",
        ".html": b"<!doctype html>",
        ".csv": b"\xef\xbb\xbf",
        ".gpkg": b"SQLite format 3\0",
        ".svg": b"<?xml",
        ".geojson": b"{",
    }
    assert answer.data.lower().startswith(starts[Path(name).suffix].lower())


@pytest.mark.parametrize(
    ("title", "named"),
    [
        ("...", 'filename="profile.svg"'),
        ("14 Elm St.: back/../yard", 'filename="14-Elm-St-back-yard-profile.svg"'),
        # RFC 8187: 5 Müller's letter ü is C3 BC in UTF-8
        ("5 Müller", "filename*=UTF-8''5-M%C3%BCller-profile.svg"),
        ('"; filename="x.exe', 'filename="filename-x-exe-profile.svg"'),
        ("x" * 200, f'filename="{"x" * 60}-profile.svg"'),
    ],
)
def test_a_file_is_named_by_its_job_and_by_nothing_else(take, yard_request, title, named) -> None:
    told = take("profile.svg", yard_request, title=title).headers["Content-Disposition"]
    assert named in told.split("; ")
    assert told.count("filename=") == 1


def test_a_taped_run_has_no_map_and_is_told_why(client, yard_request) -> None:
    answer = client.post("/api/v1/papers/map.html", json=yard_request)
    assert (answer.status_code, answer.mimetype) == (422, "application/problem+json")
    (error,) = answer.json["errors"]
    assert error["pointer"] == "/route"
    assert "taped length" in error["detail"]


@pytest.mark.parametrize(
    ("crs", "line", "up"),
    [
        ("OGC:CRS84", [[-93.0, 42.5], [-92.9998, 42.5]], "North is up"),
        ("EPSG:26915", [[500000, 4705400], [500016.43, 4705400]], "Grid north is up"),
        ("local", [[5000, 5000], [5053.9, 5000]], "Y of the site plan is up"),
    ],
)
def test_a_map_in_each_system_starts_at_zero_and_is_in_metres(
    client, take, yard_request, crs, line, up
) -> None:
    """Each line runs 16.43 m due east: 1/5,000 degree of longitude at 42.5 N is 16.43 m."""
    request = yard_request | {
        "route": {"line": {"type": "LineString", "coordinates": line}, "crs": crs},
        "ground": {
            "kind": "elevations",
            "points": [{"at": 0, "elevation": 100}, {"at": 60, "elevation": 98}],
        },
    }
    page = take("map.html", request).get_data(as_text=True)
    assert up in page
    (first, *_, last) = json.loads(re.search(r"L\.polyline\(\s*(\[\[.*?\]\])", page).group(1))
    assert first == pytest.approx([0, 0], abs=1e-6)
    assert last == pytest.approx([0, 16.43], abs=0.02)


def test_lines_without_a_place_are_left_off_the_map_alone(take, drawn_request) -> None:
    branch = drawn_request["branches"][0]
    branch |= {
        "route": {"length": 40},
        "ground": {
            "kind": "elevations",
            "points": [{"at": 0, "elevation": 981}, {"at": 40, "elevation": 981}],
        },
    }
    page = take("map.html", drawn_request).get_data(as_text=True)
    assert page.count("L.polyline(\n") == 2, "one line, drawn with its edge"
    assert "<h2>East wing</h2>" in page
    assert b"East wing" in take("plan.gpkg", drawn_request).data


def test_another_name_is_404_and_lists_the_papers(client, yard_request) -> None:
    answer = client.post("/api/v1/papers/plan.dwg", json=yard_request)
    assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")
    assert all(name in answer.json["detail"] for name in PAPERS)


@pytest.mark.parametrize(
    ("paper", "pointer"),
    [
        ({"page": "legal"}, "/paper/page"),
        ({"title": "x" * 201}, "/paper/title"),
        ({"titel": "x"}, "/paper/titel"),
        ({"title": 5}, "/paper/title"),
        ("x", "/paper"),
    ],
)
def test_a_wrong_title_block_is_refused_where_it_is(client, yard_request, paper, pointer) -> None:
    answer = client.post("/api/v1/papers/dig-sheet.pdf", json=yard_request | {"paper": paper})
    assert answer.status_code == 422
    assert [e["pointer"] for e in answer.json["errors"]] == [pointer]


def test_a_plan_that_cannot_be_computed_has_no_paper(client, changed) -> None:
    answer = client.post("/api/v1/papers/dig-sheet.html", json=changed("/route/length", 60))
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == "/ground"


@pytest.mark.parametrize("name", sorted(set(PAPERS) - {"map.html"}))
def test_text_that_no_file_can_hold_is_harmless(client, yard_request, name) -> None:
    title = "\x00 \x1b[31m \u202e \r\n end"
    body = json.dumps(yard_request | {"paper": {"title": title}})
    answer = client.post(f"/api/v1/papers/{name}", data=body, content_type="application/json")
    assert answer.status_code == 200, answer.get_data(as_text=True)
    for bad in (b"\x1b[31m", "\u202e".encode()):
        assert bad not in answer.data


def test_half_a_character_is_refused_where_it_stands(client, yard_request) -> None:
    body = json.dumps(yard_request | {"paper": {"title": "\ud800"}})
    answer = client.post(
        "/api/v1/papers/dig-sheet.html", data=body, content_type="application/json"
    )
    assert answer.status_code == 422
    assert [e["pointer"] for e in answer.json["errors"]] == ["/paper/title"]


def test_a_raster_deleted_since_takes_only_the_relief_along(client, planned, drawn_request) -> None:
    answer = planned(drawn_request)
    stores = [client.application.extensions[name] for name in ("rasters", "site_plans")]

    def page(**options: bool) -> str:
        made = papers.paper("map.html", drawn_request, answer, *stores, **options)
        return made.content.decode()

    before = page()
    stores[0].delete(drawn_request["ground"]["raster"])
    after = page(gone_is_told=True)
    # The map library brings three small pictures of its own; the relief is the JavaScript's.
    assert "L.imageOverlay(\n" in before
    assert "L.imageOverlay(\n" not in after
    assert "is not kept any more" in after
    assert "is not kept any more" not in before
    with pytest.raises(InputError):
        page()


def test_the_command_line_writes_a_paper(tmp_path, capsys) -> None:
    example = Path(__file__).resolve().parents[2] / "openapi" / "examples" / "level_line.json"
    out = tmp_path / "sheet.pdf"
    arguments = ["plan", str(example), "--data", str(tmp_path / "data"), "--paper"]
    assert main([*arguments, "dig-sheet.pdf", "-o", str(out)]) == 0
    assert out.read_bytes().startswith(b"%PDF-")
    assert main([*arguments, "map.html", "-o", str(out)]) == 2
    assert "taped length" in capsys.readouterr().err
    assert main([*arguments, "dig-sheet.pdf", "-o", str(tmp_path)]) == 2
