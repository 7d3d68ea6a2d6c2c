"""Renew the lock files: the newest release of each package that pyproject.toml allows, by hash.

    .venv/bin/python tests/lock.py [PACKAGE ...]

Runs in the environment that `tests/run.py` makes; it needs the package index. With names, these
packages alone are renewed. `service/requirements.lock` is what `service/run.py`
installs, `tests/requirements.lock` what `tests/run.py` does: the same versions and those of `dev`.
Both hold for every system and every Python from 3.11 on, and name no index.
"""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
COMMAND = "uv pip compile pyproject.toml --group build --universal --python-version 3.11"
COMMAND += " --generate-hashes --no-annotate --no-header --quiet"
SERVICE, TESTS = "service/requirements.lock", "tests/requirements.lock"
NEEDS = {SERVICE: [], TESTS: ["--extra", "dev", "--constraints", SERVICE]}


def main() -> None:
    """Write both anew, the service's first."""
    packages = [option for name in sys.argv[1:] for option in ("--upgrade-package", name)]
    for lock, needs in NEEDS.items():
        command = [sys.executable, "-m", *COMMAND.split(), *needs, *(packages or ["--upgrade"])]
        subprocess.run([*command, "--output-file", lock], cwd=ROOT, check=True)


if __name__ == "__main__":
    main()
