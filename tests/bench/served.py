"""Servers of the benchmark, each a process on the first core; whoever asks is on the second."""

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Final

from asked import ROOT
from load import Asking, message
from running import free_port

PEERS: Final = Path(__file__).with_name("peers.py")
SERVING: Final = 0
ASKING: Final = 1


@contextmanager
def service(*options: str, core: int | None = SERVING) -> Iterator[tuple[int, subprocess.Popen[bytes]]]:
    """The service by its own command, ready."""
    port = free_port()
    with _process(
        [sys.executable, "-m", "gradefloor", "serve", "--port", str(port), *options], core
    ) as process:
        until_ready(port)
        yield port, process


@contextmanager
def peer(which: str) -> Iterator[int]:
    """A peer that judges nothing."""
    port = free_port()
    with _process([sys.executable, str(PEERS), which, str(port)], SERVING):
        _until_open(port)
        yield port


@contextmanager
def _process(command: list[str], core: int | None) -> Iterator[subprocess.Popen[bytes]]:
    cores = {core} if core is not None else os.sched_getaffinity(0)
    folders = [
        str(ROOT / "tests" / "bench"),
        str(ROOT / "tests" / "web"),
        str(ROOT / "tests"),
        os.environ.get("PYTHONPATH", ""),
    ]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, folders))}
    # Whoever installs it has the bytecode; without it, every start would compile all files anew.
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    process = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL)
    os.sched_setaffinity(process.pid, cores)
    try:
        yield process
    finally:
        process.terminate()
        process.wait(timeout=30)


def _until_open(port: int, seconds: float = 30) -> None:
    deadline = time.perf_counter() + seconds
    while True:
        try:
            Asking(port).close()
        except OSError:
            if time.perf_counter() > deadline:
                raise
            time.sleep(0.005)
        else:
            return


def until_ready(port: int, seconds: float = 30) -> None:
    """Until readiness is told, as an orchestrator would ask."""
    _until_open(port, seconds)
    deadline = time.perf_counter() + seconds
    question = b"GET /health/ready HTTP/1.1\r\nhost: bench\r\n\r\n"
    while time.perf_counter() < deadline:
        one = Asking(port)
        try:
            one.ask(question)
        except RuntimeError:
            time.sleep(0.005)
        else:
            return
        finally:
            one.close()
    raise RuntimeError("the service did not get ready")


@contextmanager
def all_of(*which: str) -> Iterator[dict[str, int]]:
    """Ports of the service and of these peers."""
    with ExitStack() as running:
        ports = {"service": running.enter_context(service())[0]}
        for name in which:
            ports[name] = running.enter_context(peer(name))
        yield ports


def posts(path: str, bodies: list[bytes]) -> list[bytes]:
    return [message(path, body) for body in bodies]
