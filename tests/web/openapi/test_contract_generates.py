"""The contract holds all that a client is generated from, rule by rule over the whole document."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

import jsonschema_rs
import pytest
from closed import CONTRACT as CONTRACT_PATH
from closed import closed, committed
from openapi_spec_validator import validate
from recorded import record

from yardfall.app import load_demo
from yardfall.web.openapi.finish import MOMENTS, at, references
from yardfall.web.openapi.words.names_of_values import CLOSED, OPEN

CONTRACT = committed()
PARTS = CONTRACT["components"]
SCHEMAS = PARTS["schemas"]
METHODS = ("get", "put", "post", "delete")
CALLS = {
    call["operationId"]: (method, path, call)
    for path, calls in CONTRACT["paths"].items()
    for method, call in calls.items()
    if method in METHODS
}
IDS = """
archiveJob checkFlow checkGrade checkGradeOfJob checkPipe comparePlans copyJob createJob deleteJob
deleteRaster deleteSitePlan exportKept getCrewLink getGradeCheck getGround getHealth getJob
getJobDigSheetHtml getJobDigSheetPdf getJobMapHtml getJobPlanGeojson getJobPlanGpkg
getJobProfileSvg getJobStationsCsv getLot getPageSettings getRaster getRasterRelief getRevision
getSitePlan getSitePlanPicture getSourceRelief importKept keepGradeCheck keepSourceWindow
listCrewLinks listGradeChecks listJobs listPipes listRasters listRevisions listSitePlans listSources
makeCrewLink
makePaper placeSitePlan planDrain readProfile saveJob searchYard uploadRaster uploadSitePlan
withdrawCrewLink
"""
"""Within v1 none of these may go or change: they are the names of functions in callers' code."""
RECORDED = "service/yardfall/web/openapi/recorded.json"
JSON = "application/json"


def resolved(part: dict[str, Any]) -> dict[str, Any]:
    while "$ref" in part:
        part = at(CONTRACT, part["$ref"])
    return part


