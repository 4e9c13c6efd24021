"""An interrupted run goes on where it stopped, and never leaves half a target. Every row here is invented."""

import fcntl
import os
import signal
import subprocess
import sys
from pathlib import Path

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.parquet as pq  # type: ignore[import-untyped]
import pytest

from gradefloor.feeds.annotate import annotate
from gradefloor.feeds.rows import Judged, Row, TableError
from gradefloor.feeds.summary import Summary

CHUNK = 10
ROWS = 47
KINDS = ["csv", "ndjson", "parquet"]


@pytest.fixture(autouse=True)
def _small_chunks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gradefloor.feeds.annotate.CHUNK", CHUNK)


class Judge:
    """Remembers what it judged; interrupts when it sees the row `stop`."""

    def __init__(self, stop: int | None = None) -> None:
        self.stop = stop
        self.seen: list[int] = []

    def __call__(self, row: Row) -> Judged:
        number = int(row["n"])
        if number == self.stop:
            raise KeyboardInterrupt
        self.seen.append(number)
        return Judged("ask" if number % 3 else "set_aside", None, [f"floor: {number % 2}"], ["?"], [])


def feed(folder: Path, kind: str, rows: int = ROWS) -> Path:
    path = folder / f"feed.{kind}"
    if kind == "parquet":
        # Row groups that fit neither parts nor batches.
        pq.write_table(pa.table({"n": list(range(rows)), "x": ["a"] * rows}), path, row_group_size=7)
    elif kind == "csv":
        path.write_text("n,x\n" + "".join(f"{number},a\n" for number in range(rows)))
    else:
        path.write_text("".join(f'{{"n":{number},"x":"a"}}\n' for number in range(rows)))
    return path


def run(path: Path, judge: Judge, fingerprint: str = "f") -> Summary:
    return annotate(path, judge, fingerprint=fingerprint, progress=False)


def interrupted(path: Path, stop: int = 25) -> None:
    with pytest.raises(KeyboardInterrupt):
        run(path, Judge(stop))


def parts(path: Path) -> Path:
    return path.with_name(f"feed.annotated{path.suffix}.parts")


@pytest.mark.parametrize("kind", KINDS)
def test_finished_parts_are_not_judged_again_and_the_bytes_are_the_same(tmp_path: Path, kind: str) -> None:
    (tmp_path / "whole").mkdir()
    whole = run(feed(tmp_path / "whole", kind), Judge())
    path = feed(tmp_path, kind)
    interrupted(path)
    judge = Judge()
    summary = run(path, judge)
    assert judge.seen == list(range(20, ROWS))
    assert summary.target.read_bytes() == whole.target.read_bytes()
    assert summary.resumed == 20
    for name in ("rows", "outcomes", "verdicts", "findings", "remarks"):
        assert getattr(summary, name) == getattr(whole, name)


def test_a_run_interrupted_again_and_again_comes_to_its_end(tmp_path: Path) -> None:
    path = feed(tmp_path, "csv")
    for stop in (5, 15, 15, 39, 46):
        interrupted(path, stop)
    judge = Judge()
    assert run(path, judge).rows == ROWS
    assert judge.seen == list(range(40, ROWS))


@pytest.mark.parametrize("kind", KINDS)
def test_an_interrupted_run_leaves_no_target(tmp_path: Path, kind: str) -> None:
    path = feed(tmp_path, kind)
    interrupted(path)
    assert sorted(tmp_path.iterdir()) == sorted([path, parts(path)])
    assert not list(parts(path).glob("*.draft"))


@pytest.mark.parametrize("kind", KINDS)
def test_a_finished_run_leaves_the_target_alone(tmp_path: Path, kind: str) -> None:
    path = feed(tmp_path, kind)
    interrupted(path)
    target = run(path, Judge()).target
    assert sorted(tmp_path.iterdir()) == sorted([path, target])


def test_an_interrupted_run_keeps_the_earlier_target(tmp_path: Path) -> None:
    path = feed(tmp_path, "csv")
    target = run(path, Judge()).target
    before = target.read_bytes()
    interrupted(path)
    assert target.read_bytes() == before


def test_another_fingerprint_starts_anew(tmp_path: Path) -> None:
    path = feed(tmp_path, "csv")
    interrupted(path)
    judge = Judge()
    assert run(path, judge, "other rules").resumed == 0
    assert judge.seen == list(range(ROWS))


def test_a_changed_source_starts_anew(tmp_path: Path) -> None:
    path = feed(tmp_path, "csv")
    interrupted(path)
    feed(tmp_path, "csv", ROWS + 1)
    judge = Judge()
    assert run(path, judge).resumed == 0
    assert judge.seen == list(range(ROWS + 1))


def test_a_source_with_another_time_starts_anew(tmp_path: Path) -> None:
    path = feed(tmp_path, "csv")
    interrupted(path)
    os.utime(path, ns=(1, 1))
    assert run(path, Judge()).resumed == 0


def test_parts_of_another_size_start_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = feed(tmp_path, "csv")
    interrupted(path)
    monkeypatch.setattr("gradefloor.feeds.annotate.CHUNK", CHUNK + 1)
    assert run(path, Judge()).resumed == 0


@pytest.mark.parametrize("lost", ["00000001.part", "00000001.json"])
def test_a_part_without_its_other_half_is_not_done(tmp_path: Path, lost: str) -> None:
    path = feed(tmp_path, "csv")
    interrupted(path)
    (parts(path) / lost).unlink()
    judge = Judge()
    assert run(path, judge).rows == ROWS
    assert judge.seen == list(range(10, ROWS))


