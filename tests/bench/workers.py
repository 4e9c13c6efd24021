"""Processes: one worker and two, until one is ready, and the memory that one takes."""

import os
import re
import shutil
import tempfile
import time
from pathlib import Path

import orjson

from asked import REQUESTS, ROOT, batch, stone
from figures import Figure, at_least, at_most, in_turns, ratios
from load import Asking, latencies, on_core
from samples import release
from served import ASKING, posts, service

CONNECTIONS = 64
OVERLAYS = 50
STREAMED = 1_000_000
_MB = 1024


def scaling(rounds: int, seconds: float = 2.0) -> list[Figure]:
    """Two workers against one, both on both cores, beside whoever asks.

    One worker fills a core and whoever asks a part of the other; two workers have what that part leaves.
    """
    requests = posts("/v1/evaluations", REQUESTS)
    lists = posts("/v1/evaluations/batch", [batch(100)])
    possible: list[float] = []

    def one_worker() -> float:
        before = time.process_time()
        count = len(latencies(one, requests, CONNECTIONS, seconds))
        possible.append(2 / (1 + (time.process_time() - before) / seconds))
        return count / seconds

    with (
        service("--no-request-log", core=None) as (one, _),
        service("--no-request-log", "--workers", "2", core=None) as (two, _),
    ):
        for port in (one, two):
            latencies(port, requests, CONNECTIONS, 1.0)
        rates = in_turns(
            {
                "one": one_worker,
                "two": lambda: len(latencies(two, requests, CONNECTIONS, seconds)) / seconds,
                "one, lists": lambda: len(latencies(one, lists, 12, seconds)) / seconds,
                "two, lists": lambda: len(latencies(two, lists, 12, seconds)) / seconds,
            },
            rounds,
        )
    found = ratios(rates["two"], rates["one"])
    return [
        Figure(f"two workers against one, {CONNECTIONS} connections", found, at_least(1.7)),
        Figure("the worst round of these", [min(found)], at_least(1.3)),
        Figure("the most that whoever asks leaves possible", possible),
        Figure("the same, lists of 100 on 12 connections", ratios(rates["two, lists"], rates["one, lists"])),
    ]


def starting(rounds: int) -> list[Figure]:
    """From the command until it says that it is ready; then with fifty names of five rules more each."""
    with tempfile.TemporaryDirectory() as folder:
        many = Path(folder) / "rulesets"
        _overlaid(many)
        taken = in_turns(
            {"plain": _until_ready, "many": lambda: _until_ready("--rulesets", str(many))}, rounds
        )
    more = [1000 * (many - plain) for many, plain in zip(taken["many"], taken["plain"], strict=True)]
    return [
        Figure("ready after the command", taken["plain"], at_most(1.0), "s"),
        Figure(f"later with {OVERLAYS} overlays of five rules", more, at_most(500), "ms"),
    ]


def _until_ready(*options: str) -> float:
    began = time.perf_counter()
    with service(*options):
        return time.perf_counter() - began


def _overlaid(root: Path) -> None:
    """The committed rule sets, and so many invented names that extend the house's newest version."""
    shutil.copytree(ROOT / "rulesets", root)
    newest = max(
        (root / "house").glob("*/ruleset.yaml"), key=lambda path: [*map(int, path.parent.name.split("."))]
    )
    windows = "".join(
        f"""
  - id: NAME.crown.{shape}
    title: The crown of this shape stands high enough in an invented shop
    because: The customers of this invented shop like a high crown.
    source: invented_practice
    disagreement: high
    shapes: [{shape}]
    measure: crown_height_pct
    unstated: silent
    comfort: {{from: 11, to: 17}}
    tolerated: {{from: 9, to: 19}}
    low: {{says: A flat crown throws little light., ask: appearance}}
    high: {{says: A high crown leaves little table., ask: appearance}}
"""
        for shape in ("emerald", "asscher", "oval", "pear", "marquise")
    )
    for number in range(OVERLAYS):
        name = f"shop_{number}"
        folder = root / name / "1.0.0"
        folder.mkdir(parents=True)
        (folder / "ruleset.yaml").write_text(
            f"""name: {name}
version: "1.0.0"
effective: "2026-01-01"
title: An invented shop
about: Made up for a benchmark.
extends: house@{newest.parent.name}

sources:
  - id: invented_practice
    title: Practice of an invented shop, no source
    checked: "2026-11-26"

windows:{windows.replace("NAME", name)}
...
"""
        )
        (folder / "cases.yaml").write_text(
            """cases:
  - case: An invented stone that says nothing of its crown
    stone: {shape: oval}
    verdict: ask
    expect: {}
...
"""
        )
    release(root)


def memory(streamed: int) -> list[Figure]:
    """Resident memory of one worker after it has answered for a while, and what a long stream adds."""
    requests = posts("/v1/evaluations", REQUESTS)
    with service("--no-request-log") as (port, process), on_core(ASKING):
        latencies(port, requests, 8, 5.0)
        after = _resident_mb(process.pid)
        stream(port, 50_000)
        short = _resident_mb(process.pid)
        stream(port, streamed)
        grown = _resident_mb(process.pid) - short
    return [
        Figure("memory of a worker that judges single stones", [after], at_most(110), "MB"),
        Figure("memory of a worker that has judged 50,000 streamed stones", [short], unit="MB"),
        Figure(f"growth over {streamed:,} streamed stones", [grown], at_most(20), "MB"),
    ]


def _resident_mb(pid: int) -> float:
    status = Path(f"/proc/{pid}/status").read_text()
    found = re.search(r"VmRSS:\s+([0-9]+)", status)
    if found is None:
        raise RuntimeError("the system does not tell how much memory a process has")
    return int(found[1]) / _MB


def stream(port: int, count: int) -> None:
    """So many stones in one stream; as many lines have to come back."""
    lines = [orjson.dumps(stone(place)) + b"\n" for place in range(1000)]
    block = b"".join(lines)
    head = (
        b"POST /v1/evaluations/stream?ruleset=house HTTP/1.1\r\nhost: bench\r\n"
        b"content-type: application/x-ndjson\r\ntransfer-encoding: chunked\r\n\r\n"
    )
    one = Asking(port)
    one.socket.sendall(head)
    chunk = b"%x\r\n%b\r\n" % (len(block), block)
    back, tail, buffer = 0, b"", memoryview(bytearray(1 << 20))
    one.socket.setblocking(False)
    waiting = memoryview(b"")
    left, ended = count // 1000, False
    while True:
        if not waiting and left:
            waiting, left = memoryview(chunk), left - 1
        elif not waiting and not ended:
            waiting, ended = memoryview(b"0\r\n\r\n"), True
        try:
            if waiting:
                waiting = waiting[one.socket.send(waiting) :]
        except BlockingIOError:
            pass
        try:
            got = one.socket.recv_into(buffer)
        except BlockingIOError:
            os.sched_yield()
            continue
        content = bytes(buffer[:got])
        back += content.count(b'{"line":')
        tail = (tail + content)[-16:]
        if not got or (ended and not waiting and tail.endswith(b"0\r\n\r\n")):
            break
    one.close()
    if back != count:
        raise SystemExit(f"{back} of {count} lines came back")
