"""How the planner is reached by others, where its operator says so: what a printed code opens."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final
from urllib.parse import urlsplit

NAME: Final = "YARDFALL_PUBLIC_URL"
MOST: Final = 200
"""Characters: a longer address makes a code too fine to read off paper."""


class PublicUrlError(ValueError):
    """The setting cannot be used; the sentence says why."""


def public_url_from(environment: Mapping[str, str]) -> str | None:
    """The address as set, without a slash at its end; None where none is set.

    Raises PublicUrlError.
    """
    given = environment.get(NAME, "").strip()
    if not given:
        return None
    if not _is_a_host(given) or len(given) > MOST:
        raise PublicUrlError(
            f"{NAME} must be the address at which browsers reach this planner, http or https, a "
            "host and nothing behind it (no path, ? or #), as in https://yard.example.org, not "
            f"{given!r}."
        )
    return given.rstrip("/")


def _is_a_host(given: str) -> bool:
    if not re.fullmatch(r"[!-~]+", given) or set(given) & set("?#@\\\"'<>"):
        return False
    try:
        parts = urlsplit(given)
        port = parts.port
    except ValueError:
        return False
    named = parts.scheme in ("http", "https") and bool(parts.hostname) and port != 0
    return named and parts.path in ("", "/")
