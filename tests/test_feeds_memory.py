"""Memory stays flat however long the file is. Every row here is invented."""

import tracemalloc
from pathlib import Path
from typing import Any

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.parquet as pq  # type: ignore[import-untyped]
import pytest

from gradefloor.feeds.annotate import annotate
from gradefloor.feeds.rows import Judged, Row
from gradefloor.feeds.summary import Summary


def judge(_: Row) -> Judged:
    return Judged("accepted", "pass", ["floor.a: pass"])


def run(path: Path, target: Path | None = None, **more: Any) -> Summary:
    return annotate(path, more.pop("judge", judge), target, fingerprint="f", progress=False, **more)


def _peak(path: Path, line: str, rows: int) -> int:
    path.write_text("shape\n" * (path.suffix == ".csv") + line * rows)
    tracemalloc.start()
    try:
        run(path, judge=lambda _: Judged("accepted", "pass"))
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_memory_does_not_grow_with_a_csv(tmp_path: Path) -> None:
    path = tmp_path / "feed.csv"
    small = _peak(path, "oval\n", 20_000)
    assert _peak(path, "oval\n", 60_000) < 1.3 * small


def test_memory_does_not_grow_with_json_lines(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gradefloor.feeds.annotate.CHUNK", 500)
    path = tmp_path / "feed.ndjson"
    small = _peak(path, '{"shape":"oval"}\n', 4_000)
    assert _peak(path, '{"shape":"oval"}\n', 12_000) < 1.3 * small


def test_memory_of_parquet_does_not_grow_with_the_rows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("gradefloor.feeds.annotate.CHUNK", 500)
    peaks = []
    for rows in (4_000, 12_000):
        path = tmp_path / f"{rows}.parquet"
        shapes = pa.table({"shape": [f"oval {number}" * 20 for number in range(rows)]})
        pq.write_table(shapes, path, row_group_size=2_000)
        del shapes
        held: list[int] = []

        def watching(_: Row, held: list[int] = held) -> Judged:
            held.append(pa.total_allocated_bytes())
            return Judged("accepted")

        run(path, judge=watching)
        peaks.append(max(held))
    assert peaks[1] < 1.3 * peaks[0]
