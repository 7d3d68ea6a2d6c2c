"""The command line: plans from a file or from input, and a server that stops when told."""

from __future__ import annotations

import io
import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from yardfall.cli.main import main
from yardfall.store.keys import SCOPES

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "openapi" / "examples" / "level_line.json"


@pytest.fixture
def run(tmp_path, capsys):
    """Run a command on an empty data directory: exit code, what it printed, what it complained."""

    def call(*arguments: str) -> tuple[int, str, str]:
        code = main([*arguments, "--data", str(tmp_path / "data")])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return call


@pytest.fixture
def request_file(tmp_path):
    """A file with a request, or with any text."""

    def write(content: dict | str) -> str:
        path = tmp_path / "request.json"
        path.write_text(content if isinstance(content, str) else json.dumps(content), "utf-8")
        return str(path)

    return write


def test_a_plan_as_json_is_the_apis(run, client, yard_request) -> None:
    code, out, err = run("plan", str(EXAMPLE))
    assert (code, err) == (0, "")
    assert json.loads(out) == client.post("/api/v1/plan", json=yard_request).json


def test_a_plan_as_a_table(run) -> None:
    code, out, _ = run("plan", str(EXAMPLE), "--table")
    assert code == 0
    lines = out.splitlines()
    assert lines[:3] == ["Yes: 2.6 in of fall to spare.", "On the whole: yes.", ""]
    head = ["station", "string to ground in", "dig in", "cover in", "string to bottom", "grade %"]
    assert re.split(r"  +", lines[3]) == head
    assert [line.split()[0] for line in lines[4:9]] == ["0+00", "0+13", "0+26", "0+39", "0+52"]
    assert lines[5].split() == ["0+13", "10.5", "13", "8.5", "23", "1/2", "1.28"]
    assert len({len(line) for line in lines[3:9]}) == 1, "columns line up"
    assert "Caution: Call the utility marking service" in out


def test_a_table_with_rod_readings(run) -> None:
    _, out, _ = run("plan", str(ROOT / "openapi" / "examples" / "rod.json"), "--table")
    assert "rod" in out.splitlines()[3]
    assert out.splitlines()[4].split()[-2] == "6.43"


def test_a_no_is_told_and_is_no_failure(run, request_file, yard_request) -> None:
    yard_request["outlet"]["depth"] = {"max": 4}
    code, out, _ = run("plan", request_file(yard_request), "--table")
    assert code == 0
    assert out.startswith("No: ")


def test_a_plan_from_input(run, monkeypatch) -> None:
    source = io.TextIOWrapper(io.BytesIO(EXAMPLE.read_bytes()))
    monkeypatch.setattr(sys, "stdin", source)
    code, out, _ = run("plan", "-")
    assert code == 0
    assert json.loads(out)["answer"]["verdict"] == "yes"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("not json", "not JSON"),
        ("", "not JSON"),
        ("[" * 100_000, "JSON"),
        ('{"units": ' + "7" * 5000 + "}", "JSON"),
        ("[]", "/: This must be an object."),
        ("{}", "/units: The field 'units' is missing."),
        ({"units": "us", "surplus": 1}, "/surplus: There is no field 'surplus' here"),
    ],
    ids=["words", "empty", "deep", "long number", "list", "nothing", "surplus"],
)
def test_what_is_wrong_is_told_and_is_exit_2(content, words, run, request_file) -> None:
    code, out, err = run("plan", request_file(content))
    assert (code, out) == (2, "")
    assert words in err
    assert "Traceback" not in err


def test_faults_between_fields_are_pointed_at(run, request_file, yard_request) -> None:
    yard_request["route"]["length"] = 60
    code, _, err = run("plan", request_file(yard_request))
    assert code == 2
    assert err.startswith("/ground: The ground is not known at 0+52 to 0+60")


def test_a_file_that_is_not_there(run) -> None:
    code, out, err = run("plan", "nowhere.json")
    assert (code, out) == (2, "")
    assert "nowhere.json" in err


@pytest.mark.parametrize("arguments", [[], ["dig"], ["plan"], ["serve", "--port", "many"]])
def test_usage_is_told(arguments: list[str], capsys) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(arguments)
    assert stopped.value.code == 2
    assert "usage: yardfall" in capsys.readouterr().err


def test_help_loads_no_sums() -> None:
    """They take seconds."""
    heavy = "{'numpy', 'numba', 'flask', 'sqlalchemy'} & set(sys.modules)"
    told = f"import sys; from yardfall.cli.main import main; assert not {heavy}"
    subprocess.run([sys.executable, "-c", told], check=True, timeout=60)


@pytest.mark.parametrize("scope", SCOPES)
def test_every_scope_of_a_key_may_be_asked_for(scope: str, run) -> None:
    code, _, err = run("key", "new", "a crew", "--scope", scope)
    assert code == 0
    assert f"({scope})" in err


def test_a_paper_that_there_is_not_is_told_with_those_that_there_are(run) -> None:
    code, out, err = run("plan", str(EXAMPLE), "--paper", "poem.txt")
    assert (code, out) == (2, "")
    assert "dig-sheet.pdf" in err


