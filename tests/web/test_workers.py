"""The service as it runs: workers, signals, the request log, settings. Stones and keys are made up."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Final

import httpx
import pytest

from gradefloor.web.access import new_key
from processes import DRAIN, GRACE, Running, first_version, running
from running import ASK, ROOT, free_port

STONE: Final = {"stone": {"shape": "oval"}}
CANARY: Final = "qzcanary77"


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return first_version(tmp_path_factory.mktemp("rules"))


# Workers


def test_workers_answer_together_die_apart_and_end_together(tmp_path: Path, rules: Path) -> None:
    with running(tmp_path, rules, "--workers", "2") as service:
        workers = service.children()
        assert len(workers) == 2
        seen: set[int] = set()
        sent = 0
        deadline = time.monotonic() + 20
        while seen != workers and time.monotonic() < deadline:  # the second may be ready later than the first
            for _ in range(20):
                answer = ASK.post(f"{service.address}/v1/evaluations", json=STONE)
                sent += answer.is_success
            time.sleep(0.5)
            seen = {line["worker"] for line in service.lines() if line["route"] == "/v1/evaluations"}
        assert seen == workers, "the kernel gives each its part"

        counted = f'gradefloor_verdicts_total{{verdict="ask"}} {sent}.0'
        assert counted in ASK.get(f"{service.address}/metrics").text

        killed = workers.pop()
        os.kill(killed, signal.SIGKILL)
        deadline = time.monotonic() + 3
        while len(service.children() - {killed}) < 2 and time.monotonic() < deadline:
            time.sleep(0.05)
        assert len(service.children() - {killed}) == 2, "back within three seconds"
        assert counted in ASK.get(f"{service.address}/metrics").text

        service.process.terminate()
        assert service.process.wait(timeout=DRAIN + GRACE + 3) == 0
    assert f"worker {killed} ended (signal 9)" in service.err.read_text()


@pytest.mark.long
def test_workers_that_die_again_and_again_end_the_service(tmp_path: Path, rules: Path) -> None:
    with running(tmp_path, rules, "--workers", "2") as service:
        deadline = time.monotonic() + 30
        while service.process.poll() is None and time.monotonic() < deadline:
            for pid in service.children():
                os.kill(pid, signal.SIGKILL)
            time.sleep(0.05)
        assert service.process.returncode == 1
    assert "giving up" in service.err.read_text()


# Ending


def half_head(connection: socket.socket) -> None:
    connection.sendall(b"GET /health/live HTTP/1.1\r\nHo")


def half_body(connection: socket.socket) -> None:
    connection.sendall(
        b"POST /v1/evaluations HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
        b"Content-Length: 99\r\n\r\n{"
    )


def silent(_connection: socket.socket) -> None:
    """Say nothing."""


def idle(connection: socket.socket) -> None:
    connection.sendall(b"GET /health/live HTTP/1.1\r\nHost: a\r\n\r\n")
    connection.recv(65536)


def pipelined(connection: socket.socket) -> None:
    connection.sendall(b"GET /health/live HTTP/1.1\r\nHost: a\r\n\r\n" * 20)


def half_stream(connection: socket.socket) -> None:
    line = b'{"shape":"oval"}\n'
    connection.sendall(
        b"POST /v1/evaluations/stream HTTP/1.1\r\nHost: a\r\nContent-Type: application/x-ndjson\r\n"
        b"Transfer-Encoding: chunked\r\n\r\n%x\r\n%s\r\n" % (len(line), line)
    )


def slow_reader(connection: socket.socket) -> None:
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    connection.sendall(b"GET /openapi.json HTTP/1.1\r\nHost: a\r\n\r\n" * 5)


def in_flight(connection: socket.socket) -> None:
    body = json.dumps({"stones": [{"shape": "oval"}] * 3000}).encode()
    connection.sendall(
        b"POST /v1/evaluations/batch HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
        b"Content-Length: %d\r\n\r\n" % len(body) + body
    )


STATES: Final = (half_head, half_body, silent, idle, pipelined, half_stream, slow_reader, in_flight)


@pytest.mark.parametrize("workers", ["1", pytest.param("2", marks=pytest.mark.long)])
def test_the_service_ends_in_time_whatever_its_clients_do(tmp_path: Path, rules: Path, workers: str) -> None:
    with running(tmp_path, rules, "--workers", workers) as service:
        connections = []
        for state in STATES:
            connection = socket.create_connection(("127.0.0.1", service.port), timeout=10)
            state(connection)
            connections.append(connection)
        time.sleep(0.2)
        began = time.monotonic()
        service.process.terminate()
        code = service.process.wait(timeout=30)
        took = time.monotonic() - began
        for connection in connections:
            connection.close()
    assert code == 0
    assert took < DRAIN + GRACE + 2


def test_before_it_ends_it_is_not_ready_and_still_answers(tmp_path: Path, rules: Path) -> None:
    with running(tmp_path, rules, "--drain-seconds", "2") as service:
        service.process.terminate()
        time.sleep(0.5)
        ready = ASK.get(f"{service.address}/health/ready")
        assert (ready.status_code, ready.json()["code"]) == (503, "draining")
        answer = ASK.post(f"{service.address}/v1/evaluations", json=STONE)
        assert answer.status_code == 200
        assert answer.headers["connection"] == "close"
        assert ASK.get(f"{service.address}/health/live").status_code == 200
        assert service.process.wait(timeout=10) == 0


# Starting


def started(*options: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "gradefloor", "serve", *options],
        cwd=ROOT, env={**os.environ, **environment}, capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip


@pytest.mark.parametrize("workers", ["1", pytest.param("2", marks=pytest.mark.long)])
@pytest.mark.parametrize(
    ("options", "code", "told"),
    [
        (("--rulesets", "nowhere"), 1, "no such file"),
        (("--host", "0.0.0.0"), 2, "name the keys with --keys"),  # noqa: S104 - it must be refused
        (("--host", "::"), 2, "name the keys with --keys"),
        (("--keys", "nowhere"), 2, "nowhere: No such file"),
        (("--keys", "README.md"), 1, "README.md:"),
        (("--allow-origin", "shop.example"), 2, "is no origin"),
        (("--trusted-key", "README.md"), 2, "no public Ed25519 key"),
        (("--look-every", "-1"), 2, "--look-every"),
        (("--workers", "0"), 2, "--workers"),
    ],
)
def test_what_cannot_start_says_so_and_fails(
    rules: Path, options: tuple[str, ...], code: int, told: str, workers: str
) -> None:
    done = started("--rulesets", str(rules), "--workers", workers, *options)
    assert done.returncode == code, done.stderr
    assert told in done.stderr


@pytest.mark.parametrize("workers", ["1", "2"])
def test_a_port_that_is_taken_is_told_before_anybody_starts(rules: Path, workers: str) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        done = started("--rulesets", str(rules), "--workers", workers, "--port", port)
    assert done.returncode == 2
    assert f"Cannot listen on 127.0.0.1:{port}" in done.stderr


def test_a_signal_to_look_while_starting_does_not_end_it(tmp_path: Path, rules: Path) -> None:
    port = free_port()
    command = [sys.executable, "-m", "gradefloor", "serve", "--rulesets", str(rules), "--port", str(port)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as process:
        service = Running(port, process, tmp_path / "out", tmp_path / "err")
        (tmp_path / "err").write_text("")
        time.sleep(0.4)
        while process.poll() is None:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    break
            if Path(f"/proc/{process.pid}/status").exists() and _ignores_hangup(process.pid):
                process.send_signal(signal.SIGHUP)
            time.sleep(0.05)
        service.wait_ready()
        process.terminate()
        assert process.wait(timeout=15) == 0


def _ignores_hangup(pid: int) -> bool:
    """Whether it has begun to care for the signal, one way or the other (Linux)."""
    status = Path(f"/proc/{pid}/status").read_text()
    masks = [
        int(line.split()[1], 16) for line in status.splitlines() if line.startswith(("SigIgn", "SigCgt"))
    ]
    return any(mask & (1 << (signal.SIGHUP - 1)) for mask in masks)


@pytest.mark.long
def test_settings_come_from_the_environment(tmp_path: Path, rules: Path) -> None:
    with running(tmp_path, rules, GRADEFLOOR_WORKERS="2", GRADEFLOOR_REQUEST_LOG="false") as service:
        assert len(service.children()) == 2
        ASK.get(f"{service.address}/v1/vocabulary")
        time.sleep(0.5)
        assert service.lines() == []


# Keys


def test_a_key_is_changed_without_a_restart(tmp_path: Path, rules: Path) -> None:
    old, new = new_key(), new_key()
    file = tmp_path / "keys.yaml"

    def write(digest: str) -> None:
        file.write_text(f'keys:\n  - {{id: shop, sha256: "{digest}", scopes: [judge]}}\n...\n')

    def status(key: str) -> int:
        headers = {"Authorization": f"Bearer {key}"}
        return ASK.get(f"{service.address}/v1/evaluations?shape=oval", headers=headers).status_code

    write(old[1])
    with running(tmp_path, rules, "--keys", str(file), "--look-every", "0.1") as service:
        assert (status(old[0]), status(new[0])) == (200, 401)
        write(new[1])
        deadline = time.monotonic() + 10
        while status(new[0]) != 200 and time.monotonic() < deadline:
            time.sleep(0.05)
        assert (status(old[0]), status(new[0])) == (401, 200)
        file.write_text("keys: [\n")
        while ASK.get(f"{service.address}/health/ready").json()["rules"]["state"] != "refused":
            assert time.monotonic() < deadline
            time.sleep(0.05)
        assert status(new[0]) == 200, "the last good keys stay"
    logged = service.out.read_text() + service.err.read_text()
    assert not any(secret in logged for secret in (*old, *new))
    assert "the last good rules and keys answer" in service.err.read_text()


# The request log


def test_every_request_is_one_line_without_what_was_in_it(tmp_path: Path, rules: Path) -> None:
    with running(tmp_path, rules) as service, httpx.Client(base_url=service.address) as client:
        stone = {"shape": "oval", "id": CANARY}
        answered = client.post("/v1/evaluations", json={"stone": stone}, headers={"X-Request-Id": "mine-1"})
        client.get(f"/v1/evaluations?shape={CANARY}")
        client.get(f"/{CANARY}%0aINFO: forged")
        client.get("/v1/vocabulary", headers={"X-Request-Id": f"{CANARY} x", "User-Agent": CANARY})
        client.post(
            "/v1/evaluations", content=f'{{"{CANARY}": 1', headers={"Content-Type": "application/json"}
        )
        client.get("/v1/rulesets/house", headers={"Authorization": f"Bearer {CANARY}", "Cookie": CANARY})
        client.get("/health/live", headers={"X-Request-Id": f"{CANARY}".ljust(70, "x")})
        time.sleep(0.6)
        lines = service.lines()[-7:]
    assert answered.headers["x-request-id"] == "mine-1"
    first = lines[0]
    assert (first["request_id"], first["route"], first["status"]) == ("mine-1", "/v1/evaluations", 200)
    assert (first["ruleset"], first["verdicts"]) == ("house@1.0.0", {"ask": 1})
    assert first["digest"] == answered.json()["ruleset"]["digest"]
    assert [line.get("code") for line in lines] == [
        None, "query_invalid", "not_found", None, "json_invalid", None, None,
    ]  # fmt: skip
    assert [line["route"] for line in lines][1:4] == ["/v1/evaluations", "none", "/v1/vocabulary"]
    assert CANARY not in service.out.read_text() + service.err.read_text()


@pytest.mark.long
def test_a_log_that_nobody_reads_holds_nobody_up(rules: Path) -> None:
    port = free_port()
    command = [sys.executable, "-m", "gradefloor", "serve", "--rulesets", str(rules), "--port", str(port)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as process:
        service = Running(port, process, Path(os.devnull), Path(os.devnull))
        service.wait_ready()
        with httpx.Client(base_url=service.address) as client:
            for _ in range(600):  # more than a pipe holds
                assert client.get("/health/live").status_code == 200
        process.terminate()
        assert process.wait(timeout=10) == 0
