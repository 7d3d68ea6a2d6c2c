"""How a body is read: JSON in UTF-8 up to a size, each name once, every text a text."""

from __future__ import annotations

import json

import pytest

from yardfall.web.http.parsing import MAX_JSON_BYTES

NO_JSON = {
    "empty": b"",
    "cut short": b'{"units": "us"',
    "no UTF-8": b'{"units": "\xff"}',
    "UTF-16": json.dumps({"units": "us"}).encode("utf-16"),
    "nested a hundred thousand deep": b"[" * 100_000,
    "nested deep and closed": b"[" * 50_000 + b"]" * 50_000,
    "a byte order mark": b'\xef\xbb\xbf{"units": "us"}',
    "a name twice": b'{"units": "us", "units": "si"}',
    "a name twice, deep": b'{"route": {"length": 1, "length": 2}}',
    "a name twice, once escaped": b'{"units": "us", "\\u0075nits": "si"}',
    "a name twice behind 300,000": b'{%s, "299999": 1}'
    % b", ".join(b'"%d": 1' % i for i in range(300_000)),
    "a number of 5,000 digits": b'{"units": ' + b"7" * 5000 + b"}",
}


@pytest.mark.parametrize("path", ["/plan", "/profile"])
@pytest.mark.parametrize("body", NO_JSON.values(), ids=NO_JSON)
def test_a_body_that_is_not_json(path: str, body: bytes, refused) -> None:
    assert "JSON" in refused(path, 400, data=body, content_type="application/json")["detail"]


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"", "empty"),
        (b'\xef\xbb\xbf{"units": "us"}', "byte order mark. Leave it out"),
        (b'{"units": }', "a value is missing at line 1, column 11"),
        (b'{"units":\n "us" "route": 1}', "a comma or a closing bracket is missing at line 2"),
        (b"{'units': 1}", "a name in double quotes is missing"),
        (b"{} {}", "something follows the end"),
        (b'{"units": "us}', "a text begins that does not end"),
        (b'{"units": "\n"}', "a line break"),
        (b'{"units": "us", "route": {}, "units": "si"}', "'units' stands twice"),
        (b'{"\\ud800": 1, "\\ud800": 1}', "'\\ud800' stands twice"),
    ],
)
def test_what_is_no_json_is_told_plainly(body: bytes, words: str, refused) -> None:
    told = refused("/plan", 400, data=body, content_type="application/json")["detail"]
    assert words in told
    assert not any(jargon in told for jargon in ("utf-8-sig", "char ", "Expecting", "delimiter"))


HALVES = [
    ("/plan", "/prices/currency"),
    ("/plan", "/crossings/0/what"),
    ("/plan", "/inflows/0/name"),
    ("/plan", "/ground/readings/1/line"),
    ("/plan", "/branches/0/name"),
    ("/plan", "/paper/title"),
    ("/profile", "/ground/benchmark/name"),
    ("/compare", "/plans/1/name"),
    ("/grade-check", "/as_dug/0/line"),
    ("/reach", "/ground/raster"),
    ("/flow", "/inflows/0/name"),
    ("/jobs", "/name"),
    ("/jobs", "/form/typed/0"),
]


@pytest.mark.parametrize(("path", "pointer"), HALVES)
@pytest.mark.parametrize("half", ["\\ud800", "x\\uDFFF", "\\uDbff\\ud83d\\ude00"])
def test_half_of_a_character_is_refused_where_it_stands(
    path: str, pointer: str, half: str, refused
) -> None:
    body: object = "@"
    for step in reversed(pointer.split("/")[1:]):
        body = [{}] * int(step) + [body] if step.isdigit() else {step: body}
    text = json.dumps(body).replace("@", half)
    answer = refused(path, data=text, content_type="application/json")
    assert [error["pointer"] for error in answer["errors"]] == [pointer]
    assert "half of a character" in answer["detail"]


def test_half_of_a_character_in_a_name_is_refused_too(refused) -> None:
    (error,) = refused("/plan", data=b'{"a": {"\\udc00": 1}}', content_type="application/json")[
        "errors"
    ]
    assert error["pointer"] == "/a"


def test_whole_characters_are_taken_however_they_are_written(changed, plan) -> None:
    body = json.dumps(changed("/prices", {"currency": "@"}))
    for text in ("\\ud83d\\ude00", "😀", "\\\\ud800"):  # the last is a backslash and letters
        answer = plan(json.loads(body.replace("@", text)))
        assert answer["quantities"]["cost"]["currency"] == json.loads(f'"{text}"')


def test_a_call_with_a_body_takes_no_query(yard_request, client) -> None:
    answer = client.post("/api/v1/plan?units=us&page=1", json=yard_request)
    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.json["errors"]] == ["/units", "/page"]
    assert "into the body" in answer.json["detail"]
    assert client.post("/api/v1/plan?", json=yard_request).status_code == 200


@pytest.mark.parametrize("body", ["null", "[]", "[{}]", '"us"', "5", "true"])
def test_a_body_that_is_no_object(body: str, refused) -> None:
    answer = refused("/plan", data=body, content_type="application/json")
    (error,) = answer["errors"]
    assert error == {"pointer": "", "detail": "This must be an object.", "code": "wrong_type"}


def test_a_body_too_large(refused) -> None:
    body = b'{"units": "' + b"u" * MAX_JSON_BYTES + b'"}'
    assert (
        "over 4 MiB" in refused("/plan", 413, data=body, content_type="application/json")["detail"]
    )


def test_a_file_or_a_part_too_large_names_what_is(refused, client, monkeypatch) -> None:
    def detail(disposition: str, size: int) -> str:
        head = f"--a\r\nContent-Disposition: form-data; {disposition}\r\n\r\n"
        body = head.encode() + bytes(size) + b"\r\n--a--\r\n"
        kind = "multipart/form-data; boundary=a"
        return refused("/rasters", 413, data=body, content_type=kind)["detail"]

    assert "beside the file" in detail('name="x"', 600_000)
    monkeypatch.setitem(client.application.config, "MAX_CONTENT_LENGTH", 2 << 20)
    assert "over 2 MiB" in detail('name="file"; filename="a.tif"', 3 << 20)
