"""The two commands: what they say when something is missing, and what they do only once."""

from __future__ import annotations

import ast
import hashlib
import importlib.util
import io
import json
import os
import re
import signal
import socket
import subprocess
import sys
import tarfile
import threading
import time
import zipfile
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest

ROOT = Path(__file__).resolve().parents[1]
COMMANDS = [ROOT / "service" / "run.py", ROOT / "tests" / "run.py"]


def load(path: Path, name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, path)
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


run = load(COMMANDS[0], "run")
checks = load(COMMANDS[1], "checks")


# An old Python


@pytest.mark.parametrize("path", COMMANDS)
def test_the_syntax_is_that_of_python_3_6(path: Path) -> None:
    ast.parse(path.read_text("utf-8"), feature_version=(3, 6))


@pytest.mark.parametrize("path", COMMANDS)
def test_an_old_python_is_told_so_in_one_line(path: Path) -> None:
    pretend = (
        "import runpy, sys; sys.version_info = (3, 9, 18); sys.version = '3.9.18 (main)';"
        f"runpy.run_path({str(path)!r}, run_name='__main__')"
    )
    done = subprocess.run([sys.executable, "-c", pretend], capture_output=True, text=True)
    assert done.returncode == 1
    assert done.stdout == ""
    assert done.stderr.strip() == (
        "Yardfall needs Python 3.11 or newer, and this is 3.9.18. "
        f"Run it with a newer one, for example: python3.11 {path}"
    )


# Before anything is installed


def test_a_taken_port_names_the_next_one() -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(SystemExit, match=rf"Port {port} .* taken.* --port (?!{port})\d+"):
            run.check_port("127.0.0.1", port)
    run.check_port("127.0.0.1", port)


@pytest.mark.parametrize("port", [0, -1, 65536])
def test_a_port_out_of_range_is_refused(port: int) -> None:
    with pytest.raises(SystemExit, match="from 1 to 65535"):
        run.check_port("127.0.0.1", port)


def test_an_address_of_another_machine_is_refused() -> None:
    """192.0.2.0/24 belongs to nobody (RFC 5737)."""
    with pytest.raises(SystemExit, match=r"Cannot answer on 192\.0\.2\.1"):
        run.check_port("192.0.2.1", 8000)


def test_a_data_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(SystemExit, match=r"Cannot write to .*Give another with --data DIR"):
        run.check_folder(tmp_path / "file" / "data")
    run.check_folder(tmp_path / "new" / "data")
    assert list((tmp_path / "new" / "data").iterdir()) == []


