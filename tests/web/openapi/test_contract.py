"""The committed contract is the code's, and every call keeps to it under generated input."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import schemathesis
from called import called_from_here
from closed import closed
from flask import Flask
from schemathesis.config import SchemathesisConfig

from yardfall.app import Settings, create_app

CONTRACT = Path(__file__).resolve().parents[3] / "openapi" / "openapi.json"

# All default checks run. The one deviation: `positive_data_acceptance` also takes 422 from these
# calls, because JSON Schema cannot say that ground must reach the end of the route, that bytes are
# a raster, a picture or an export, or that a pipe is wider outside than inside.
# tests/web/openapi/test_random_requests.py holds them to 200 on requests that can be computed.
MAY_REFUSE = ("plan", "papers/{name}", "profile", "rasters", "flow", "site-plans", "reach")
MAY_REFUSE += ("grade-check", "compare", "pipe-check", "jobs", "imports")
LARGE = ("plan", "reach", "papers/{name}", "grade-check", "compare")
TAKES_422 = {"positive_data_acceptance": {"expected-statuses": ["2xx", "422"]}}
# No schema says that a place is lon and lat, or else x, y and crs, which EPSG numbers are of a
# projected system that reaches a place, nor that north is the greater latitude; and there is no
# source under a made-up name.
OF_SOURCES = {"positive_data_acceptance": {"expected-statuses": ["2xx", "304", "404", "422"]}}
# There is no job under a made-up id, and no schema says which letters can be seen.
# An ETag is asked for by 428, not by the schema, so that its sentence says what to do.
NEEDS_AN_ETAG = {
    "positive_data_acceptance": {"expected-statuses": ["2xx", "404", "412", "422", "428"]}
}
# A plan and a reach have so many fields that a boundary value in each takes a minute, and with the
# other fields at theirs hardly one can be computed. tests/web/http/test_strictness.py tries wrong
# values in each field of a plan.
NO_BOUNDARIES = {"coverage": {"enabled": False}}
CONFIG = {
    "generation": {"deterministic": True, "max-examples": 40},
    "operations": [
        {"include-name": f"POST /api/v1/{name}", "checks": TAKES_422} for name in MAY_REFUSE
    ]
    + [
        {"include-name": name, "checks": OF_SOURCES}
        for name in (
            "GET /api/v1/ground",
            "GET /api/v1/lots",
            "POST /api/v1/sources/{name}/windows",
            "GET /api/v1/sources/{name}/relief.png",
        )
    ]
    + [{"include-name": f"POST /api/v1/{name}", "phases": NO_BOUNDARIES} for name in LARGE]
    # These take whole plans; the fuzzing of /plan has tried what stands in one, and every paper is
    # opened in tests/papers.
    + [
        {"include-name": f"POST /api/v1/{name}", "generation": {"max-examples": most}}
        for name, most in (("grade-check", 8), ("compare", 8), ("papers/{name}", 6))
    ]
    + [
        {"include-name": f"{call} /api/v1/jobs/{{id}}{rest}", "checks": NEEDS_AN_ETAG}
        for call, rest in (
            ("PUT", ""),
            ("DELETE", ""),
            ("POST", "/copies"),
            ("POST", "/grade-checks"),
            ("POST", "/grade-check"),
            ("POST", "/crew-links"),
        )
    ],
}
contract = schemathesis.openapi.from_dict(closed(), config=SchemathesisConfig.from_dict(CONFIG))


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Flask:
    """One application for all generated calls."""
    return called_from_here(create_app(Settings(tmp_path_factory.mktemp("served"))))


def test_the_committed_contract_is_the_codes(client) -> None:
    committed = json.loads(CONTRACT.read_text("utf-8"))
    assert committed == client.get("/api/v1/openapi.json").json, (
        "openapi/openapi.json is not what the code generates. Write it anew:\n"
        "    yardfall contract > openapi/openapi.json"
    )


def test_the_contract_is_of_the_stated_version() -> None:
    document = json.loads(CONTRACT.read_text("utf-8"))
    assert document["openapi"] == "3.1.0"
    described = [o for path in document["paths"].values() for o in path.values() if "tags" in o]
    assert len(described) == len(list(contract.get_all_operations()))
    assert all(operation["summary"] for operation in described)


@contract.parametrize()
def test_every_call_keeps_to_the_contract(case: schemathesis.Case, served: Flask) -> None:
    # Called without a network it unpacks nothing, and would say that it takes gzip.
    case.call_and_validate(app=served, headers={"Accept-Encoding": "identity"})
