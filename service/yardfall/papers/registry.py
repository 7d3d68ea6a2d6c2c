"""Every paper by its name: what makes it, and what kind of file it is."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from yardfall.core.errors import NotFoundError
from yardfall.papers.dig_sheet.page import dig_sheet_page
from yardfall.papers.dig_sheet.pdf import dig_sheet_pdf
from yardfall.papers.drawing.profile_drawing import all_profiles
from yardfall.papers.drawing.svg import to_svg
from yardfall.papers.map.layers import plan_geojson, plan_gpkg
from yardfall.papers.map.page import map_page
from yardfall.papers.model import Job
from yardfall.papers.station_file import stations_csv

PROFILE_WIDE_PT: Final = 720.0
PROFILE_HIGH_PT: Final = 240.0
LONGEST_TITLE: Final = 60
"""Characters of a title that a file's name takes."""


@dataclass(frozen=True)
class Kind:
    """A kind of paper: its media type, and what makes its bytes and its policy of a job."""

    media_type: str
    make: Callable[[Job], tuple[bytes, str | None]]


@dataclass(frozen=True)
class Paper:
    """A finished file: its name carries the job's title. `policy` is the content security policy
    it is served under."""

    name: str
    media_type: str
    content: bytes
    policy: str | None = None


def make_paper(name: str, job: Job) -> Paper:
    """The paper of that name. Raises InputError where this plan cannot have it."""
    kind = PAPERS[name]
    content, policy = kind.make(job)
    return Paper(file_name(job.title.title, name), kind.media_type, content, policy)


def file_name(title: str, paper: str) -> str:
    """A paper's name with its job's title before it, in letters, digits and hyphens.

    "14 Elm St.: back yard" makes "14-Elm-St-back-yard-dig-sheet.pdf".
    """
    words = re.findall(r"[^\W_]+", unicodedata.normalize("NFC", title))
    titled = "-".join(words)[:LONGEST_TITLE].rstrip("-")
    return f"{titled}-{paper}" if titled else paper


def require_paper(name: str) -> None:
    """Raises NotFoundError for a name that is no paper."""
    if name not in PAPERS:
        raise NotFoundError(f"There is no paper of that name. There are {', '.join(PAPERS)}.")


def _page(job: Job) -> tuple[bytes, str]:
    html, policy = dig_sheet_page(job)
    return html.encode("utf-8"), policy


def _map(job: Job) -> tuple[bytes, str]:
    html, policy = map_page(job)
    return html.encode("utf-8"), policy


def _geojson(job: Job) -> bytes:
    return json.dumps(plan_geojson(job), ensure_ascii=False, indent=1).encode("utf-8")


def _profile(job: Job) -> bytes:
    drawing = all_profiles(job, PROFILE_WIDE_PT, PROFILE_HIGH_PT)
    return to_svg(drawing, standalone=True).encode("utf-8")


def _alone(make: Callable[[Job], bytes]) -> Callable[[Job], tuple[bytes, None]]:
    return lambda job: (make(job), None)


PAPERS: Final[dict[str, Kind]] = {
    "dig-sheet.html": Kind("text/html", _page),
    "dig-sheet.pdf": Kind("application/pdf", _alone(dig_sheet_pdf)),
    "map.html": Kind("text/html", _map),
    "stations.csv": Kind("text/csv", _alone(stations_csv)),
    "plan.geojson": Kind("application/geo+json", _alone(_geojson)),
    "plan.gpkg": Kind("application/geopackage+sqlite3", _alone(plan_gpkg)),
    "profile.svg": Kind("image/svg+xml", _alone(_profile)),
}
