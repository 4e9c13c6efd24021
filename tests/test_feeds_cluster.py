"""Workers of a dask scheduler annotate files, and one that is lost costs nothing. Every row is invented."""

import os
import signal
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from typing import Any

import orjson
import pytest

from feed_files import house
from gradefloor.feeds.asking import Wanted
from gradefloor.feeds.cluster import by_cluster
from gradefloor.feeds.folders import Errand, annotate_all, one_after_another
from gradefloor.feeds.rows import TableError
from stock import stock

distributed = pytest.importorskip("distributed")
# What the library itself leaves open at its end is no fault of ours.
pytestmark = pytest.mark.filterwarnings(
    "ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning"
)


@contextmanager
def cluster(**how: Any) -> Iterator[Any]:
    """A scheduler and its workers on this machine, without a page of its own."""
    with distributed.LocalCluster(dashboard_address=":0", silence_logs=50, **how) as found:
        yield found


def files(folder: Path, count: int, rows: int) -> Path:
    """So many files of so many invented stones, and one that is no file of stones."""
    folder.mkdir()
    for number in range(count):
        lines = [{**one.pop("report"), **one} for one in stock(rows, seed=number)]
        for line in lines:
            line.pop("observations")
        (folder / f"{number}.ndjson").write_bytes(b"\n".join(map(orjson.dumps, lines)))
    (folder / "bad.parquet").write_bytes(b"PAR1")
    return folder


def errand(folder: Path) -> Errand:
    judgement = house("1.1.0", [])
    return Errand(judgement, Wanted(), folder)


def content(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_cluster_writes_what_one_process_writes(tmp_path: Path) -> None:
    source = files(tmp_path / "in", 3, 40)
    here = annotate_all(errand(tmp_path / "here"), [source], one_after_another)
    with cluster(processes=False, n_workers=1, threads_per_worker=2) as found:
        run = by_cluster(found.scheduler_address)
        there = annotate_all(errand(tmp_path / "there"), [source], run)
        again = annotate_all(errand(tmp_path / "there"), [source], run)
    assert there == here
    assert [part.fault is not None for part in there] == [False, False, False, True]
    assert content(tmp_path / "there") == content(tmp_path / "here")
    assert [part.done_before for part in again] == [True, True, True, False]


def test_where_no_scheduler_answers_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gradefloor.feeds.cluster.TIMEOUT_S", 0.5)
    source = files(tmp_path / "in", 1, 1)
    with pytest.raises(TableError, match=r"tcp://127\.0\.0\.1:9: no scheduler answers there"):
        annotate_all(errand(tmp_path / "out"), [source], by_cluster("tcp://127.0.0.1:9"))


def test_a_cluster_without_its_library_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(TableError, match="install gradefloor with the extra 'cluster'"):
        by_cluster("tcp://127.0.0.1:8786")


@pytest.mark.long
def test_a_worker_killed_in_the_middle_costs_no_row(tmp_path: Path) -> None:
    source = files(tmp_path / "in", 4, 12_000)
    here = annotate_all(errand(tmp_path / "here"), [source], one_after_another)
    killed: list[int] = []

    def kill_one(process: int) -> None:
        # In the middle of a file: a part of it is done, and the whole is not.
        until = time.monotonic() + 120
        while time.monotonic() < until and not killed:
            if list((tmp_path / "there").glob("*.parts/*.json")):
                os.kill(process, signal.SIGKILL)
                killed.append(process)
            time.sleep(0.01)

    with cluster(processes=True, n_workers=2, threads_per_worker=1) as found:
        with distributed.Client(found.scheduler_address, set_as_default=False) as client:
            process = next(iter(client.run(os.getpid).values()))
        killer = Thread(target=kill_one, args=(process,))
        killer.start()
        there = annotate_all(errand(tmp_path / "there"), [source], by_cluster(found.scheduler_address))
        killer.join()
    assert killed
    assert there == here
    assert content(tmp_path / "there") == content(tmp_path / "here")