# The environment: pip and venv stand-ins, so nothing is fetched


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty project whose steps are written down instead of done."""
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    lay_locks(tmp_path)
    python = tmp_path / ".venv" / "python"
    monkeypatch.setattr(run, "has_pip", lambda _: python.exists())
    monkeypatch.setattr(run, "create", lambda *_: (python.touch(), note(tmp_path, "create")))
    monkeypatch.setattr(run, "install", lambda _, extras, *__: note(tmp_path, f"install {extras}"))
    return tmp_path


def lay_locks(project: Path, text: str = "") -> None:
    for lock in run.LOCKS.values():
        (project / lock).parent.mkdir(exist_ok=True)
        (project / lock).write_text(text)


def note(project: Path, step: str) -> None:
    with (project / "steps").open("a") as file:
        file.write(step + "\n")


def steps(project: Path) -> list[str]:
    """The steps since last asked."""
    path = project / "steps"
    lines = path.read_text().splitlines() if path.exists() else []
    path.unlink(missing_ok=True)
    return lines


def test_each_thing_is_installed_once(project: Path) -> None:
    made = run.make_environment("", project)
    assert made == project / ".venv" / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    assert steps(project) == ["create", "install "]
    run.make_environment("", project)
    assert steps(project) == []
    run.make_environment("dev", project)
    assert steps(project) == ["install dev"]
    run.make_environment("", project)
    run.make_environment("dev", project)
    assert steps(project) == [], "dev holds all that plain does"
    (project / "pyproject.toml").write_text("[project]\nname = 'changed'\n")
    run.make_environment("", project)
    assert steps(project) == ["install "]
    for lock in run.LOCKS.values():
        (project / lock).write_text("changed==1.0\n")
        run.make_environment("", project)
        assert steps(project) == ["install "], lock


def test_what_an_interrupted_run_left_is_made_anew(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(run, "install", interrupted)
        with pytest.raises(KeyboardInterrupt):
            run.make_environment("", project)
    assert steps(project) == ["create"]
    run.make_environment("", project)
    assert steps(project) == ["create", "install "]

    with monkeypatch.context() as patch:
        patch.setattr(run, "install", interrupted)
        with pytest.raises(KeyboardInterrupt):
            run.make_environment("dev", project)
    run.make_environment("", project)
    assert steps(project) == ["create", "install "], "it was whole, and then half changed"


def test_an_environment_whose_python_is_gone_is_made_anew(project: Path) -> None:
    run.make_environment("", project)
    (project / ".venv" / "python").unlink()
    steps(project)
    run.make_environment("", project)
    assert steps(project) == ["create", "install "]


def test_an_environment_that_came_along_from_another_folder_is_made_anew(project: Path) -> None:
    run.make_environment("", project)
    record = project / ".venv" / "yardfall.json"
    record.write_text(json.dumps({**json.loads(record.read_text()), "root": "/elsewhere"}))
    steps(project)
    run.make_environment("", project)
    assert steps(project) == ["create", "install "]


def test_somebody_elses_environment_is_left_alone(project: Path) -> None:
    (project / ".venv").mkdir()
    (project / ".venv" / "pyvenv.cfg").write_text("home = /usr/bin\n")
    with pytest.raises(SystemExit, match="was not made by this command"):
        run.make_environment("", project)
    assert [path.name for path in (project / ".venv").iterdir()] == ["pyvenv.cfg"]


@pytest.mark.skipif(run.fcntl is None, reason="no flock on Windows")
def test_two_runs_at_once_install_once(
    project: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def slow(*_: object) -> None:
        time.sleep(0.3)
        note(project, "install")

    monkeypatch.setattr(run, "install", slow)
    both = [threading.Thread(target=run.make_environment, args=("", project)) for _ in range(2)]
    for one in both:
        one.start()
    for one in both:
        one.join(timeout=5)
    assert steps(project) == ["create", "install"]
    assert capsys.readouterr().out.count("Another run") == 1


def test_a_full_disk_is_told_before_anything_is_made(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(run.shutil, "disk_usage", lambda _: SimpleNamespace(free=90_000_000))
    with pytest.raises(SystemExit, match=r"need 1000 MB of disk; .* has 90 MB"):
        run.make_environment("", project)
    assert steps(project) == []


@pytest.mark.parametrize("module", ["venv", "ensurepip"])
def test_a_python_without_venv_says_how_to_get_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, module: str
) -> None:
    (tmp_path / "pyproject.toml").touch()
    lay_locks(tmp_path)
    monkeypatch.setattr(
        run.importlib.util, "find_spec", lambda name: None if name == module else name
    )
    with pytest.raises(SystemExit, match=rf"no `{module}`.*apt install python3-venv"):
        run.make_environment("", tmp_path)


BACKEND = """
import zipfile

def build_editable(folder, config_settings=None, metadata_directory=None):
    name = "trivial-1.0-py3-none-any.whl"
    info = "trivial-1.0.dist-info/"
    with zipfile.ZipFile(f"{folder}/{name}", "w") as wheel:
        wheel.writestr("trivial.py", "import part; print(part.word)")
        wheel.writestr(info + "METADATA", "Metadata-Version: 2.1\\nName: trivial\\nVersion: 1.0\\n")
        wheel.writestr(info + "WHEEL", "Wheel-Version: 1.0\\nTag: py3-none-any\\n")
        wheel.writestr(info + "RECORD", "")
    return name
