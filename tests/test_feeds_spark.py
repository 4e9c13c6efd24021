"""Spark annotates a frame in Arrow's batches as a file is annotated. Needs pyspark (group `spark`) and Java.

`annotated` is the example that DEVELOPERS.md shows.
"""

import inspect
import os
import shutil
import sys
from pathlib import Path
from typing import Any

import pyarrow.csv as pc  # type: ignore[import-untyped]
import pytest

from feed_files import house
from gradefloor.feeds.annotate import annotate
from gradefloor.feeds.batches import annotate_batch, annotated_schema
from gradefloor.feeds.judging import Judgement
from samples import ROOT, RULESETS

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(shutil.which("java") is None, reason="Spark needs Java"),
    # Spark's own imports warn of what the next versions of its libraries will do.
    pytest.mark.filterwarnings("ignore"),
]
STOCK = RULESETS / "invented_stock.csv"


def annotated(frame: Any, judgement: Judgement) -> Any:
    """The rows of a Spark frame, each with what was found about it."""
    from pyspark.sql.pandas.types import from_arrow_schema, to_arrow_schema  # noqa: PLC0415

    def judged(batches: Any) -> Any:
        judge = judgement.judge()  # once for each task, where the task runs
        for batch in batches:
            yield annotate_batch(batch, judge)

    schema = annotated_schema(to_arrow_schema(frame.schema))
    return frame.mapInArrow(judged, from_arrow_schema(schema))


def test_spark_finds_what_annotate_finds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sql = pytest.importorskip("pyspark.sql")
    monkeypatch.setenv("PYSPARK_PYTHON", sys.executable)
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(ROOT / "service"), str(ROOT / "tests")]))
    spark = (
        sql.SparkSession.builder.master("local[2]")
        .config("spark.ui.enabled", "false")
        .config("spark.driver.host", "127.0.0.1")
        .getOrCreate()
    )
    try:
        frame = spark.read.csv(str(STOCK), header=True).repartition(4)
        judgement = house("1.1.0", frame.columns)
        found = annotated(frame, judgement).orderBy("stock_no").toArrow()
    finally:
        spark.stop()
    source = tmp_path / "stock.csv"
    shutil.copy(STOCK, source)
    target = annotate(source, judgement.judge(), fingerprint=judgement.fingerprint(), progress=False).target
    expected = pc.read_csv(target).sort_by("stock_no")
    assert found.num_rows == expected.num_rows > 0
    for name in ("stock_no", "gradefloor_outcome", "gradefloor_verdict"):
        assert found[name].to_pylist() == expected[name].to_pylist()
    for name in ("gradefloor_findings", "gradefloor_questions", "gradefloor_remarks"):
        told = ["; ".join(each) for each in found[name].to_pylist()]
        assert told == [each or "" for each in expected[name].to_pylist()]


def test_developers_md_shows_what_is_run() -> None:
    assert (
        inspect.getsource(annotated).replace("  # noqa: PLC0415", "") in (ROOT / "DEVELOPERS.md").read_text()
    )
