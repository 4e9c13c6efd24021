"""What files cost. What is compared is checked to give the same bytes or readings before anything is timed.

Every row is invented.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime
from itertools import cycle, islice
from pathlib import Path
from typing import Any, Final

import orjson

from asked import DAY, ROOT
from figures import Figure, Goal, at_least, at_most
from gradefloor.feeds.annotate import annotate
from gradefloor.feeds.asking import Wanted
from gradefloor.feeds.cluster import by_cluster
from gradefloor.feeds.folders import Errand, annotate_all
from gradefloor.feeds.judging import Judgement
from gradefloor.feeds.processes import Elsewhere
from gradefloor.rules.catalog import load
from gradefloor.trade.feed import FeedReader, read_one
from gradefloor.trade.stones import Stone
from growth import whole_list
from stock import stock

RULESETS: Final = ROOT / "rulesets"
_FILES: Final = 8
_DISTINCT: Final = 20_000
_SMALL: Final = 50_000


def figures(rows: int, rounds: int) -> list[Figure]:
    """All of them; `rows` is for the files, and a file of 1,000,000 takes minutes a round."""
    return [
        reading_kept(rounds),
        against_lists(rounds),
        two_processes(rows, rounds),
        two_workers(rows, rounds),
        *peak_memory(rows),
    ]


def against_lists(rounds: int) -> Figure:
    """Rows a second of `annotate` on NDJSON, against stones a second of lists of the same stones."""
    rows = 20_000
    with _folder() as folder:
        path = write(folder / "feed.ndjson", rows)
        judgement = judged_by(list(next(rows_of(1))))
        rules = load(RULESETS).resolve("house", DAY, datetime.now(UTC)).compiled
        known = [
            {name: value for name, value in one.items() if name in Stone.model_fields}
            for one in stock(_DISTINCT)
        ]
        stones = list(islice(cycle(known), rows))
        bodies = [
            orjson.dumps({"stones": part, "as_of": DAY, "ruleset": "house"})
            for part in (stones[at : at + 1000] for at in range(0, rows, 1000))
        ]

        def annotated() -> None:
            fingerprint = judgement.fingerprint()
            annotate(path, judgement.judge(), folder / "out.ndjson", fingerprint=fingerprint, progress=False)

        return _ratio(
            "annotate, one process / lists of 1,000, a stone",
            rounds,
            annotated,
            lambda: [whole_list(rules, body) for body in bodies],
            at_least(0.5),
        )


def reading_kept(rounds: int) -> Figure:
    """Rows a second of a reader that keeps what it saw, against reading each row by itself."""
    lines = list(rows_of(5_000))
    asking = Wanted().asking(list(lines[0]))
    reader = FeedReader(asking)
    if [reader.read(row)[0] for row in lines] != [read_one(row, asking) for row in lines]:
        raise ValueError("what is kept changes a reading")
    return _ratio(
        "reading rows, kept / each by itself",
        rounds,
        lambda: [reader.read(row) for row in lines],
        lambda: [read_one(row, asking) for row in lines],
    )


def two_processes(rows: int, rounds: int) -> Figure:
    """Rows a second of two processes against one, on one file of NDJSON."""
    with _folder() as folder:
        path = write(folder / "feed.ndjson", rows)
        judgement = judged_by(list(next(rows_of(1))))

        def run(processes: int) -> Path:
            elsewhere = Elsewhere(processes, judgement.judge) if processes > 1 else None
            target = folder / f"{processes}.ndjson"
            judge, fingerprint = judgement.judge(), judgement.fingerprint()
            annotate(path, judge, target, fingerprint=fingerprint, progress=False, elsewhere=elsewhere)
            return target

        if run(2).read_bytes() != run(1).read_bytes():
            raise ValueError("two processes write other bytes than one")
        return _ratio(
            f"NDJSON of {rows:,} rows, two processes / one",
            rounds,
            lambda: run(2),
            lambda: run(1),
            at_least(1.7),
        )


def two_workers(rows: int, rounds: int) -> Figure:
    """Rows a second of two workers of dask.distributed against one, over eight files of NDJSON."""
    from distributed import LocalCluster  # noqa: PLC0415

    with _folder() as folder, ExitStack() as stack:
        source = folder / "in"
        source.mkdir()
        for number in range(_FILES):
            write(source / f"{number}.ndjson", rows // _FILES)
        clusters = {}
        for count in (1, 2):
            local: Any = LocalCluster(  # type: ignore[no-untyped-call]
                n_workers=count, threads_per_worker=1, dashboard_address=":0", silence_logs=50
            )
            clusters[count] = stack.enter_context(local)
        judgement = judged_by([])

        def run(workers: int) -> dict[str, bytes]:
            to = folder / f"out{workers}"
            shutil.rmtree(to, ignore_errors=True)
            run = by_cluster(clusters[workers].scheduler_address)
            parts = annotate_all(Errand(judgement, Wanted(), to), [source], run)
            if faults := [part.fault for part in parts if part.fault]:
                raise ValueError(faults[0])
            return {path.name: path.read_bytes() for path in to.iterdir()}

        if run(2) != run(1):
            raise ValueError("two workers write other bytes than one")
        return _ratio(
            "eight files, two dask workers / one", rounds, lambda: run(2), lambda: run(1), at_least(1.7)
        )


# Told by the process itself, because one that was forked counts the memory of its parent as its own.
_ANNOTATE: Final = """
import atexit, sys
from pathlib import Path

