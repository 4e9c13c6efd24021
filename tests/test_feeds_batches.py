"""Rows in Arrow's columns are annotated in memory as they are from a file. Every row here is invented."""

import pickle
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.parquet as pq  # type: ignore[import-untyped]
import pytest

from feed_files import DAY, house, judge, run
from gradefloor.feeds.batches import annotate_batch, annotated_schema
from gradefloor.feeds.judging import Judgement
from gradefloor.feeds.rows import ADDED, MADE, Judged, Row, TableError
from gradefloor.feeds.tally import Tally
from samples import RULESETS, Tree, release, write_tiny


def typed() -> Any:
    """Columns of many types, some with metadata of their own."""
    seen = pa.field("seen", pa.timestamp("ns", "UTC"), metadata={"unit": "ns"})
    fields = [
        pa.field("shape", pa.dictionary(pa.int8(), pa.string()), nullable=False),
        pa.field("price", pa.decimal128(9, 2)),
        seen,
        pa.field("tags", pa.list_(pa.string())),
        pa.field("size", pa.struct([("mm", pa.float32())])),
    ]
    columns = [
        pa.array(["oval", "ask", "bad"]).dictionary_encode().cast(fields[0].type),
        pa.array([Decimal("1.10"), None, Decimal("2.00")], fields[1].type),
        pa.array([datetime(2026, 5, 1, tzinfo=UTC), None, None], fields[2].type),
        pa.array([["a"], [], None], fields[3].type),
        pa.array([{"mm": 1.5}, None, {"mm": 2.0}], fields[4].type),
    ]
    return pa.Table.from_arrays(columns, schema=pa.schema(fields, metadata={"origin": "invented"}))


@pytest.fixture(scope="module")
def stones() -> Any:
    return pa.table(
        {
            "Shape": ["round", "oval", "emerald", "what", None],
            "Cts": ["1.51", "1,02", "2.01", "1", ""],
            "Color": ["G", "H-I", "G+", "Fancy Yellow", "VS1"],
            "Clarity": ["VS1", "SI 1", "VVS2", "eye clean", "G"],
            "Measurements": ["7.35-7.40 x 4.55", "8.0x5.8x3.6", "8.4*6.1*4.0", "", "6 x 6"],
        }
    )


def test_a_batch_is_annotated_as_the_file_is(tmp_path: Path, stones: Any) -> None:
    pq.write_table(stones, tmp_path / "feed.parquet")
    judgement = house("1.1.0", stones.column_names)
    file = pq.read_table(run(tmp_path / "feed.parquet", judge=judgement.judge()).target)
    assert annotate_batch(stones, judgement.judge()).equals(file)


def test_a_record_batch_and_a_table_come_back_as_what_they_are(stones: Any) -> None:
    (batch,) = stones.to_batches()
    found = annotate_batch(batch, judge)
    assert isinstance(found, pa.RecordBatch)
    assert pa.Table.from_batches([found]).equals(annotate_batch(stones, judge))


def test_what_stood_in_the_columns_stays_type_and_metadata_and_all() -> None:
    source = typed()
    found = annotate_batch(source, judge)
    assert found.select(source.column_names).equals(source, check_metadata=True)
    assert found.column_names == [*source.column_names, *ADDED]
    assert found.schema.equals(annotated_schema(source.schema), check_metadata=True)
    assert found["gradefloor_verdict"].to_pylist() == ["pass", "ask", None]
    assert found["gradefloor_remarks"].to_pylist() == [[], [], ["carat: unreadable"]]


def test_columns_of_an_earlier_annotation_are_replaced() -> None:
    once = annotate_batch(typed(), judge)
    assert annotate_batch(once, judge).equals(once, check_metadata=True)


def test_how_an_earlier_part_was_made_is_not_passed_on() -> None:
    source = typed().replace_schema_metadata({MADE: b"{}", b"origin": b"invented"})
    assert annotate_batch(source, judge).schema.metadata == {b"origin": b"invented"}


def test_a_row_that_breaks_the_judge_spoils_no_other() -> None:
    def breaking(row: Row) -> Judged:
        if row["shape"] == "bad":
            raise ZeroDivisionError
        return judge(row)

    tally = Tally()
    found = annotate_batch(typed(), breaking, tally)
    assert found["gradefloor_outcome"].to_pylist() == ["accepted", "ask", "set_aside"]
    assert found["gradefloor_remarks"].to_pylist()[2] == ["row: unreadable (ZeroDivisionError)"]
    assert (tally.rows, tally.raised) == (3, 1)


def test_rows_beyond_those_that_are_values_at_once_are_in_order() -> None:
    source = pa.table({"n": list(range(2_500))})
    found = annotate_batch(source, lambda row: Judged("ask", remarks=[str(row["n"])]))
    assert found["gradefloor_remarks"].to_pylist() == [[str(n)] for n in range(2_500)]


def test_no_rows_give_no_rows_and_the_columns() -> None:
    found = annotate_batch(typed().slice(0, 0), judge)
    assert (found.num_rows, found.schema) == (0, annotated_schema(typed().schema))


def test_a_judgement_that_was_sent_judges_alike(stones: Any) -> None:
    judgement = house("1.1.0", stones.column_names)
    sent: Judgement = pickle.loads(pickle.dumps(judgement))  # noqa: S301 - our own bytes
    assert sent == judgement
    assert sent.fingerprint() == judgement.fingerprint()
    assert annotate_batch(stones, sent.judge()).equals(annotate_batch(stones, judgement.judge()))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"digest": "sha256:other"}, r"house@1\.1\.0 have the digest sha256:.* here and sha256:other"),
        ({"version": "9.9.9"}, r"there are no rules house@9\.9\.9 in rulesets here"),
        ({"ruleset": "nobody"}, r"there are no rules nobody@1\.1\.0"),
        ({"folder": Path("/nowhere/rulesets")}, "the rule sets in rulesets cannot be read here"),
        ({"service": "0.0.0"}, r"gradefloor is .* here and 0\.0\.0 where the work was given out"),
    ],
)
def test_a_judgement_that_would_be_another_one_elsewhere_is_refused(change: Any, told: str) -> None:
    with pytest.raises(TableError, match=told):
        replace(house("1.1.0", ["Shape"]), **change).judge()


def test_a_draft_of_the_same_version_is_not_taken_for_the_release(tmp_path: Path) -> None:
    tree = Tree(tmp_path)
    write_tiny(tmp_path, "tiny", "1.0.0")
    release(tmp_path)
    (found,) = tree.load(drafts=False)
    judgement = Judgement.of(tmp_path, found, house("1.1.0", ["Shape"]).asking, None, DAY)
    (tmp_path / "RELEASED").write_text("end 0\n")
    with pytest.raises(TableError, match=r"there are no rules tiny@1\.0\.0"):
        judgement.judge()


@pytest.mark.parametrize(
    "change",
    [{"as_of": date(2026, 1, 2)}, {"digest": "sha256:other"}, {"service": "0.0.0"}, {"version": "1.0.0"}],
)
def test_whatever_changes_an_answer_changes_the_fingerprint(change: Any) -> None:
    judgement = house("1.1.0", ["Shape"])
    assert replace(judgement, **change).fingerprint() != judgement.fingerprint()


def test_the_folder_of_the_rules_is_where_they_are_and_not_what_they_are() -> None:
    judgement = house("1.1.0", ["Shape"])
    assert judgement.folder == RULESETS.resolve()
    assert replace(judgement, folder=Path("/elsewhere")).fingerprint() == judgement.fingerprint()
