"""Starts the service as people run it, on a free port of this machine, and ends it by a signal."""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

import httpx

ROOT = Path(__file__).parents[2]
START_SECONDS = 60
# For single questions, each on a connection of its own. `httpx.get` makes a client for every question, and
# each reads the certificates of all authorities: 25 ms of computing, over and over while a test waits.
ASK: Final = httpx.Client(limits=httpx.Limits(max_keepalive_connections=0))


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def running_server(*options: str, hash_seed: str = "0") -> Iterator[str]:
    """Address of a service that runs as people run it, with more options, and is ended by a signal."""
    with running_process(*options, hash_seed=hash_seed) as (address, _):
        yield address


@contextmanager
def running_process(*options: str, hash_seed: str = "0") -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """The same with the process, for who sends it more signals."""
    port = free_port()
    command = [sys.executable, "-m", "gradefloor", "serve", "--port", str(port), *options]
    environment = {**os.environ, "PYTHONHASHSEED": hash_seed}
    address = f"http://127.0.0.1:{port}"
    with subprocess.Popen(
        command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    ) as process:
        try:
            _wait_until_ready(address, process)
            yield address, process
        finally:
            process.terminate()
            process.wait(timeout=15)


def _wait_until_ready(address: str, process: subprocess.Popen[bytes]) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        if process.poll() is not None:
            raise RuntimeError(f"the server ended with {process.returncode}")
        try:
            if ASK.get(f"{address}/health/ready").is_success:
                return
        except httpx.TransportError:
            time.sleep(0.05)
    raise RuntimeError("the server did not get ready")