"""
BUILD = """
[build-system]
requires = []
build-backend = "backend"
backend-path = ["."]
[project]
name = "trivial"
version = "1.0"
"""


def part(folder: Path) -> str:
    """A package that the trivial project needs, as a wheel in a folder; its line of a lock."""
    wheel = folder / "part-1.0-py3-none-any.whl"
    with zipfile.ZipFile(wheel, "w") as file:
        file.writestr("part.py", "word = 'it runs'")
        about = "Metadata-Version: 2.1\nName: part\nVersion: 1.0\n"
        file.writestr("part-1.0.dist-info/METADATA", about)
        file.writestr("part-1.0.dist-info/WHEEL", "Wheel-Version: 1.0\nTag: py3-none-any\n")
        file.writestr("part-1.0.dist-info/RECORD", "")
    return f"part==1.0 --hash=sha256:{hashlib.sha256(wheel.read_bytes()).hexdigest()}\n"


def test_a_real_environment_of_a_trivial_project(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """venv and pip themselves; the project builds itself and needs nothing from outside."""
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(tmp_path))
    lay_locks(tmp_path, part(tmp_path))
    (tmp_path / "pyproject.toml").write_text(BUILD)
    (tmp_path / "backend.py").write_text(BACKEND)
    (tmp_path / ".venv").mkdir()
    (tmp_path / ".venv" / "yardfall.json").write_text('{"half": ')
    (tmp_path / ".venv" / "left-over").mkdir()
    python = run.make_environment("", tmp_path)
    told = subprocess.run([python, "-m", "trivial"], capture_output=True, text=True, check=True)
    assert told.stdout == "it runs\n"
    assert not (tmp_path / ".venv" / "left-over").exists()
    log = (tmp_path / ".venv/install.log").read_text()
    assert "Successfully installed part-1.0" in log
    assert "Successfully installed trivial-1.0" in log
    assert "putting 1 packages in place" in capsys.readouterr().out

    (tmp_path / "pyproject.toml").write_text(BUILD + "# changed\n")
    (tmp_path / "backend.py").write_text("raise OSError(28, 'No space left on device')")
    with pytest.raises(SystemExit, match=r"not be installed\. The disk is full.*install\.log"):
        run.make_environment("", tmp_path)
    assert "No space left on device" in capsys.readouterr().err


def test_a_package_that_is_not_the_one_tested_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(tmp_path))
    part(tmp_path)
    lay_locks(tmp_path, f"part==1.0 --hash=sha256:{'0' * 64}\n")
    (tmp_path / "pyproject.toml").write_text(BUILD)
    (tmp_path / "backend.py").write_text(BACKEND)
    with pytest.raises(SystemExit, match="another file than the one that was tested"):
        run.make_environment("", tmp_path)
    assert "Successfully installed" not in (tmp_path / ".venv/install.log").read_text()


@pytest.mark.parametrize(
    ("line", "shown"),
    [
        ("Collecting numpy<3,>=2.1 (from yardfall==0.1.0)\n", "    1  numpy"),
        ("  Collecting Flask\n", "    1  flask"),
        ("Processing /a-b/scikit_x-1.0-py3-none-any.whl (from y==1)\n", "    1  scikit-x"),
        ("Installing collected packages: a, b, c\n", "  putting 3 packages in place"),
        ("Requirement already satisfied: numpy in /x\n", ""),
        ("  Downloading numpy-2.4.6.whl (16 MB)\n", ""),
    ],
)
def test_progress_is_a_line_for_each_package(line: str, shown: str) -> None:
    seen: set[str] = set()
    assert run.progress(line, seen) == shown
    assert run.progress(line, seen) == ("" if "1 " in shown else shown)


@pytest.mark.parametrize(
    ("log", "advice"),
    [
        (
            "WARNING: Retrying (Retry(total=0)) after connection broken by 'NewConnectionError("
            "'<pip._vendor...>: Failed to establish a new connection: [Errno -3] Temporary failure "
            "in name resolution')': /simple/flask/",
            "check the network",
        ),
        ("ERROR: Could not install packages due to an OSError: [Errno 28] No space", "is full"),
        ("ERROR: Package 'yardfall' requires a different Python", ""),
    ],
)
def test_known_signs_get_advice(log: str, advice: str) -> None:
    told = run.advise(["first", log, "last"])
    assert (advice in told) if advice else (told == "")


# Serving

CHILD = """
import os, signal, sys, time
def stop(*_):
    os.write(1, b"stopped\\n")
    sys.exit(0)
signal.signal(signal.SIGTERM, stop)
os.write(1, b"ready\\n")
time.sleep(30)
"""


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("whole_group", [False, True], ids=["kill", "terminal"])
def test_a_signal_stops_the_child_once_and_cleanly(number: int, whole_group: bool) -> None:
    """A terminal's Ctrl-C goes to the whole group of the command, `kill` to the command alone."""
    command = f"import run, sys; sys.exit(run.serve([sys.executable, '-c', {CHILD!r}]))"
    with subprocess.Popen(
        [sys.executable, "-c", command],
        cwd=ROOT / "service",
        stdout=subprocess.PIPE,
        text=True,
        process_group=0,
    ) as process:
        assert process.stdout.readline() == "ready\n"
        if whole_group:
            os.killpg(process.pid, number)
        else:
            process.send_signal(number)
        assert process.stdout.read() == "stopped\n"
    assert process.returncode == 0


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_a_child_stopped_before_it_listens_for_signals_is_stopped_cleanly_too() -> None:
    child = "import time; print('ready', flush=True); time.sleep(30)"
    command = f"import run, sys; sys.exit(run.serve([sys.executable, '-c', {child!r}]))"
    with subprocess.Popen(
        [sys.executable, "-c", command], cwd=ROOT / "service", stdout=subprocess.PIPE
    ) as process:
        process.stdout.readline()
        process.terminate()
    assert process.returncode == 0