def told():
    lines = Path("/proc/self/status").read_text().splitlines()
    print(next(line.split()[1] for line in lines if line.startswith("VmHWM")), file=sys.stderr)

atexit.register(told)
from gradefloor.__main__ import main
main()
"""


def peak_memory(rows: int) -> Iterator[Figure]:
    """Peak of one process in MB, for a small file of NDJSON and for one of so many rows."""
    with _folder() as folder:
        for count in sorted({_SMALL, rows}):
            path = write(folder / "feed.ndjson", count)
            done = subprocess.run(
                [sys.executable, "-c", _ANNOTATE, "annotate", str(path), "--rulesets", str(RULESETS)],
                env={**os.environ, "PYTHONPATH": str(ROOT / "service")},
                capture_output=True,
                text=True,
                check=True,
            )
            peak = int(done.stderr.splitlines()[-1]) / 1024
            yield Figure(f"peak memory of annotate, NDJSON of {count:,} rows", [peak], at_most(100), "MB")


def rows_of(count: int) -> Iterator[dict[str, Any]]:
    """Stones of an invented stock, flat, under the names that the wire has for their members."""
    distinct = stock(min(count, _DISTINCT))
    for number in range(count):
        stone = distinct[number % len(distinct)]
        flat = {name: value for name, value in stone.items() if name not in {"report", "observations"}}
        yield {**flat, "id": f"tray-{number}", **stone["report"], **stone["observations"]}


def write(path: Path, count: int) -> Path:
    with path.open("wb") as stream:
        stream.writelines(orjson.dumps(row) + b"\n" for row in rows_of(count))
    return path


def judged_by(headers: list[str]) -> Judgement:
    release = load(RULESETS).resolve("house", DAY, datetime.now(UTC))
    return Judgement.of(RULESETS, release, Wanted().asking(headers), None, DAY)


@contextmanager
def _folder() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as name:
        yield Path(name)


def _ratio(
    name: str,
    rounds: int,
    fast: Callable[[], object],
    slow: Callable[[], object],
    goal: Goal | None = None,
) -> Figure:
    """How many times as fast the first is as the second."""
    found = []
    for number in range(rounds):
        # Whichever comes first finds the machine as the last round left it, so they take turns.
        order = (fast, slow) if number % 2 else (slow, fast)
        seconds = {call: _seconds(call) for call in order}
        found.append(seconds[slow] / seconds[fast])
    return Figure(name, found, goal)


def _seconds(call: Callable[[], object]) -> float:
    start = time.perf_counter()
    call()
    return time.perf_counter() - start
