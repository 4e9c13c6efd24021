"""Several processes judge one file, and no byte of it is another one for that. Every row here is invented."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.parquet as pq  # type: ignore[import-untyped]
import pytest

from feed_files import Begin, refusing
from gradefloor.feeds.annotate import annotate
from gradefloor.feeds.processes import Elsewhere
from gradefloor.feeds.rows import TableError
from gradefloor.feeds.summary import Summary
from samples import ROOT

ROWS = 97


@pytest.fixture(autouse=True)
def _small_chunks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gradefloor.feeds.annotate.CHUNK", 10)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    folder = tmp_path / "log"
    folder.mkdir()
    return folder


def feed(folder: Path, kind: str) -> Path:
    path = folder / f"feed.{kind}"
    if kind == "parquet":
        pq.write_table(pa.table({"n": list(range(ROWS)), "x": ["é"] * ROWS}), path, row_group_size=7)
    elif kind == "csv":
        path.write_bytes(b"n;x\r\n" + b"".join(b'%d;"\xe9\r\n"\r\n' % number for number in range(ROWS)))
    else:
        path.write_text("".join(f'{{"n":{number}, "x":"é"}}\n' for number in range(ROWS)))
    return path


def run(path: Path, begin: Begin, target: str, processes: int = 1) -> Summary:
    elsewhere = Elsewhere(processes, begin) if processes > 1 else None
    target_path = path.with_name(f"{target}{path.suffix}")
    return annotate(path, begin(), target_path, fingerprint="f", progress=False, elsewhere=elsewhere)


@pytest.mark.parametrize("kind", [pytest.param("csv", marks=pytest.mark.long), "ndjson", "parquet"])
def test_two_processes_write_the_same_bytes_as_one(tmp_path: Path, log: Path, kind: str) -> None:
    path = feed(tmp_path, kind)
    one, two = run(path, Begin(log), "one"), run(path, Begin(log), "two", 2)
    assert two.target.read_bytes() == one.target.read_bytes()
    for name in ("rows", "resumed", "outcomes", "verdicts", "findings", "remarks"):
        assert getattr(two, name) == getattr(one, name)
    assert sorted(tmp_path.iterdir()) == sorted([path, log, one.target, two.target])


def test_a_killed_process_is_told_and_what_was_done_stays_done(tmp_path: Path, log: Path) -> None:
    path = feed(tmp_path, "csv")
    whole = run(path, Begin(log), "whole")
    with pytest.raises(TableError, match=r"feed\.csv: a process that judged rows was ended .* run the same"):
        run(path, Begin(log, stop=70), "two", 2)
    parts = tmp_path / "two.csv.parts"
    done = 10 * len(list(parts.glob("*.part")))
    assert 0 < done <= 70
    assert not list(parts.glob("*.draft"))
    for judged in log.glob("*.judged"):
        judged.unlink()
    summary = run(path, Begin(log, stop=70), "two", 2)
    assert summary.resumed == done
    assert {int(judged.stem) for judged in log.glob("*.judged")} == set(range(done, ROWS))
    assert summary.target.read_bytes() == whole.target.read_bytes()


def test_why_no_judge_can_be_made_there_reaches_the_caller(tmp_path: Path, log: Path) -> None:
    path = feed(tmp_path, "csv")
    with pytest.raises(TableError, match="the rules are others here"):
        annotate(path, Begin(log)(), fingerprint="f", progress=False, elsewhere=Elsewhere(2, refusing))
    assert not (tmp_path / "feed.annotated.csv").exists()


# The rows never come to an end, so that the processes are at work when their parent is gone.
SLOW = """
import sys, time
from pathlib import Path
from gradefloor.feeds import annotate as module
from gradefloor.feeds.processes import Elsewhere
from gradefloor.feeds.rows import Judged
import os

class Slow:
    def __init__(self, folder): self.folder = folder
    def __call__(self): return self.judge
    def judge(self, row):
        (self.folder / str(os.getpid())).touch()
        time.sleep(0.2)
        return Judged("ask")

if __name__ == "__main__":
    begin = Slow(Path(sys.argv[2]))
    away = Elsewhere(2, begin)
    module.annotate(Path(sys.argv[1]), begin(), fingerprint="f", progress=False, elsewhere=away)
"""


def test_no_process_outlives_a_killed_parent(tmp_path: Path, log: Path) -> None:
    script = tmp_path / "slow.py"
    script.write_text(SLOW)
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "service")}
    with subprocess.Popen(
        [sys.executable, str(script), str(feed(tmp_path, "csv")), str(log)], env=environment
    ) as parent:
        children = set[int]()
        until = time.monotonic() + 60
        while not children and time.monotonic() < until:
            time.sleep(0.1)
            children = {int(path.name) for path in log.iterdir()}
        parent.send_signal(signal.SIGKILL)
        parent.wait()
    assert children
    until = time.monotonic() + 10
    while any(Path(f"/proc/{child}").exists() for child in children) and time.monotonic() < until:
        time.sleep(0.1)
    assert not [child for child in children if Path(f"/proc/{child}").exists()]
