"""What the contract says of every call alike: its id, its headers, when nothing has changed."""

from __future__ import annotations

import json
from collections.abc import Iterable
from importlib.resources import files
from typing import Any, Final

Part = dict[str, Any]
IDS: Final = {
    "health": "getHealth",
    "pipes": "listPipes",
    "profile": "readProfile",
    "plan": "planDrain",
    "flow": "checkFlow",
    "reach": "searchYard",
    "grade_check": "checkGrade",
    "pipe_check": "checkPipe",
    "compare": "comparePlans",
    "ground": "getGround",
    "lots": "getLot",
    "keep_window": "keepSourceWindow",
    "get_relief": "getRasterRelief",
    "relief": "getSourceRelief",
    "get_picture": "getSitePlanPicture",
    "export": "exportKept",
    "import_": "importKept",
    "check_kept_grade": "checkGradeOfJob",
}
"""The ids of calls whose function has a shorter name. An id never changes within v1."""
HEADERS: Final[dict[str, tuple[str, str]]] = {
    "RequestId": ("The id of this request in the service's log.", "X-Request-Id"),
    "ETag": ("What If-None-Match takes, and If-Match for a job.", "ETag"),
    "Location": ("The address of what was made.", "Location"),
    "RetryAfter": ("Seconds to wait before the same is asked again.", "Retry-After"),
    "Link": ("The pages next to this one, `rel` next and prev (RFC 8288).", "Link"),
    "Disposition": ("The file's name (RFC 6266).", "Content-Disposition"),
    "Authenticate": ("How to send a key (RFC 9110).", "WWW-Authenticate"),
    "RateLimit": (
        "Requests left of the key's burst and the seconds until all are "
        "(draft-ietf-httpapi-ratelimit-headers-10). Without a key there is none.",
        "RateLimit",
    ),
    "RateLimitPolicy": (
        "The key's burst and the seconds in which it fills (the same draft).",
        "RateLimit-Policy",
    ),
}
MAYBE: Final = frozenset({"RateLimit", "RateLimitPolicy", "Link"})
UNCHANGED: Final = "NOT_MODIFIED"
PATH_WORDS: Final = {
    "id": "The id under which it is kept.",
    "link": "The id of the link.",
    "number": "Its number, counted from 1.",
    "name": "Its name.",
}
TOLD_ON: Final = {"401": ["Authenticate"], "429": ["RetryAfter"], "503": ["RetryAfter"]}
IF_NONE_MATCH: Final = {
    "in": "header",
    "name": "If-None-Match",
    "required": False,
    "schema": {"type": "string"},
    "description": "The ETag of an earlier answer: 304 without a body where it still holds.",
}
BY_NAME: Final = "recorded.json"


def operation_id(endpoint: str) -> str:
    """A call's id, by the name of its function."""
    first, *others = endpoint.replace("-", "_").split("_")
    return IDS.get(endpoint) or first + "".join(word.capitalize() for word in others if word)


def _header(name: str) -> Part:
    return {"$ref": f"#/components/headers/{name}"}


def add_headers(document: Part) -> None:
    """Say of every answer which headers it has, and of what can be unchanged that it can."""
    parts = document["components"]
    parts["headers"] = {
        name: {"description": said, "required": name not in MAYBE, "schema": {"type": "string"}}
        for name, (said, _) in HEADERS.items()
    }
    parts["headers"]["RetryAfter"]["schema"] = {"type": "integer", "minimum": 1}
    parts["parameters"] = {"IfNoneMatch": IF_NONE_MATCH}
    parts["responses"][UNCHANGED] = {"description": "What was told with this ETag still holds."}
    for name, response in parts["responses"].items():
        status = name.removeprefix("REFUSED_")
        told = [] if name == UNCHANGED else TOLD_ON.get(status, [])
        _tell(response, "RequestId", *(["ETag"] if name == UNCHANGED else []), *told)
    for path, calls in document["paths"].items():
        for method, call in calls.items():
            _add_to_call(path, method, call)


def _add_to_call(path: str, method: str, call: Any) -> None:
    if method == "parameters":
        _tell_path(call)
        return
    free = call.get("security") == []
    _shorten(call)
    _tell_path(call.get("parameters", ()))
    for status, response in call["responses"].items():
        if "$ref" in response:
            continue
        names = ["RequestId"] if free else ["RequestId", "RateLimit", "RateLimitPolicy"]
        content = response.get("content", {})
        if status == "201":
            names.append("Location")
        if status == "503":
            names.append("RetryAfter")
        if content and all(kind != "application/json" for kind in content):
            names += [] if "relief" in path or "picture" in path else ["Disposition"]
        if _tagged(path, method, content, status):
            names.append("ETag")
        if method == "get" and _is_list(call):
            names.append("Link")
        _tell(response, *names)
    if method == "get" and "ETag" in call["responses"]["200"]["headers"]:
        call["responses"]["304"] = {"$ref": f"#/components/responses/{UNCHANGED}"}
        call.setdefault("parameters", []).append({"$ref": "#/components/parameters/IfNoneMatch"})


def _tell_path(parameters: Iterable[Part]) -> None:
    for parameter in parameters:
        if parameter.get("in") == "path":
            parameter.setdefault("description", PATH_WORDS[parameter["name"]])


def _shorten(call: Part) -> None:
    """A summary is one sentence on one line; what else was said is the description's."""
    first, end, rest = " ".join(call["summary"].split()).partition(". ")
    call["summary"] = first + end.strip()
    said = " ".join(call.get("description", "").split())
    if rest or said:
        call["description"] = f"{rest} {said}".strip()


def _is_list(call: Part) -> bool:
    return any(parameter.get("name") == "page_size" for parameter in call.get("parameters", ()))


def _tagged(path: str, method: str, content: Part, status: str) -> bool:
    """Whether an answer has an ETag: what is read, and a job that was just saved."""
    if method == "get":
        return status == "200" and not path.endswith(("/export", "/health"))
    saves = path.endswith(("/jobs", "/jobs/{id}", "/copies", "/archive"))
    return saves and status in ("200", "201") and bool(content)


def _tell(response: Part, *names: str) -> None:
    headers = response.setdefault("headers", {})
    headers |= {HEADERS[name][1]: _header(name) for name in names}


def add_examples(document: Part) -> None:
    """Put examples of requests and answers that were really sent and given beside their calls."""
    recorded = json.loads(files(__package__).joinpath(BY_NAME).read_text("utf-8"))
    document["components"]["examples"] = {
        name: {"summary": one["summary"], "value": one["value"]}
        for name, one in recorded["examples"].items()
    }
    for calls in document["paths"].values():
        for method, call in calls.items():
            if method == "parameters":
                continue
            shown = recorded["calls"].get(call["operationId"], {})
            if "request" in shown:
                content = call["requestBody"]["content"]["application/json"]
                content.pop("example", None)
                content["examples"] = _example(shown["request"])
            for status, response in call["responses"].items():
                content = response.get("content", {})
                if status in ("200", "201") and "answer" in shown and "application/json" in content:
                    content["application/json"]["examples"] = _example(shown["answer"])


def _example(name: str) -> Part:
    return {name: {"$ref": f"#/components/examples/{name}"}}
