"""Command one: make what the planner needs, then start it.

    python3 service/run.py [--host 127.0.0.1] [--port 8000] [--data DIR]

The first run makes `.venv` beside the project and installs the project into it, with the packages
of `service/requirements.lock`; later runs start at once, until that file or pyproject.toml changes.
Ctrl-C stops the planner.

Standard library only. Python 3.6 can read it too, and gets the sentence that asks for a newer one.
"""

import sys

if sys.version_info < (3, 11):  # noqa: UP036 - this is the check
    sys.exit(
        f"Yardfall needs Python 3.11 or newer, and this is {sys.version.split()[0]}. "
        f"Run it with a newer one, for example: python3.11 {sys.argv[0]}"
    )

import argparse
import contextlib
import errno
import functools
import hashlib
import importlib.util
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TextIO

try:
    import fcntl
except ImportError:  # Windows: there two runs at once are not kept apart
    fcntl = None  # type: ignore[assignment]

say = functools.partial(print, flush=True)
ROOT = Path(__file__).resolve().parents[1]
LOCKS = {"": "service/requirements.lock", "dev": "tests/requirements.lock"}
"""What is installed, by the extras asked for: exact versions, and a hash of each of their files."""
DISK_NEEDED_MB = {"": 1000, "dev": 1500}
"""By the extras; measured on Linux with Python 3.11: 931 MB plain, 1445 MB with `dev`."""
ADVICE = (
    (r"No space left on device|Errno 28\b", "The disk is full: free some space, then run again."),
    (
        r"NewConnection|new connection|ConnectTimeout|(?i:name.?resolution)|ProxyError|timed out",
        "The package index could not be reached: check the network, then run again.",
    ),
    (
        r"DO NOT MATCH THE HASHES",
        "The package index sent another file than the one that was tested: ask whoever runs it.",
    ),
)
"""What pip writes when something outside the project is wrong, and what to do about it."""


def main() -> int:
    """Check what can go wrong, make the environment, serve until stopped."""
    parser = argparse.ArgumentParser(description="Make what the planner needs, then start it.")
    parser.add_argument("--host", default="127.0.0.1", help="address to answer on")
    parser.add_argument("--port", type=int, default=8000)
    parser.add_argument("--data", type=Path, default=ROOT / ".data", help="where data is kept")
    given = parser.parse_args()
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(128 + signal.SIGTERM))
    check_folder(given.data)
    check_port(given.host, given.port)
    python = make_environment()
    options = ["--host", given.host, "--port", str(given.port), "--data", str(given.data.resolve())]
    return serve([str(python), "-m", "yardfall", "serve", *options])