def test_the_contract_is_printed(run, client) -> None:
    code, out, _ = run("contract")
    assert code == 0
    assert json.loads(out) == client.get("/api/v1/openapi.json").json


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def fetch(url: str) -> dict:
    with urllib.request.urlopen(url, timeout=10) as answer:
        return json.load(answer)


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as POSIX has them")
@pytest.mark.parametrize("stop", [signal.SIGTERM, signal.SIGINT])
def test_it_serves_until_told_to_stop(stop: signal.Signals, tmp_path) -> None:
    """Told five times: told once, see tests/hostile/test_stop."""
    port = free_port()
    command = [sys.executable, "-m", "yardfall", "serve"]
    command += ["--port", str(port), "--data", str(tmp_path / "data")]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, encoding="utf-8"
    ) as server:
        try:
            assert server.stdout is not None
            assert f"http://127.0.0.1:{port}/" in server.stdout.readline()
            address = f"http://127.0.0.1:{port}/api/v1"
            assert fetch(f"{address}/health")["status"] == "ok"
            (demo,) = fetch(f"{address}/rasters")["rasters"]
            assert demo["name"] == "The demo yard"
            began = time.monotonic()
            for _ in range(5):  # a second one while it is on its way down changes nothing
                server.send_signal(stop)
                time.sleep(0.005)
            out, err = server.communicate(timeout=20)
        finally:
            server.kill()
    assert server.returncode == 0
    assert time.monotonic() - began < 10
    assert "stopped" in out
    assert "Traceback" not in err


def test_what_was_kept_before_keys_is_told_of_and_can_be_had(run, client, yard_request) -> None:
    kept = client.post("/api/v1/jobs", json={"name": "Elm St 4", "request": yard_request})
    assert kept.status_code == 201
    _, secret, err = run("key", "new", "Ann")
    assert "now seen with none: jobs (1)." in err

    def jobs() -> int:
        headers = {"Authorization": f"Bearer {secret.strip()}"}
        return client.get("/api/v1/jobs", headers=headers).json["page"]["total"]

    assert jobs() == 0
    told = re.search(r"yardfall (key new NAME --shares \w+ --adopt)", err)
    _, _, err = run(*told[1].split())
    assert "seen with none" not in err
    assert jobs() == 1


def test_others_are_served_with_a_key_alone(run, capsys, tmp_path) -> None:
    code, out, err = run("serve", "--host", "0.0.0.0", "--port", str(free_port()))
    assert (code, out) == (2, "")
    assert "yardfall key new NAME" in err
    code, secret, err = run("key", "new", "Ann's tablet")
    assert code == 0
    assert secret.startswith("yard_")
    key = re.search(r"id ([0-9a-f]{32})", err)[1]
    assert "Ann's tablet" in run("key", "list")[1]
    assert secret.strip() not in run("key", "list")[1]
    assert run("key", "revoke", key)[0] == 0
    assert run("key", "revoke", "nothing")[0] == 2
    assert "revoked" in run("key", "list")[1]
    assert run("serve", "--host", "0.0.0.0", "--port", str(free_port()))[0] == 2
    assert run("backup", str(tmp_path / "all.tar"))[0] == 0
    code, _, err = run("restore", str(tmp_path / "all.tar"))
    assert code == 2
    assert "already" in err


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as POSIX has them")
def test_a_proxys_requests_are_told_and_a_kill_leaves_no_process(tmp_path) -> None:
    """Without keys: a request with a proxy's header is refused, by the server as it really runs."""
    port = free_port()
    command = [sys.executable, "-m", "yardfall", "serve", "--log", "requests"]
    command += ["--port", str(port), "--data", str(tmp_path / "data")]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as server:
        try:
            assert server.stdout is not None
            server.stdout.readline()
            url = f"http://127.0.0.1:{port}/api/v1/rasters"
            proxied = urllib.request.Request(url, headers={"X-Forwarded-For": "192.0.2.7"})
            with pytest.raises(urllib.error.HTTPError, match="403") as refused:
                urllib.request.urlopen(proxied, timeout=10)
            refused.value.close()
            body = b"--x\r\nContent-Disposition: form-data; name=file; filename=a\r\n\r\nII*\0\r\n"
            body += b"--x--"
            kind = {"Content-Type": "multipart/form-data; boundary=x"}
            with pytest.raises(urllib.error.HTTPError, match="422") as refused:
                urllib.request.urlopen(urllib.request.Request(url, body, kind), timeout=30)
            refused.value.close()
        finally:
            server.kill()
        _, err = server.communicate(timeout=20)
    lines = [json.loads(line) for line in err.splitlines() if line.startswith("{")]
    assert [line["status"] for line in lines] == [403, 422]
    ends = time.monotonic() + 10
    while time.monotonic() < ends:
        try:
            os.killpg(server.pid, 0)
        except ProcessLookupError:
            return
        time.sleep(0.1)
    pytest.fail("the process that reads files outlived the server")
