"""The lock files hold what pyproject.toml asks for, for every system and Python, by hash."""

from __future__ import annotations

import re
import tomllib
from itertools import product
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

ROOT = Path(__file__).resolve().parents[1]
TOLD = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
PROJECT = TOLD["project"]
BUILD = TOLD["build-system"]["requires"]
SERVICE = [*PROJECT["dependencies"], *BUILD]
NEEDS = {
    "service/requirements.lock": SERVICE,
    "tests/requirements.lock": [*SERVICE, *PROJECT["optional-dependencies"]["dev"]],
}
SYSTEMS = {"linux": "Linux", "darwin": "Darwin", "win32": "Windows"}
MACHINES = [
    {
        "python_version": python,
        "python_full_version": f"{python}.1",
        "sys_platform": system,
        "platform_system": SYSTEMS[system],
        "platform_python_implementation": "CPython",
        "implementation_name": "cpython",
        "platform_machine": "x86_64",
        "os_name": "nt" if system == "win32" else "posix",
        "extra": "",
    }
    for system, python in product(SYSTEMS, ("3.11", "3.12", "3.13"))
]


def entries(lock: str) -> list[Requirement]:
    """Each package of a lock file; every one must be one version with hashes of its files."""
    found = []
    for line in re.sub(r" \\\n", "", (ROOT / lock).read_text("utf-8")).splitlines():
        what, *hashes = re.split(r" +--hash=sha256:", line)
        assert hashes, line
        assert all(re.fullmatch("[0-9a-f]{64}", digest) for digest in hashes), line
        found.append(Requirement(what))
        assert re.fullmatch(r"==[^*,]+", str(found[-1].specifier)), line
    return found


def versions(lock: str, machine: dict[str, str]) -> dict[str, Version]:
    """What a lock file has installed on one machine."""
    kept: dict[str, Version] = {}
    for entry in entries(lock):
        if entry.marker is None or entry.marker.evaluate(machine):
            name = canonicalize_name(entry.name)
            assert name not in kept, f"{name} twice"
            kept[name] = Version(str(entry.specifier).removeprefix("=="))
    return kept


def missing(lock: str, needs: list[str], machine: dict[str, str]) -> list[str]:
    """The needs that a lock file does not meet on one machine."""
    kept = versions(lock, machine)
    wanted = [
        need
        for need in map(Requirement, needs)
        if need.marker is None or need.marker.evaluate(machine)
    ]
    return [
        str(need)
        for need in wanted
        if canonicalize_name(need.name) not in kept
        or kept[canonicalize_name(need.name)] not in need.specifier
    ]


def called(machine: dict[str, str]) -> str:
    return f"{machine['sys_platform']}-{machine['python_version']}"


@pytest.mark.parametrize("machine", MACHINES, ids=called)
@pytest.mark.parametrize("lock", NEEDS)
def test_a_lock_meets_what_pyproject_asks_for(lock: str, machine: dict[str, str]) -> None:
    """Else: `.venv/bin/python tests/lock.py`."""
    assert missing(lock, NEEDS[lock], machine) == []


@pytest.mark.parametrize("machine", MACHINES, ids=called)
def test_the_tests_run_on_the_versions_that_serve(machine: dict[str, str]) -> None:
    service, tests = (versions(lock, machine) for lock in NEEDS)
    assert service.items() <= tests.items()


def test_what_builds_the_project_is_told_alike_in_both_places() -> None:
    assert TOLD["dependency-groups"]["build"] == BUILD


def test_a_lock_that_falls_behind_would_be_found() -> None:
    lock, machine = "service/requirements.lock", MACHINES[0]
    assert missing(lock, ["flask>=99"], machine) == ["flask>=99"]
    assert missing(lock, ["never-heard-of"], machine) == ["never-heard-of"]
