"""What only shows when it goes on for long: restarts under load, memory, sameness. Figures are printed."""

import json
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import httpx
import pytest

from processes import Running, first_version, running
from running import ASK, ROOT

pytestmark = pytest.mark.long

STONE: Final = {"stone": {"shape": "oval"}}


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return first_version(tmp_path_factory.mktemp("rules"))


def tell(figure: str) -> None:
    sys.stdout.write(f"{figure}\n")


@dataclass
class Balancer:
    """Sends requests to whichever instance says that it is ready, and counts what fails."""

    instances: list[Running]
    ready: list[bool] = field(default_factory=lambda: [True, True])
    sent: int = 0
    failed: int = 0
    stopped: threading.Event = field(default_factory=threading.Event)

    def probe(self) -> None:
        while not self.stopped.wait(0.05):
            for index, instance in enumerate(self.instances):
                try:
                    self.ready[index] = ASK.get(f"{instance.address}/health/ready", timeout=1).is_success
                except httpx.TransportError:
                    self.ready[index] = False

    def ask(self) -> None:
        with httpx.Client() as client:
            while not self.stopped.wait(0.004):
                up = [one for one, fine in zip(self.instances, self.ready, strict=True) if fine]
                self.sent += 1
                try:
                    answer = client.post(f"{up[self.sent % len(up)].address}/v1/evaluations", json=STONE)
                    self.failed += not answer.is_success
                except (httpx.TransportError, ZeroDivisionError):
                    self.failed += 1

    def restart(self, index: int, rules: Path) -> None:
        old = self.instances[index]
        old.process.terminate()
        old.process.wait(timeout=30)
        command = [sys.executable, "-m", "gradefloor", "serve", "--rulesets", str(rules)]
        command += ["--port", str(old.port), "--no-request-log"]
        process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self.instances[index] = Running(old.port, process, old.out, old.err)
        self.instances[index].wait_ready()
        time.sleep(1)


def test_rolling_restarts_behind_a_balancer_lose_no_request(tmp_path: Path, rules: Path) -> None:
    with running(tmp_path, rules) as first, running(tmp_path, rules) as second:
        balancer = Balancer([first, second])
        threads = [threading.Thread(target=work) for work in (balancer.probe, balancer.ask, balancer.ask)]
        for thread in threads:
            thread.start()
        began = time.monotonic()
        for turn in range(6):
            balancer.restart(turn % 2, rules)
        while balancer.sent < 4000:
            time.sleep(0.1)
        rate = balancer.sent / (time.monotonic() - began)
        balancer.stopped.set()
        for thread in threads:
            thread.join()
        for instance in balancer.instances:
            instance.process.terminate()
            instance.process.wait(timeout=30)
    tell(f"6 rolling restarts: {balancer.failed} of {balancer.sent} requests failed, {rate:.0f} a second")
    assert balancer.failed == 0


def test_a_million_evaluations_take_no_more_memory(tmp_path: Path, rules: Path) -> None:
    """Growth from 100,000 to 1,000,000 evaluations, in batches of 10,000."""
    stone = {"shape": "oval", "carat": 1.2, "color": "G", "clarity": "VS1"}
    body = json.dumps({"stones": [stone] * 10_000})
    headers = {"Content-Type": "application/json"}
    sizes = []
    with running(tmp_path, rules) as service, httpx.Client(base_url=service.address, timeout=120) as client:
        for turn in range(100):
            assert client.post("/v1/evaluations/batch", content=body, headers=headers).is_success
            if turn >= 9:
                status = Path(f"/proc/{service.process.pid}/status").read_text()
                sizes.append(int(status.split("VmRSS:")[1].split()[0]) / 1024)
    tell(f"memory: {sizes[0]:.0f} MB after 100,000 evaluations, {sizes[-1]:.0f} MB after 1,000,000")
    assert sizes[-1] - sizes[0] < 10


def test_one_request_has_one_answer_in_every_process(tmp_path: Path, rules: Path) -> None:
    """A thousand repeats, two workers, three hash seeds."""
    request = {**STONE, "ruleset": "house@1.0.0", "as_of": "2026-06-01"}
    bodies = set()
    for seed in ("0", "1", "4711"):
        with running(tmp_path, rules, "--workers", "2", PYTHONHASHSEED=seed) as service:
            for _ in range(10):
                with httpx.Client(base_url=service.address) as client:
                    for _ in range(100):
                        bodies.add(client.post("/v1/evaluations", json=request).content)
    tell(f"{len(bodies)} distinct body in 3,000 answers of 6 processes")
    assert len(bodies) == 1
