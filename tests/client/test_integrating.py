"""Every request and answer on the page for integrators, against a live planner."""

from __future__ import annotations

import json
import re
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

import pytest

from yardfall.client import BASE, Planner, Refused

PAGE = (Path(__file__).resolve().parents[2] / "openapi" / "INTEGRATING.md").read_text("utf-8")
SECTIONS = re.findall(r"^## (.+?)$(.*?)(?=^## |\Z)", PAGE, re.MULTILINE | re.DOTALL)


def block(text: str, kind: str) -> str | None:
    found = re.findall(rf"^```{kind}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    assert len(found) <= 1
    return found[0] if found else None


def calls() -> list[Any]:
    """(method, path, request, answer) of every section that shows a call."""
    found = []
    for title, text in SECTIONS:
        called = re.search(r"`(GET|POST) (/\S+)`", title)
        if called:
            request, answer = block(text, "json request"), block(text, "json answer")
            assert answer is not None, title
            found.append(pytest.param(*called.groups(), request, json.loads(answer), id=title))
    return found


def lacking(shown: Any, came: Any, where: str = "") -> list[str]:
    """What the page shows and the answer does not hold; a shown list may be its beginning."""
    if isinstance(shown, dict):
        return [
            fault
            for key, value in shown.items()
            for fault in (
                lacking(value, came[key], f"{where}/{key}") if key in came else [f"{where}/{key}"]
            )
        ]
    if isinstance(shown, list) and shown:
        if len(came) < len(shown):
            return [where]
        pairs = zip(shown, came[: len(shown)], strict=True)
        return [fault for i, pair in enumerate(pairs) for fault in lacking(*pair, f"{where}/{i}")]
    return [] if shown == came else [f"{where}: {came!r}"]


@pytest.mark.parametrize(("method", "path", "request_text", "shown"), calls())
def test_the_page_shows_what_comes(
    method: str, path: str, request_text: str | None, shown: Any, planner: Planner
) -> None:
    body = None if request_text is None else request_text.encode()
    call = urllib.request.Request(
        f"{planner.address}{BASE}{path}", body, {"Content-Type": "application/json"}, method=method
    )
    try:
        with urllib.request.urlopen(call, timeout=30) as answer:
            came = json.loads(answer.read())
    except urllib.error.HTTPError as error:
        with error:
            came = json.loads(error.read())
    assert lacking(shown, came) == []


def test_five_calls_an_old_pipe_a_job_and_a_refusal_are_shown() -> None:
    assert len(calls()) == 8


def status(planner: Planner, method: str, path: str, body: str, headers: dict[str, str]) -> int:
    headers = headers | {"Content-Type": "application/json"}
    call = urllib.request.Request(
        f"{planner.address}{BASE}{path}", body.encode(), headers, method=method
    )
    try:
        with urllib.request.urlopen(call, timeout=30) as answer:
            return answer.status
    except urllib.error.HTTPError as error:
        with error:
            return error.code


def test_the_saves_are_answered_as_the_page_says(planner: Planner) -> None:
    text = next(text for title, text in SECTIONS if "POST /jobs`" in title)
    body = block(text, "json request")
    assert body is not None
    made = urllib.request.Request(
        f"{planner.address}{BASE}/jobs", body.encode(), {"Content-Type": "application/json"}
    )
    with urllib.request.urlopen(made, timeout=30) as answer:
        job = json.loads(answer.read())
        assert answer.headers["ETag"] == job["etag"]
    rows = re.findall(r"^\| (?:`(.+?)` )?\| (\d{3})", text, re.MULTILINE)
    assert [int(code) for _, code in rows] == [200, 412, 400, 428]
    for tag, code in rows:
        sent = {"If-Match": tag} if tag else {}
        assert status(planner, "PUT", f"/jobs/{job['id']}", body, sent) == int(code), tag


def test_a_key_is_sent_as_the_page_says(keyed: tuple[Planner, str], yard_request: dict) -> None:
    bare, secret = keyed
    header = re.search(r"^(Authorization): (Bearer) yard_…$", PAGE, re.MULTILINE)
    assert header is not None
    body = json.dumps(yard_request)
    assert status(bare, "POST", "/plan", body, {header[1]: f"{header[2]} {secret}"}) == 200
    assert status(bare, "POST", "/plan", body, {}) == 401
    assert Planner(bare.address, key=secret).plan(yard_request)["units"] == "us"
    with pytest.raises(Refused) as refused:
        Planner(bare.address, key="yard_another").plan(yard_request)
    assert refused.value.status == 401


def test_the_python_runs_and_prints_what_is_shown(planner: Planner, capsys) -> None:
    source = block(PAGE, "python")
    assert source is not None
    exec(compile(source.replace("http://127.0.0.1:8000", planner.address), "page", "exec"), {})
    assert capsys.readouterr().out == block(PAGE, "text output")


def test_what_is_not_so_is_caught() -> None:
    assert lacking({"a": [1, 2]}, {"a": [1, 3, 4]}) == ["/a/1: 3"]
    assert lacking({"a": 1, "b": {}}, {"a": 1}) == ["/b"]
    assert lacking({"a": []}, {"a": [1]}) == ["/a: [1]"]