def fields(part: Any, path: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every property at any depth of a schema, with where it stands."""
    if isinstance(part, list):
        for inner in part:
            yield from fields(inner, path)
    elif isinstance(part, dict):
        for name, inner in part.get("properties", {}).items():
            yield f"{path}/{name}", inner
            yield from fields(inner, f"{path}/{name}")
        for key in part.keys() - {"properties"}:
            yield from fields(part[key], path)


FIELDS = {where: field for name, schema in SCHEMAS.items() for where, field in fields(schema, name)}


def said(field: dict[str, Any]) -> bool:
    """Whether a field says what it is, or what it refers to does."""
    forms = [one for word in ("anyOf", "oneOf") for one in field.get(word, [])]
    told = [field, *([resolved(field)] if "$ref" in field else []), *map(resolved, forms)]
    return any(one.get("description") for one in told)


def test_it_is_valid() -> None:
    validate(CONTRACT)


def test_the_ids_of_calls_stay() -> None:
    assert set(IDS.split()) - CALLS.keys() == set()
    assert CALLS.keys() - set(IDS.split()) == set(), "name the new call above: its id stays"


@pytest.mark.parametrize("name", CALLS)
def test_a_call_says_what_it_is(name: str) -> None:
    method, path, call = CALLS[name]
    assert call["tags"]
    assert set(call["tags"]) <= {tag["name"] for tag in CONTRACT["tags"] if tag["description"]}
    assert 10 < len(call["summary"]) <= 110
    assert "\n" not in call["summary"]
    parameters = [*call.get("parameters", []), *CONTRACT["paths"][path].get("parameters", [])]
    for parameter in map(resolved, parameters):
        assert parameter["description"], parameter
    known = {p["name"] for p in map(resolved, parameters) if p["in"] == "path"}
    assert known == set(re.findall(r"{(\w+)}", path))
    for status, response in call["responses"].items():
        told = resolved(response)
        assert told["description"]
        assert ("X-Request-Id" in told["headers"]) or status == "default", status
        if status in ("429", "503"):
            assert "Retry-After" in told["headers"]
        if status == "201":
            assert {"Location", "RateLimit", "RateLimit-Policy"} <= told["headers"].keys()
    if method == "get" and path not in ("/api/v1/health", "/api/v1/export"):
        assert "ETag" in call["responses"]["200"]["headers"]
        assert "304" in call["responses"]


@pytest.mark.parametrize("name", CALLS)
def test_a_call_has_examples(name: str) -> None:
    _, _, call = CALLS[name]
    contents = [call["requestBody"]["content"]] if "requestBody" in call else []
    contents += [
        r["content"] for s, r in call["responses"].items() if s[0] == "2" and "content" in r
    ]
    for content in contents:
        if JSON in content:
            assert content[JSON]["examples"], content


@pytest.mark.parametrize("name", CALLS)
def test_an_example_keeps_to_its_schema(name: str) -> None:
    _, _, call = CALLS[name]
    answers = [r for s, r in call["responses"].items() if s[0] == "2"]
    document = closed()
    shown = 0
    for part in [call.get("requestBody", {}), *answers]:
        content = part.get("content", {}).get(JSON)
        for example in ({} if content is None else content["examples"]).values():
            whole = {**content["schema"], "components": document["components"]}
            jsonschema_rs.validate(whole, resolved(example)["value"])
            shown += 1
    assert shown or not any(JSON in part.get("content", {}) for part in answers)


def test_the_examples_are_what_is_answered(app) -> None:
    """Their form: figures differ in their last digits from one machine to another."""
    load_demo(app.extensions["rasters"])
    fresh = record(app)
    kept = json.loads((CONTRACT_PATH.parents[1] / RECORDED).read_text("utf-8"))
    assert fresh["calls"] == kept["calls"], "python tests/sent/recorded.py writes them anew"
    for name, one in fresh["examples"].items():
        assert form_of(one["value"]) == form_of(kept["examples"][name]["value"]), name


def form_of(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: form_of(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [form_of(inner) for inner in value[:3]]
    return type(value).__name__.replace("int", "float")


def test_every_field_and_schema_says_what_it_is() -> None:
    assert len(FIELDS) > 1200
    assert [where for where, field in FIELDS.items() if not said(field)] == []
    assert [name for name, schema in SCHEMAS.items() if not schema.get("description")] == []


def test_a_field_that_says_nothing_is_caught() -> None:
    assert not said({"type": "string"})
    assert said({"$ref": "#/components/schemas/Marks"})


def test_files_are_named_by_their_media_type_alone() -> None:
    files = 0
    for _, _, call in CALLS.values():
        for response in call["responses"].values():
            for kind, content in resolved(response).get("content", {}).items():
                files += not kind.endswith("json")
                assert (content == {}) == (not kind.endswith("json")), kind
    assert files >= 12


def test_an_upload_is_a_binary_part() -> None:
    uploads = [
        content["multipart/form-data"]["schema"]
        for _, _, call in CALLS.values()
        if "multipart/form-data" in (content := call.get("requestBody", {}).get("content", {}))
    ]
    assert len(uploads) == 3
    for schema in map(resolved, uploads):
        file = schema["properties"]["file"]
        assert (file["type"], file["format"]) == ("string", "binary")
        assert file["contentMediaType"]


def test_a_job_holds_the_plans_own_schemas() -> None:
    for name in ("Job", "Revision"):
        held = SCHEMAS[name]["properties"]
        assert {"$ref": "#/components/schemas/PlanBody"} in held["request"]["anyOf"]
        assert {"$ref": "#/components/schemas/TreeAnswer"} in held["answer"]["anyOf"]
    held = SCHEMAS["KeptCheck"]["properties"]
    assert held["answer"]["$ref"].endswith("/GradeCheckAnswer")
    assert held["request"]["$ref"].endswith("/TrenchBody")
    assert SCHEMAS["JobBody"]["properties"]["request"]["anyOf"][0]["$ref"].endswith("/PlanBody")


def test_no_object_is_left_without_a_form() -> None:
    """Two are open on purpose: what a client's own form held, and the patches."""
    bare = [
        where
        for where, field in FIELDS.items()
        if "object" in str(field.get("type")) and "properties" not in field
    ]
    assert {where.rpartition("/")[2] for where in bare} == {"form"}


def test_geojson_has_its_schemas() -> None:
    for name in ("within", "avoid", "targets"):
        forms = SCHEMAS["ReachBody"]["properties"][name]
        assert forms["discriminator"]["propertyName"] == "type"
        assert {"Polygon", "Feature", "FeatureCollection"} <= forms["discriminator"][
            "mapping"
        ].keys()
    position = SCHEMAS["Position"]
    assert (position["minItems"], position["items"]) == (2, {"type": "number"})
    ring = SCHEMAS["GeoJsonPolygon"]["properties"]["coordinates"]["items"]
    assert (ring["minItems"], ring["items"]["$ref"]) == (4, "#/components/schemas/Position")


def unions(part: Any) -> Iterator[dict[str, Any]]:
    if isinstance(part, list):
        for inner in part:
            yield from unions(inner)
    elif isinstance(part, dict):
        if "oneOf" in part:
            yield part
        for key in part.keys() - {"value"}:
            yield from unions(part[key])


def test_a_union_says_how_its_forms_are_told_apart() -> None:
    """By a discriminator; or each form is closed and needs a field that none of the others takes
    in its place: OpenAPI has no discriminator for these."""
    found = list(unions(CONTRACT))
    assert len(found) > 30
    for union in found:
        forms = [resolved(form) for form in union["oneOf"]]
        if "discriminator" in union:
            told = union["discriminator"]["propertyName"]
            values = [form["properties"][told]["const"] for form in forms]
            assert values == list(union["discriminator"]["mapping"])
            assert all(told in form["required"] for form in forms)
            continue
        assert all(form["additionalProperties"] is False for form in forms)
        for form in forms:
            others = [other for other in forms if other is not form]
            assert all(
                set(form["required"]) - other["properties"].keys()
                or set(other["required"]) - form["properties"].keys()
                for other in others
            )


def test_words_have_names() -> None:
    bare = [where for where, field in FIELDS.items() if len(field.get("enum", [])) > 1]
    assert bare == [], "name them in web/openapi/words/names_of_values.py"
    named = {name for name, schema in SCHEMAS.items() if "enum" in schema}
    assert named <= CLOSED.keys() | OPEN.keys()
    told = ("verdict", "overall", "code", "kind", "kinds", "change", "limit", "limits")
    for where, field in FIELDS.items():
        measured = "number" in str(field.get("type"))
        if where.rpartition("/")[2] in told and not measured and "const" not in field:
            assert any("/schemas/" in one for one in references(field)), where


def test_moments_are_told_to_be_such() -> None:
    found = [
        where for where in FIELDS if where.rpartition("/")[2].endswith("_at") and "$" not in where
    ]
    moments = [where for where in found if where.rpartition("/")[2] in MOMENTS]
    assert len(moments) >= 15
    assert all(FIELDS[where]["format"] == "date-time" for where in moments)
    assert {where.rpartition("/")[2] for where in found} - set(MOMENTS) == {
        *("from_at", "to_at", "joins_at", "deepest_at"),
    }, "stations"


def test_no_default_makes_a_field_one_that_must_be_sent() -> None:
    assert [where for where, field in FIELDS.items() if "default" in field] == []


def test_answers_are_open_and_requests_strict() -> None:
    sent = {
        reference.rpartition("/")[2]
        for _, _, call in CALLS.values()
        for reference in below(call.get("requestBody", {}))
    }
    for name, schema in SCHEMAS.items():
        if name.endswith("Body") and name != "ProblemBody":
            assert name in sent
            assert schema["additionalProperties"] is False, name
        if name not in sent:
            assert schema.get("additionalProperties") is not False, name


def below(part: Any) -> set[str]:
    found: set[str] = set()
    waiting = [*references(part)]
    while waiting:
        one = waiting.pop()
        if one not in found:
            found.add(one)
            waiting += references(at(CONTRACT, one))
    return found


def test_nothing_is_there_that_nothing_uses() -> None:
    used = below(CONTRACT["paths"])
    every = {f"#/components/{kind}/{name}" for kind, parts in PARTS.items() for name in parts}
    assert every - used == {f"#/components/securitySchemes/{name}" for name in ("basic", "bearer")}
