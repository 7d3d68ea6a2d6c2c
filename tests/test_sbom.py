"""The list of what is installed: the command that DEVELOPERS.md gives writes valid CycloneDX.

It needs the network: the tool is installed into an environment of its own, as the text says.
"""

from __future__ import annotations

import json
import re
import shlex
import subprocess
import sys
import tomllib
import venv
from pathlib import Path

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[1]
ITS_OWN_CHECK = """
import sys
from pathlib import Path
from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator
text = Path(sys.argv[1]).read_text()
found = JsonStrictValidator(SchemaVersion.from_version(sys.argv[2])).validate_str(text)
sys.exit(f"{found}" if found else 0)
"""


def told() -> tuple[str, list[str]]:
    """What to install and how to call it, as DEVELOPERS.md says."""
    text = " ".join((ROOT / "DEVELOPERS.md").read_text("utf-8").split())
    found = re.search(r"`pip install (cyclonedx\S+)` [^`]*`(cyclonedx-py [^`]+)`", text)
    assert found, "DEVELOPERS.md no longer says how"
    return found[1], shlex.split(found[2])


def plain(name: str) -> str:
    """A package's name as the index compares it (Python packaging, name normalization)."""
    return re.sub(r"[-_.]+", "-", name).lower()


@pytest.mark.long
def test_the_command_that_is_told_lists_all_that_is_needed(tmp_path: Path) -> None:
    package, (tool, *options) = told()
    venv.create(tmp_path / "own", with_pip=True)
    scripts = tmp_path / "own" / ("Scripts" if sys.platform == "win32" else "bin")
    validation = "cyclonedx-python-lib[json-validation]"
    subprocess.run(
        [scripts / "python", "-m", "pip", "install", "-q", package, validation], check=True
    )
    bom = tmp_path / "sbom.json"
    places = {"sbom.json": str(bom), ".venv/bin/python": sys.executable}
    command = [scripts / tool, *(places.get(option, option) for option in options)]
    assert places.keys() <= set(options)
    subprocess.run(command, check=True, cwd=ROOT)
    whole = json.loads(bom.read_text("utf-8"))
    assert whole["bomFormat"] == "CycloneDX"
    check = [scripts / "python", "-c", ITS_OWN_CHECK, bom, whole["specVersion"]]
    subprocess.run(check, check=True)
    listed = {plain(one["name"]) for one in whole["components"]}
    needed = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    assert {plain(Requirement(one).name) for one in needed} <= listed
    assert "werkzeug" in listed, "what flask brings is installed as well"
    assert all(one["version"] for one in whole["components"])
    assert whole["metadata"]["component"]["name"] == "yardfall"