@pytest.mark.parametrize(
    ("file", "content"),
    [
        ("00000001.part", "cut"),
        ("00000001.json", ""),
        ("00000001.json", "[]"),
        ("00000001.json", '{"size":1}'),
        ("00000001.json", '{"rows":10}'),
    ],
)
def test_a_damaged_part_is_not_done(tmp_path: Path, file: str, content: str) -> None:
    (tmp_path / "whole").mkdir()
    whole = run(feed(tmp_path / "whole", "csv"), Judge())
    path = feed(tmp_path, "csv")
    interrupted(path)
    (parts(path) / file).write_text(content)
    summary = run(path, Judge())
    assert summary.resumed == CHUNK
    assert summary.target.read_bytes() == whole.target.read_bytes()


@pytest.mark.parametrize(("kind", "module"), [("csv", "delimited"), ("ndjson", "ndjson")])
def test_large_rows_make_smaller_parts_and_the_same_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str, module: str
) -> None:
    (tmp_path / "whole").mkdir()
    whole = run(feed(tmp_path / "whole", kind), Judge())
    monkeypatch.setattr(f"gradefloor.feeds.{module}.PIECE_BYTES", 8)
    path = feed(tmp_path, kind)
    interrupted(path)
    assert len(list(parts(path).glob("*.part"))) > 25 // CHUNK
    summary = run(path, Judge())
    assert 20 < summary.resumed <= 25
    assert summary.target.read_bytes() == whole.target.read_bytes()


def test_a_damaged_manifest_starts_anew(tmp_path: Path) -> None:
    path = feed(tmp_path, "csv")
    interrupted(path)
    (parts(path) / "manifest.json").write_text("{")
    assert run(path, Judge()).resumed == 0


def test_somebody_elses_files_in_the_folder_stay(tmp_path: Path) -> None:
    path = feed(tmp_path, "csv")
    parts(path).mkdir()
    mine = parts(path) / "notes.txt"
    mine.write_text("mine")
    run(path, Judge())
    assert list(parts(path).iterdir()) == [mine]


def test_two_runs_do_not_work_on_one_target(tmp_path: Path) -> None:
    path = feed(tmp_path, "csv")
    parts(path).mkdir()
    held = os.open(parts(path), os.O_RDONLY)
    try:
        fcntl.flock(held, fcntl.LOCK_EX)
        with pytest.raises(TableError, match="another run"):
            run(path, Judge())
    finally:
        os.close(held)
    assert run(path, Judge()).rows == ROWS


def test_a_source_changed_meanwhile_gives_no_target(tmp_path: Path) -> None:
    path = feed(tmp_path, "csv")

    class Meddling(Judge):
        def __call__(self, row: Row) -> Judged:
            if row["n"] == "30":
                path.write_text("n,x\n1,a\n")
            return super().__call__(row)

    with pytest.raises(TableError, match="changed while it was read"):
        run(path, Meddling())
    assert not (tmp_path / "feed.annotated.csv").exists()


def test_a_folder_nobody_may_write_to_is_told(tmp_path: Path) -> None:
    path = feed(tmp_path, "csv")
    parts(path).write_text("a file where the folder should be")
    with pytest.raises(TableError, match=r"feed\.annotated\.csv\.parts: File exists"):
        run(path, Judge())


KILLED = """
import os, signal, sys
from pathlib import Path
from gradefloor.feeds import annotate as module
from gradefloor.feeds.rows import Judged

module.CHUNK = 10
moment, at = sys.argv[2], int(sys.argv[3])
renames = 0

def judge(row):
    if moment == "row" and int(row["n"]) == at:
        os.kill(os.getpid(), signal.SIGKILL)
    number = int(row["n"])
    return Judged("ask" if number % 3 else "set_aside", None, [f"floor: {number % 2}"], ["?"], [])

replace = Path.replace
def counting(self, target):
    global renames
    renames += 1
    if moment == "before rename" and renames == at:
        os.kill(os.getpid(), signal.SIGKILL)
    replace(self, target)
    if moment == "after rename" and renames == at:
        os.kill(os.getpid(), signal.SIGKILL)
    return target
Path.replace = counting

module.annotate(Path(sys.argv[1]), judge, fingerprint="f", progress=False)
"""


@pytest.mark.parametrize(
    ("moment", "at", "resumed"),
    [
        ("row", 25, 20),
        ("before rename", 1, 0),
        ("after rename", 1, 0),
        # 2 and 3 put the first part and its counts in place.
        ("after rename", 2, 0),
        ("after rename", 3, 10),
        # 12 puts the whole in place; then the parts are of no more use to anybody.
        ("before rename", 12, ROWS),
        ("after rename", 12, ROWS),
    ],
)
def test_a_killed_run_loses_one_part_at_most(tmp_path: Path, moment: str, at: int, resumed: int) -> None:
    (tmp_path / "whole").mkdir()
    whole = run(feed(tmp_path / "whole", "csv"), Judge())
    path = feed(tmp_path, "csv")
    done = subprocess.run([sys.executable, "-c", KILLED, str(path), moment, str(at)], check=False, timeout=60)
    assert done.returncode == -signal.SIGKILL
    target = tmp_path / "feed.annotated.csv"
    assert not target.exists() or target.read_bytes() == whole.target.read_bytes()
    summary = run(path, Judge())
    assert summary.resumed == resumed
    assert summary.target.read_bytes() == whole.target.read_bytes()
    assert not parts(path).exists()