@pytest.mark.parametrize("code", [0, 3])
def test_the_childs_exit_code_is_handed_on(code: int) -> None:
    command = f"import run, sys; sys.exit(run.serve([sys.executable, '-c', 'exit({code})']))"
    done = subprocess.run([sys.executable, "-c", command], cwd=ROOT / "service")
    assert done.returncode == code


# Command two


def test_the_table_of_open_data_is_whole() -> None:
    names = [Path(member).name for package in checks.OPEN_DATA for member in package.files]
    assert len(names) == len(set(names)) == 6
    for package in checks.OPEN_DATA:
        assert package.licence
        assert all(int(digest, 16) and len(digest) == 64 for digest in package.files.values())


def package_of(content: bytes, member: str = "inner/folder/dem.tif") -> object:
    digest = hashlib.sha256(content).hexdigest()
    return checks.Package("pack", "1.0", "MIT", {member: digest})


def wheel_of(folder: Path, files: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(folder / "pack-1.0-py3-none-any.whl", "w") as wheel:
        for name, content in files.items():
            wheel.writestr(name, content)
    return folder / "pack-1.0-py3-none-any.whl"


def test_only_the_named_file_is_taken_and_only_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = {"inner/folder/dem.tif": b"heights", "../../evil": b"x", "/evil": b"x", "more": b"x"}
    calls = []

    def download(_python: Path, _package: object, into: Path) -> Path:
        calls.append(into)
        return wheel_of(into, files)

    monkeypatch.setattr(checks, "OPEN_DATA", (package_of(b"heights"),))
    monkeypatch.setattr(checks, "download", download)
    folder = tmp_path / "a" / "open-data"
    for _ in range(2):
        assert checks.fetch_open_data(Path("python"), folder) == folder
    assert len(calls) == 1
    (folder / "dem.tif").write_bytes(b"hei")
    checks.fetch_open_data(Path("python"), folder)
    assert len(calls) == 2, "a file that is not whole is fetched again"
    assert [p.name for p in tmp_path.rglob("*") if p.is_file()] == ["dem.tif"]
    assert (folder / "dem.tif").read_bytes() == b"heights"


def test_another_file_than_expected_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(checks, "OPEN_DATA", (package_of(b"heights"),))
    monkeypatch.setattr(
        checks, "download", lambda _, __, into: wheel_of(into, {"inner/folder/dem.tif": b"forged"})
    )
    with pytest.raises(SystemExit, match="not the file that the tests know"):
        checks.fetch_open_data(Path("python"), tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_only_a_plain_file_is_read_from_a_source_archive(tmp_path: Path) -> None:
    with tarfile.open(tmp_path / "pack-1.0.tar.gz", "w:gz") as source:
        plain = tarfile.TarInfo("pack-1.0/plain")
        plain.size = 7
        source.addfile(plain, io.BytesIO(b"heights"))
        link, folder = tarfile.TarInfo("pack-1.0/link"), tarfile.TarInfo("pack-1.0/folder")
        link.type, link.linkname, folder.type = tarfile.SYMTYPE, "/etc/passwd", tarfile.DIRTYPE
        source.addfile(link)
        source.addfile(folder)
    assert checks.read_member(tmp_path / "pack-1.0.tar.gz", "pack-1.0/plain") == b"heights"
    with pytest.raises(KeyError):  # it is looked for in the archive, and not there
        checks.read_member(tmp_path / "pack-1.0.tar.gz", "pack-1.0/link")
    with pytest.raises(SystemExit, match="not a plain file"):
        checks.read_member(tmp_path / "pack-1.0.tar.gz", "pack-1.0/folder")


def script(path: Path, body: str) -> Path:
    path.write_text(f"#!{sys.executable}\n{body}\n")
    path.chmod(0o755)
    return path


@pytest.fixture
def bare_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder as the whole PATH, and no browser named or in the usual places."""
    folder = tmp_path / "bin"
    folder.mkdir()
    monkeypatch.setenv("PATH", str(folder))
    monkeypatch.delenv("YARDFALL_BROWSER", raising=False)
    names = (checks.LIGHT_BROWSER, "chromium", "google-chrome")
    monkeypatch.setattr(checks, "BROWSERS", names)
    return folder


def apt_get(folder: Path, *packages: Path) -> None:
    """A stand-in for apt-get that knows these packages, each of one program."""
    known = {path.name: str(path) for path in packages}
    script(
        folder / "apt-get",
        "import os, pathlib, sys\n"
        f"made = {known}.get(sys.argv[-1]) if sys.argv[-2] == 'install' else None\n"
        "if made:\n"
        "    pathlib.Path(made).write_text('#!/bin/sh\\n'); os.chmod(made, 0o755)",
    )


@pytest.mark.skipif(os.name == "nt", reason="the stand-ins are POSIX scripts")
def test_a_browser_is_named_or_found_or_installed(
    bare_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    python = script(bare_path / "python", "import sys; sys.exit(sys.argv[1:4] != EXPECTED)")
    with pytest.raises(SystemExit, match="No browser: install Chromium"):
        checks.find_browser(python)
    expected = "['-m', 'playwright', 'install']"
    script(python, f"import sys; sys.exit(sys.argv[1:4] != {expected})")
    assert checks.find_browser(python) == "", "Playwright's own"

    monkeypatch.setattr(os, "geteuid", lambda: 0)
    chromium, light = bare_path / "chromium", bare_path / checks.LIGHT_BROWSER
    apt_get(bare_path, chromium)
    assert checks.find_browser(python) == str(chromium), "where there is no light one"
    apt_get(bare_path, chromium, light)
    assert checks.find_browser(python) == str(light), "it is installed beside the other"
    light.unlink()
    (bare_path / "apt-get").unlink()

    chromium.write_text("#!/bin/sh\nexit 1\n")
    chrome = script(bare_path / "google-chrome", "")
    assert checks.find_browser(python) == str(chrome), "a browser that does not run is passed over"
    monkeypatch.setenv("YARDFALL_BROWSER", str(script(bare_path / "mine", "")))
    assert checks.find_browser(python) == str(bare_path / "mine")
    monkeypatch.setenv("YARDFALL_BROWSER", str(bare_path / "none"))
    with pytest.raises(SystemExit, match="does not run as a browser"):
        checks.find_browser(python)


@pytest.mark.skipif(os.name == "nt", reason="the stand-ins are POSIX scripts")
def test_every_check_runs_and_one_failure_fails_all(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    script(tmp_path / "good", "import os; print('good saw', os.environ['SEEN'], os.getcwd())")
    script(tmp_path / "bad", "print('bad ran'); exit(4)")
    environment = {**os.environ, "SEEN": "this"}
    assert checks.run_all([["bad"], ["good", "-q"]], tmp_path, environment) == 1
    out = capfd.readouterr().out
    assert out.index("bad ran") < out.index(f"good saw this {ROOT}")
    assert [line.split("  ")[0] for line in out.splitlines()[-3:]] == [
        "bad",
        "good -q",
        "Failed: bad",
    ]
    assert checks.run_all([["good"]], tmp_path, environment) == 0
    assert capfd.readouterr().out.endswith("\nAll checks passed.\n")


@pytest.mark.skipif(os.name == "nt", reason="the stand-ins are POSIX scripts")
def test_without_node_the_page_is_told_to_be_unchecked(
    bare_path: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    script(tmp_path / "good", "")
    commands, environment = [["npx", "tool", "check"], ["good"]], dict(os.environ)
    assert checks.run_all(commands, tmp_path, environment) == 0
    assert capfd.readouterr().out.splitlines()[-2:] == [
        "Not checked, as there is no npx here (it comes with node): npx tool check",
        "All other checks passed.",
    ]
    script(bare_path / "npx", "exit(5)")
    assert checks.run_all(commands, tmp_path, environment) == 1
    assert "Failed: npx tool check" in capfd.readouterr().out


def test_every_check_is_run_before_a_commit_too() -> None:
    hooks = (ROOT / ".pre-commit-config.yaml").read_text("utf-8")
    before = re.findall(r"entry: (.*)", hooks)
    assert before == [*checks.CHECKS, checks.PAGE_CHECK]
