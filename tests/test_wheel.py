"""What is installed from a wheel, far from any checkout, is the whole planner."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import time
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.request import urlopen

import pytest
from playwright.sync_api import Browser

ROOT = Path(__file__).resolve().parents[1]
EXAMPLES = ROOT / "openapi" / "examples"
STARTS_S = 60
KEPT_OUT = re.compile(r"(^|/)(tests?|\.venv|node_modules|__pycache__)/|\.pyc$")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "pip", "wheel", str(ROOT), "--no-deps", "--wheel-dir", folder]
    subprocess.run([*command, "--no-build-isolation", "--quiet"], check=True)
    (made,) = folder.glob("yardfall-*.whl")
    return made


def test_it_holds_all_that_travels_with_the_code_and_nothing_else(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    for name in (
        *("page/index.html", "page/main.js", "page/style/page.css", "demo/yard.tif"),
        *("demo/yard.json", "py.typed", "papers/templates/map.css", "__main__.py"),
        "store/migrations/versions/v0001_rasters.py",
    ):
        assert f"yardfall/{name}" in names, name
    assert not [name for name in names if KEPT_OUT.search(name)]
    code = {
        path.relative_to(ROOT / "service") for path in (ROOT / "service/yardfall").rglob("*.py")
    }
    assert {path.as_posix() for path in code} <= set(names)
    page = {path.relative_to(ROOT / "frontend") for path in (ROOT / "frontend").rglob("*.js")}
    assert {f"yardfall/page/{path.as_posix()}" for path in page} <= set(names)


@contextmanager
def serving(python: str, environment: dict[str, str], elsewhere: Path) -> Iterator[str]:
    """The address of a service that was installed."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [python, "-m", "yardfall", "serve", "--port", str(port)]
    with subprocess.Popen(command, cwd=elsewhere, env=environment) as process:
        try:
            address, by_s = f"http://127.0.0.1:{port}", time.monotonic() + STARTS_S
            while True:
                try:
                    urlopen(f"{address}/api/v1/health").close()
                    break
                except OSError:
                    assert process.poll() is None, "it ended"
                    assert time.monotonic() < by_s, "it does not answer"
                    time.sleep(0.2)
            yield address
        finally:
            process.terminate()


@pytest.mark.long
@pytest.mark.browser
def test_it_serves_plans_and_prints_from_a_fresh_environment(
    wheel: Path, tmp_path: Path, browser: Browser
) -> None:
    """With all it depends on from the package registry, and no checkout near."""
    venv = tmp_path / "venv"
    subprocess.run([sys.executable, "-m", "venv", str(venv)], check=True)
    python = str(venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python"))
    subprocess.run([python, "-m", "pip", "install", "--quiet", str(wheel)], check=True)
    environment = {n: os.environ[n] for n in ("PATH", "HOME", "LANG") if n in os.environ}

    def told(*said: str) -> str:
        command = [python, *said]
        return subprocess.run(
            command, cwd=tmp_path, env=environment, stdout=subprocess.PIPE, check=True, text=True
        ).stdout

    place = told("-c", "import yardfall; print(yardfall.__file__)").strip()
    assert Path(place).is_relative_to(venv)
    assert re.fullmatch(r"Yardfall \d+\.\d+\.\d+\n", told("-m", "yardfall", "--version"))
    request = str(EXAMPLES / "level_line.json")
    assert '"verdict": "yes"' in told("-m", "yardfall", "plan", request)
    told("-m", "yardfall", "plan", request, "--paper", "dig-sheet.html")
    assert "ouse" in (tmp_path / "dig-sheet.html").read_text("utf-8")
    with serving(python, environment, tmp_path) as address:
        page = browser.new_page()
        try:
            page.goto(address)
            page.wait_for_selector("html[data-ready]", state="attached")
            page.locator("#station-table tbody tr").first.wait_for(
                state="attached", timeout=150_000
            )
        finally:
            page.close()
