"""What the contract says of keys: how one is sent, and what a call answers without a good one."""

from __future__ import annotations

from typing import Any, Final

from apispec import APISpec

SCHEMES: Final = {
    "bearer": {
        "type": "http",
        "scheme": "bearer",
        "description": "A key of the service, `yardfall key new`. Software sends it so.",
    },
    "basic": {
        "type": "http",
        "scheme": "basic",
        "description": "The key as the password of any name: how a browser asks for it. Every call "
        "but GET needs the header X-Requested-With too, with any value: no form of another site "
        "can send it.",
    },
}
NEEDED: Final[list[dict[str, list[str]]]] = [{}, {"bearer": []}, {"basic": []}]
"""One of these. Nothing at all opens a service that has no keys yet, to its own machine alone."""
NONE_NEEDED: Final[list[dict[str, list[str]]]] = []
REFUSALS: Final = {
    401: "No key was sent, or none that this service knows. WWW-Authenticate says how to send one.",
    403: "The key is not for this, or the service has no keys and was called from elsewhere.",
    413: "The body is over the limit it names, the sum takes too long, or no more may be kept.",
    429: "More requests than the key may make at once. Retry-After says how many seconds to wait.",
    503: "The service is busy or short of something. The same may work after Retry-After.",
}
BODY_METHODS: Final = ("post", "put")


def document_keys(spec: APISpec) -> None:
    """Add the ways to send a key to the contract."""
    for name, scheme in SCHEMES.items():
        spec.components.security_scheme(name, scheme)
    spec.options["security"] = NEEDED


def refusal(status: int) -> str:
    """The name of a refusal among the contract's components."""
    return f"REFUSED_{status}"


def document_access(
    doc: dict[str, Any], info: dict[str, Any], *, method: str, **_: Any
) -> dict[str, Any]:
    """Add the refusals that a call can meet on its way in to what the contract says of it."""
    if info.get("manual_doc", {}).get("security") == NONE_NEEDED:
        return doc
    met = [s for s in REFUSALS if s != 413 or method in BODY_METHODS]
    answers = {str(status): refusal(status) for status in met}
    return {**doc, "responses": {**doc.get("responses", {}), **answers}}