def check_folder(folder: Path) -> None:
    """Make a data folder and try to write in it; exit with a sentence when that fails."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder) as file:
            file.write(b"can be written")
    except OSError as error:
        sys.exit(f"Cannot write to {folder}: {error.strerror}. Give another with --data DIR.")


def check_port(host: str, port: int) -> None:
    """Bind to an address once; exit with a sentence when it cannot be served on."""
    if not 1 <= port <= 65535:
        sys.exit(f"--port must be from 1 to 65535, not {port}.")
    try:
        family, kind, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        with socket.socket(family, kind) as trial:
            if os.name == "posix":  # a connection that just closed does not hold the port
                trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            trial.bind(address)
    except (OSError, UnicodeError) as error:
        if getattr(error, "errno", None) == errno.EADDRINUSE:
            other = port + 1 if port < 65535 else 8000
            sys.exit(f"Port {port} on {host} is taken. Take another, for example --port {other}")
        sys.exit(f"Cannot answer on {host}, port {port}: {error}. Give others: --host and --port.")


def make_environment(extras: str = "", root: Path = ROOT) -> Path:
    """The Python of `.venv` under `root`, with the project and these extras installed.

    Installs only what has changed since the last time: pyproject.toml, the locks, the extras asked
    for, the project's place. An environment that an interrupted run left half-made is made anew.
    """
    venv = root / ".venv"
    python = venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    wanted = {"needs": digest_of_needs(root), "root": str(root), "extras": extras}
    with locked_record(venv) as record:
        made = read_record(record)
        if made.get("root") != wanted["root"] or not has_pip(python):
            made = {}
        if made.get("needs") == wanted["needs"] and extras in ("", made["extras"]):
            return python
        write_record(record, {})  # until it is whole again
        if not made:
            free_mb = shutil.disk_usage(root).free // 1_000_000
            needed_mb = DISK_NEEDED_MB[extras]
            if free_mb < needed_mb:
                sys.exit(f"The packages need {needed_mb} MB of disk; {root} has {free_mb} MB.")
            create(venv, python, record)
        install(python, extras, root, record)
        write_record(record, wanted)
    return python


def digest_of_needs(root: Path) -> str:
    """One SHA-256 of pyproject.toml and the lock files."""
    files = ("pyproject.toml", *LOCKS.values())
    digests = [hashlib.sha256((root / file).read_bytes()).hexdigest() for file in files]
    return hashlib.sha256(" ".join(digests).encode()).hexdigest()


@contextlib.contextmanager
def locked_record(venv: Path) -> Iterator[TextIO]:
    """The file in `.venv` that says what it was made for, held against any other run."""
    path = venv / "yardfall.json"
    held = [entry.name for entry in venv.iterdir()] if venv.exists() else []  # at one moment
    if held and path.name not in held:
        sys.exit(f"{venv} was not made by this command: move or remove it, then run again.")
    try:
        venv.mkdir(exist_ok=True)
        with path.open("a+", encoding="utf-8") as record:
            if fcntl:
                try:
                    fcntl.flock(record, fcntl.LOCK_EX | fcntl.LOCK_NB)
                except BlockingIOError:
                    say("Another run is making the environment: waiting until it is done.")
                    fcntl.flock(record, fcntl.LOCK_EX)
            yield record
    except OSError as error:
        sys.exit(f"The environment {venv} could not be made: {error}")


def read_record(record: TextIO) -> dict[str, Any]:
    """What a whole environment was made for; empty for one that is not whole."""
    record.seek(0)
    try:
        return dict(json.loads(record.read()))
    except ValueError:
        return {}


def write_record(record: TextIO, made_for: dict[str, Any]) -> None:
    record.truncate(0)
    record.write(json.dumps(made_for))
    record.flush()


def has_pip(python: Path) -> bool:
    """Whether this Python runs and has pip; False also when it is gone or was upgraded away."""
    with contextlib.suppress(OSError):
        command = [str(python), "-c", "import pip"]
        return subprocess.run(command, stderr=subprocess.DEVNULL).returncode == 0
    return False


def create(venv: Path, python: Path, record: TextIO) -> None:
    """Make an empty environment with pip in it, in place of what `.venv` holds."""
    for module in ("venv", "ensurepip"):
        if importlib.util.find_spec(module) is None:
            sys.exit(
                f"This Python has no `{module}`, which makes the environment. On Debian and "
                "Ubuntu: sudo apt install python3-venv. Then run again."
            )
    for entry in venv.iterdir():
        if entry.is_dir() and not entry.is_symlink():
            shutil.rmtree(entry)
        elif entry.name != Path(record.name).name:
            entry.unlink()
    say(f"Making {venv}")
    if run_logged([sys.executable, "-m", "venv", str(venv)], venv, record) or not has_pip(python):
        fail(venv, "An environment with pip could not be made.")


def install(python: Path, extras: str, root: Path, record: TextIO) -> None:
    """Install the locked packages, then the project, editable; pip's words go to `install.log`.

    The locks hold what builds the project too, so the second step fetches nothing.
    """
    say("Installing the packages it needs: a minute or two, once.")
    pip = [str(python), "-m", "pip", "install", "--disable-pip-version-check", "--no-input"]
    locked = ["--progress-bar", "off", "--require-hashes", "--requirement", LOCKS[extras]]
    project = ["--no-index", "--no-deps", "--no-build-isolation", "--editable", "."]
    for options in (locked, project):
        if run_logged([*pip, *options], root / ".venv", record) != 0:
            fail(root / ".venv", "The packages could not be installed.")
    say("Installed.")


def run_logged(command: list[str], venv: Path, record: TextIO) -> int:
    """Run a command, keep what it writes in the log, show how far it is; its exit code.

    The command inherits the lock: should this process be killed, another run still waits for it.
    """
    seen: set[str] = set()
    ended = threading.Event()
    threading.Thread(target=show_time, args=(ended,), daemon=True).start()
    with (venv / "install.log").open("a", encoding="utf-8") as log:
        process = subprocess.Popen(
            command,
            cwd=venv.parent,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
            pass_fds=(record.fileno(),) if fcntl else (),
        )
        with process:
            try:
                for line in process.stdout or ():
                    log.write(line)
                    shown = progress(line, seen)
                    if shown:
                        say(shown)
                return process.wait()
            finally:
                ended.set()
                process.kill()


def show_time(ended: threading.Event) -> None:
    """A sign of life every ten seconds: pip unpacks for long without a word."""
    passed_s = 0
    while not ended.wait(10):
        passed_s += 10
        say(f"       {passed_s} s so far")


def progress(line: str, seen: set[str]) -> str:
    """What to show for a line of pip's: a package met for the first time, a step; else nothing."""
    found = re.match(r"\s*(?:Collecting ([\w.-]+)|Processing .*?([\w.]+)-[^/\\]*$)", line)
    name = (found[1] or found[2]).lower().replace("_", "-") if found else ""
    if name and name not in seen:
        seen.add(name)
        return f"  {len(seen):>3}  {name}"
    installing = re.match(r"Installing collected packages: (.*)", line)
    if installing:
        return f"  putting {len(installing[1].split(','))} packages in place"
    if re.match(r"\s*WARNING: Retrying", line):
        return "       no answer from the package index, trying again"
    return ""


