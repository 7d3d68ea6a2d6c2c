"""A planner elsewhere, called over HTTP: for software that plans or checks by it.

    PlannerError
    ├── Refused      an answer of 4xx or 5xx; `faults` point into what was sent
    ├── Unreachable  no answer: no such host, no connection, or too late
    └── Unsendable   nothing was sent: a request that is no JSON, a file that cannot be read

Standard library only; nothing else of the package is imported. Requests are plain dicts as the
contract has them (openapi/openapi.json). The answers' types name what is most used; an answer
holds more.
"""

from __future__ import annotations

import json
import re
import secrets
import urllib.error
import urllib.request
from collections.abc import Mapping
from dataclasses import dataclass
from http.client import HTTPException
from pathlib import Path
from typing import Any, Final, Literal, cast
from urllib.parse import quote, urlencode, urlsplit

from yardfall.client_types import (
    Catalogue,
    Comparison,
    Flow,
    GradeCheck,
    PipeCheck,
    Plan,
    Profile,
    Raster,
)

BASE: Final = "/api/v1"
DEGREES: Final = "OGC:CRS84"
"""Longitude and latitude."""
Body = Mapping[str, Any]
Units = Literal["us", "si"]


class PlannerError(Exception):
    """Root of what a call can raise."""


@dataclass(frozen=True)
class Fault:
    """One fault of a request: an RFC 6901 pointer into it, and a sentence."""

    pointer: str
    detail: str


class Refused(PlannerError):  # noqa: N818 - what happened
    """The planner answered with an error (RFC 9457)."""

    def __init__(self, status: int, title: str, detail: str, faults: tuple[Fault, ...]) -> None:
        super().__init__(f"{status} {title}: {detail}")
        self.status, self.title, self.detail, self.faults = status, title, detail, faults


class Unreachable(PlannerError):  # noqa: N818 - what happened
    """No answer came."""


class Unsendable(PlannerError):  # noqa: N818 - what it is
    """Nothing was sent, since what was given is no JSON (NaN, a date) or no file to read."""


