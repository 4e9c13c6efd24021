"""The service in processes of its own, with what it writes, for tests of how it runs."""

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import httpx

from running import ASK, ROOT, free_port
from samples import RULESETS

DRAIN: Final = 0.5
GRACE: Final = 3


def first_version(folder: Path) -> Path:
    """The house's first version by itself, which is quick to start."""
    root = folder / "rulesets"
    shutil.copytree(RULESETS / "house" / "1.0.0", root / "house" / "1.0.0")
    line = next(line for line in (RULESETS / "RELEASED").read_text().splitlines() if "house 1.0.0" in line)
    (root / "RELEASED").write_text(f"{line}\nend 1\n")
    return root


@dataclass
class Running:
    """A service in processes of its own."""

    port: int
    process: subprocess.Popen[bytes]
    out: Path
    err: Path

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def children(self) -> set[int]:
        """Processes that it has started and that live (Linux)."""
        found = set()
        for status in Path("/proc").glob("[0-9]*/stat"):
            try:
                _, _, rest = status.read_text().rpartition(") ")
            except OSError:
                continue  # it has just ended
            if rest.split()[1] == str(self.process.pid) and not rest.startswith("Z"):
                found.add(int(status.parent.name))
        return found

    def wait_ready(self, seconds: float = 60) -> None:
        deadline = time.monotonic() + seconds
        while time.monotonic() < deadline:
            assert self.process.poll() is None, self.err.read_text()
            try:
                if ASK.get(f"{self.address}/health/ready").is_success:
                    return
            except httpx.TransportError:
                time.sleep(0.05)
        raise AssertionError("not ready")

    def lines(self) -> list[dict[str, Any]]:
        """The request log so far."""
        return [json.loads(line) for line in self.out.read_text().splitlines() if line.startswith("{")]


@contextmanager
def running(folder: Path, rules: Path, *options: str, **environment: str) -> Iterator[Running]:
    port = free_port()
    out, err = folder / f"{port}.out", folder / f"{port}.err"
    command = [sys.executable, "-m", "gradefloor", "serve", "--rulesets", str(rules), "--port", str(port)]
    command += ["--drain-seconds", str(DRAIN), *options]
    with out.open("wb") as stdout, err.open("wb") as stderr:
        process = subprocess.Popen(
            command, cwd=ROOT, stdout=stdout, stderr=stderr, env={**os.environ, **environment}
        )
        found = Running(port, process, out, err)
        try:
            found.wait_ready()
            yield found
        finally:
            process.terminate()
            process.wait(timeout=30)