def fail(venv: Path, what: str) -> None:
    """Exit with the end of the log, what failed, and what to do when the log tells."""
    log = venv / "install.log"
    lines = log.read_text(encoding="utf-8", errors="replace").splitlines()
    print("\n".join(lines[-15:]), file=sys.stderr)
    sys.exit(f"{what}{advise(lines[-100:])} All that was written is in {log}")


def advise(lines: list[str]) -> str:
    """What to do about the first known sign in a log, with a space before it, or nothing."""
    known = (" " + advice for sign, advice in ADVICE if re.search(sign, "\n".join(lines)))
    return next(known, "")


def serve(command: list[str]) -> int:
    """Run the planner until it ends or is stopped; 0 when Ctrl-C or SIGTERM stopped it.

    On POSIX it has a process group of its own, so that Ctrl-C reaches it once, from here.
    """
    child: subprocess.Popen[bytes] | None = None
    stopping = False

    def stop(*_: object) -> None:
        nonlocal stopping
        if child and stopping:
            child.kill()
        elif child and os.name == "posix":
            child.terminate()
        stopping = True

    signal.signal(signal.SIGINT, stop)
    signal.signal(signal.SIGTERM, stop)
    if os.name == "posix" and signal.getsignal(signal.SIGHUP) != signal.SIG_IGN:  # as under nohup
        signal.signal(signal.SIGHUP, stop)
    child = subprocess.Popen(command, cwd=ROOT, process_group=0 if os.name == "posix" else None)
    if stopping:  # before there was a child to tell
        child.terminate()
    code = child.wait()
    if stopping and code in (0, -signal.SIGTERM):
        return 0
    return code if code >= 0 else 128 - code


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit("Stopped before it was ready. The next run takes it up again.")