class Planner:
    """A planner at an address, `http://host:port`. Every call raises PlannerError only.

    `key` is what `yardfall key new` showed, needed where the service has keys. It goes to this
    address alone, even where that sends a call on to another. Raises ValueError for an address or
    a key that cannot be one.
    """

    def __init__(self, address: str, timeout_s: float = 30.0, *, key: str | None = None) -> None:
        if urlsplit(address).scheme not in ("http", "https"):
            raise ValueError(f"{address!r} is no http or https address.")
        if key is not None and not re.fullmatch(r"[!-~]+", key):
            raise ValueError("A key is letters, digits, - and _, without spaces.")
        self.address = address.rstrip("/")
        self.timeout_s = timeout_s
        self._key = key

    def pipes(self, units: Units = "us") -> Catalogue:
        """The pipe catalogue."""
        return cast(Catalogue, self._call("GET", "/pipes?" + urlencode({"units": units})))

    def profile(self, request: Body) -> Profile:
        """The ground along a route."""
        return cast(Profile, self._post("/profile", request))

    def plan(self, request: Body) -> Plan:
        """Stations, depths and the answer."""
        return cast(Plan, self._post("/plan", request))

    def flow(self, request: Body) -> Flow:
        """Whether a pipe at a grade carries the water."""
        return cast(Flow, self._post("/flow", request))

    def grade_check(self, request: Body) -> GradeCheck:
        """A trench held against its plan."""
        return cast(GradeCheck, self._post("/grade-check", request))

    def pipe_check(self, request: Body) -> PipeCheck:
        """A pipe that lies already, by readings along it."""
        return cast(PipeCheck, self._post("/pipe-check", request))

    def compare(self, request: Body) -> Comparison:
        """Plans side by side."""
        return cast(Comparison, self._post("/compare", request))

    def add_raster(self, path: str | Path) -> Raster:
        """Upload an elevation raster (GeoTIFF)."""
        path = Path(path)
        mark = secrets.token_hex(16)
        name = "".join(c if c.isprintable() and c not in '"\\' else "_" for c in path.name)
        head = (
            f'--{mark}\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n'
            "Content-Type: image/tiff\r\n\r\n"
        )
        try:
            content = path.read_bytes()
        except (OSError, ValueError) as error:
            raise Unsendable(f"{path} cannot be read: {error}") from error
        body = head.encode() + content + f"\r\n--{mark}--\r\n".encode()
        kind = f"multipart/form-data; boundary={mark}"
        return cast(Raster, self._call("POST", "/rasters", body, kind))

    def sources(self, units: Units = "us") -> dict[str, Any]:
        """The sources of ground that whoever runs the planner named."""
        return cast(dict[str, Any], self._call("GET", "/sources?" + urlencode({"units": units})))

    def ground_at(
        self, lon: float, lat: float, units: Units = "us", *, crs: str = DEGREES
    ) -> dict[str, Any]:
        """The ground at a place, by every source that has some there.

        With a projected `crs`, EPSG:<number>, the place is x and y in that system.
        """
        place = urlencode(_place(lon, lat, crs) | {"units": units})
        return cast(dict[str, Any], self._call("GET", f"/ground?{place}"))

    def lot_at(self, lon: float, lat: float, *, crs: str = DEGREES) -> dict[str, Any]:
        """The lot at a place and the buildings on it, as GeoJSON.

        With a projected `crs`, EPSG:<number>, the place is x and y in that system, and the areas
        are in it too.
        """
        place = urlencode(_place(lon, lat, crs))
        return cast(dict[str, Any], self._call("GET", f"/lots?{place}"))

    def keep_window(
        self, name: str, bounds: tuple[float, float, float, float], *, crs: str = DEGREES
    ) -> Raster:
        """Keep what a source has between west, south, east and north of `crs` as a raster."""
        body = {"bounds": list(bounds), "crs": crs}
        return cast(Raster, self._post(f"/sources/{quote(name, safe='')}/windows", body))

    def _post(self, path: str, request: Body) -> Any:
        try:
            body = json.dumps(request, allow_nan=False).encode()
        except (ValueError, TypeError, RecursionError) as error:
            raise Unsendable(f"The request is no JSON: {error}") from error
        return self._call("POST", path, body, "application/json")

    def _call(self, method: str, path: str, body: bytes | None = None, kind: str = "") -> Any:
        headers = {"Accept": "application/json, application/problem+json"}
        if body is not None:
            headers["Content-Type"] = kind
        call = urllib.request.Request(  # noqa: S310 - the scheme is checked above
            f"{self.address}{BASE}{path}", body, headers, method=method
        )
        if self._key is not None:
            call.add_unredirected_header("Authorization", f"Bearer {self._key}")
        try:
            with urllib.request.urlopen(call, timeout=self.timeout_s) as answer:  # noqa: S310
                return json.loads(answer.read())
        except urllib.error.HTTPError as error:
            with error:
                raise _refused(error.code, error.reason, error.read()) from error
        except (OSError, HTTPException) as error:
            raise Unreachable(f"No answer from {self.address}: {error}") from error
        except ValueError as error:
            raise Unreachable(f"{self.address} answered, but not as a planner does.") from error


def _place(x: float, y: float, crs: str) -> dict[str, float | str]:
    return {"lon": x, "lat": y} if crs == DEGREES else {"x": x, "y": y, "crs": crs}


def _refused(status: int, reason: str, body: bytes) -> Refused:
    """The problem a planner states; a plain one where something else answered."""
    try:
        problem = json.loads(body)
        faults = tuple(Fault(e["pointer"], e["detail"]) for e in problem["errors"])
        return Refused(status, problem["title"], problem["detail"], faults)
    except (ValueError, KeyError, TypeError):
        return Refused(status, reason, "The answer was no planner's.", ())
