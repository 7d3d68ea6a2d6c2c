"""Clients made from the contract by others' tools: made, type-checked, and run against a planner.

What each tool found is held to nothing; `.redocly.yaml` and `.spectral.yaml` argue what they pass.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import venv
from pathlib import Path

import pytest
from served import served

from yardfall.app import Settings, create_app

ROOT = Path(__file__).resolve().parents[3]
CONTRACT = ROOT / "openapi" / "openapi.json"
HERE = Path(__file__).parent / "generated"
PYTHON_TOOLS = ("openapi-python-client==0.29.1", "mypy==2.4.1", "ruff==0.17.6")
TYPE_TOOLS = ("openapi-typescript@7.13.0", "typescript@5.9.3", "openapi-fetch@0.17.0")
NODE_TYPES = "@types/node@24.10.1"
REDOCLY = "@redocly/cli@2.77.0"
SPECTRAL = "@stoplight/spectral-cli@6.16.3"
TSC = "--strict --module nodenext --target es2022 --skipLibCheck false --types node"

OURS_LEFT_OUT = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
"""What is made stands on what was installed for it alone."""

pytestmark = pytest.mark.long


def run(*command: str | Path, cwd: Path, **environment: str) -> str:
    """What a command wrote. It must end well."""
    done = subprocess.run(
        [str(part) for part in command],
        cwd=cwd,
        env=OURS_LEFT_OUT | environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=900,
    )
    assert done.returncode == 0, done.stdout[-6000:]
    return done.stdout


@pytest.fixture
def npx() -> str:
    found = shutil.which("npx")
    if found is None:
        pytest.skip("Not checked, as there is no npx here (it comes with node).")
    return found


@pytest.fixture
def raster(tmp_path: Path, tiff) -> Path:
    path = tmp_path / "yard.tif"
    path.write_bytes(tiff())
    return path


def test_a_python_client_is_made_and_used(tmp_path: Path, raster: Path) -> None:
    venv.create(tmp_path / "venv", with_pip=True)
    tools = tmp_path / "venv" / ("Scripts" if os.name == "nt" else "bin")
    run(tools / "python", "-m", "pip", "install", "--quiet", *PYTHON_TOOLS, cwd=tmp_path)
    make = ["generate", "--path", CONTRACT, "--config", HERE / "python_client.yaml"]
    path = f"{tools}{os.pathsep}{os.environ['PATH']}"
    told = run(
        *(tools / "openapi-python-client", *make, "--output-path", tmp_path / "made"),
        cwd=tmp_path,
        PATH=path,
    )
    assert "WARNING" not in told.upper(), told
    whole = tmp_path / "made"
    shutil.copy(HERE / "use_client.py", whole)
    told = run(tools / "mypy", "--strict", "yardfall_client", "use_client.py", cwd=whole)
    assert "no issues found" in told
    with served(create_app(Settings(tmp_path / "data"))) as address:
        run(tools / "python", "use_client.py", address, raster, cwd=whole, PYTHONPATH=str(whole))


def test_typescript_types_are_made_and_used(npx: str, tmp_path: Path, raster: Path) -> None:
    npm = shutil.which("npm") or "npm"
    (tmp_path / "package.json").write_text('{"type": "module", "private": true}')
    quiet = ("--no-audit", "--no-fund", "--ignore-scripts", "--silent")
    run(npm, "install", *quiet, *TYPE_TOOLS, NODE_TYPES, cwd=tmp_path)
    run(npx, "openapi-typescript", CONTRACT, "-o", "api.ts", cwd=tmp_path)
    shutil.copy(HERE / "use_types.ts", tmp_path)
    run(npx, "tsc", *TSC.split(), "use_types.ts", "api.ts", cwd=tmp_path)
    with served(create_app(Settings(tmp_path / "data"))) as address:
        run(shutil.which("node") or "node", "use_types.js", address, raster, cwd=tmp_path)


def test_no_default_makes_a_field_one_that_must_be_sent(npx: str, tmp_path: Path) -> None:
    """openapi-typescript takes a default for a must; only what the contract requires may be one."""
    run(npx, "--yes", TYPE_TOOLS[0], CONTRACT, "-o", tmp_path / "api.ts", cwd=tmp_path)
    text = (tmp_path / "api.ts").read_text("utf-8")
    body = text[text.index("GradeBody: {") :]
    for name in ("aim", "min_percent", "max_breaks"):
        assert f"{name}?: " in body[: body.index("};")]


def test_the_linters_find_nothing(npx: str, tmp_path: Path) -> None:
    at = {"REDOCLY_TELEMETRY": "off", "REDOCLY_SUPPRESS_UPDATE_NOTICE": "true"}
    lint = ("lint", CONTRACT, "--config", ROOT / ".redocly.yaml", "--format", "summary")
    told = run(npx, "--yes", REDOCLY, *lint, cwd=tmp_path, **at)
    assert "warning" not in told.replace("Deprecation warning", ""), told
    rules = ("lint", CONTRACT, "--ruleset", ROOT / ".spectral.yaml", "--fail-severity", "hint")
    told = run(npx, "--yes", SPECTRAL, *rules, cwd=tmp_path)
    assert "No results with a severity" in told, told


def test_a_linter_sees_what_is_wrong(npx: str, tmp_path: Path) -> None:
    """The check above can fail."""
    broken = tmp_path / "broken.json"
    text = CONTRACT.read_text("utf-8")
    broken.write_text(text.replace('"operationId": "listJobs"', '"operationId": "createJob"'))
    lint = [npx, "--yes", REDOCLY, "lint", str(broken), "--config", str(ROOT / ".redocly.yaml")]
    done = subprocess.run(lint, cwd=tmp_path, capture_output=True, text=True, timeout=600)
    assert done.returncode != 0
    assert "operation-operationId-unique" in done.stdout + done.stderr
