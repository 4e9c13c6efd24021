"""A file is judged row by row and written again. Every row here is invented."""

import csv
import io
import json
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.parquet as pq  # type: ignore[import-untyped]
import pytest
from rich.console import Console

from feed_files import judge, out, run, written
from gradefloor.feeds.rows import ADDED, Judged, Row, TableError
from gradefloor.feeds.showing import show
from gradefloor.feeds.tally import DISTINCT, Tally


def test_csv_comes_back_with_what_was_found(tmp_path: Path) -> None:
    path = written(tmp_path, 'shape,note\noval,"a, ""b"""\nask,\nbad,"two\nlines"\n')
    assert out(path) == (
        "shape,note,gradefloor_outcome,gradefloor_verdict,gradefloor_findings,gradefloor_questions,"
        "gradefloor_remarks\n"
        'oval,"a, ""b""",accepted,pass,floor.a: pass,,\n'
        "ask,,ask,ask,floor.a: ask; floor.b: pass,How tall?; How wide?,\n"
        'bad,"two\nlines",set_aside,,,,carat: unreadable\n'
    )


def test_json_lines_come_back_byte_for_byte_with_what_was_found(tmp_path: Path) -> None:
    lines = ['{"shape": "ask", "carat":1.10, "n":123456789012345678901234567890, "x":1, "x":2 } ', "{}"]
    first, second = out(written(tmp_path, "\n".join(lines), "feed.ndjson")).splitlines()
    assert first == lines[0].rstrip()[:-1].rstrip() + (
        ',"gradefloor_outcome":"ask","gradefloor_verdict":"ask",'
        '"gradefloor_findings":["floor.a: ask","floor.b: pass"],'
        '"gradefloor_questions":["How tall?","How wide?"],"gradefloor_remarks":[]}'
    )
    assert json.loads(second)["gradefloor_verdict"] == "pass"
    assert list(json.loads(second)) == list(ADDED)


def test_parquet_comes_back_type_and_all_with_what_was_found(tmp_path: Path) -> None:
    source = pa.table(
        {
            "shape": pa.array(["oval", "ask", None]).dictionary_encode(),
            "price": pa.array([Decimal("1.10"), None, Decimal("2.00")], pa.decimal128(9, 2)),
            "seen": pa.array([datetime(2026, 5, 1, tzinfo=UTC), None, None], pa.timestamp("ns", "UTC")),
            "tags": pa.array([["a"], [], None]),
            "size": pa.array([{"mm": 1.5}, None, {"mm": 2.0}]),
        },
        metadata={"origin": "invented"},
    )
    pq.write_table(source, tmp_path / "feed.parquet")
    table = pq.read_table(run(tmp_path / "feed.parquet").target)
    assert table.select(source.column_names).equals(source)
    assert table.schema.metadata[b"origin"] == b"invented"
    assert table.column_names == [*source.column_names, *ADDED]
    assert table["gradefloor_verdict"].to_pylist() == ["pass", "ask", "pass"]
    assert table["gradefloor_findings"].to_pylist()[1] == ["floor.a: ask", "floor.b: pass"]
    assert table["gradefloor_remarks"].to_pylist() == [[], [], []]


def test_parquet_cells_that_cannot_be_read_leave_the_row_to_be_judged(tmp_path: Path) -> None:
    source = pa.table(
        {
            "shape": ["oval", "ask"],
            "text": pa.array([b"\xff", b"a"], pa.binary()).view(pa.string()),
            "day": pa.array([2**30, 1], pa.date32()),
        }
    )
    pq.write_table(source, tmp_path / "feed.parquet")
    table = pq.read_table(run(tmp_path / "feed.parquet").target)
    assert table["gradefloor_verdict"].to_pylist() == ["pass", "ask"]
    assert table["gradefloor_remarks"].to_pylist() == [["text: unreadable", "day: unreadable"], []]
    assert table.select(source.column_names).equals(source)


def test_parquet_columns_of_one_name_are_told_apart(tmp_path: Path) -> None:
    twice = pa.Table.from_arrays([pa.array(["oval"]), pa.array([1]), pa.array([2])], ["shape", "p", "p"])
    pq.write_table(twice, tmp_path / "feed.parquet")
    table = pq.read_table(run(tmp_path / "feed.parquet").target)
    assert table.column_names[:3] == ["shape", "p", "p_2"]
    assert table["p_2"].to_pylist() == [2]


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("feed.csv", 'shape;n;\noval;=1;x\nask;-;\nbad;1;2;3;"4;5"\n'),
        ("feed.ndjson", '{"shape":"oval","n":1.10}\n[1]\n{"shape":"ask"}\n{}\n'),
    ],
)
def test_annotating_what_was_annotated_changes_nothing(tmp_path: Path, name: str, content: str) -> None:
    once = run(written(tmp_path, content, name))
    twice = run(once.target)
    assert twice.target.read_bytes() == once.target.read_bytes()
    assert (twice.outcomes, twice.remarks) == (once.outcomes, once.remarks)


def test_columns_of_an_earlier_annotation_are_replaced_and_unseen(tmp_path: Path) -> None:
    seen: list[Row] = []

    def looking(row: Row) -> Judged:
        seen.append(row)
        return judge(row)

    source = pa.table({"gradefloor_verdict": ["old"], "shape": ["oval"], "gradefloor_findings": [["old"]]})
    pq.write_table(source, tmp_path / "feed.parquet")
    written(tmp_path, "gradefloor_verdict,shape\nold,oval\n", "feed.csv")
    written(tmp_path, '{"gradefloor_verdict":"old","shape":"oval"}\n', "feed.ndjson")
    targets = [run(tmp_path / f"feed.{kind}", judge=looking).target for kind in ("parquet", "csv", "ndjson")]
    assert seen == [{"shape": "oval"}] * 3
    assert pq.read_table(targets[0]).column_names == ["shape", *ADDED]
    assert targets[1].read_text().splitlines()[0].split(",") == ["shape", *ADDED]
    assert list(json.loads(targets[2].read_text())) == ["shape", *ADDED]


def test_a_short_row_beside_replaced_columns_keeps_its_cells_in_their_columns(tmp_path: Path) -> None:
    path = written(tmp_path, "gradefloor_verdict,shape\nold\nold,oval\n")
    lines = run(path, judge=lambda row: Judged("ask", remarks=list(row))).target.read_text().splitlines()
    assert lines[1:] == [",ask,,,,row: too_few_cells", "oval,ask,,,,shape"]


def test_cells_over_the_count_are_set_aside_unjudged_and_kept(tmp_path: Path) -> None:
    path = written(tmp_path, 'shape,carat\noval,1,51,"a,b"\noval,1\n')
    summary = run(path, judge=lambda row: Judged("accepted", remarks=[row["carat"]]))
    head, wide, plain = csv.reader(io.StringIO(summary.target.read_text()))
    assert head[-1] == "gradefloor_unread"
    assert wide == ["oval", "1", "set_aside", "", "", "", "row: too_many_cells", '51,"a,b"']
    assert plain == ["oval", "1", "accepted", "", "", "", "1", ""]


def test_a_line_that_is_no_object_is_set_aside_and_kept(tmp_path: Path) -> None:
    path = written(tmp_path, b'{"shape":"oval"}\n{"shape": \xff\n', "feed.ndjson")
    summary = run(path)
    last = json.loads(summary.target.read_text().splitlines()[1])
    assert last["gradefloor_unread"] == '{"shape": \\xff'
    assert (last["gradefloor_outcome"], last["gradefloor_remarks"]) == ("set_aside", ["row: unreadable"])
    assert summary.set_aside == 1


@pytest.mark.parametrize(("name", "content"), [("feed.csv", "shape,carat\n"), ("feed.tsv", "shape")])
def test_a_header_alone_gives_a_header(tmp_path: Path, name: str, content: str) -> None:
    summary = run(written(tmp_path, content, name))
    assert (summary.rows, summary.set_aside) == (0, 0)
    assert summary.target.read_text().count("\n") == 1


def test_parquet_without_rows_gives_parquet_without_rows(tmp_path: Path) -> None:
    pq.write_table(pa.table({"shape": pa.array([], pa.string())}), tmp_path / "feed.parquet")
    table = pq.read_table(run(tmp_path / "feed.parquet").target)
    assert (table.num_rows, table.column_names) == (0, ["shape", *ADDED])


def test_a_row_the_judge_breaks_on_is_set_aside_and_counted(tmp_path: Path) -> None:
    def breaking(row: Row) -> Judged:
        if row["shape"] == "bad":
            raise ZeroDivisionError(row)
        return judge(row)

    summary = run(written(tmp_path, "shape,n\noval,1\nbad,2\nask,3\n"), judge=breaking)
    assert (summary.raised, summary.set_aside, summary.rows) == (1, 1, 3)
    assert summary.target.read_text().splitlines()[2] == (
        "bad,2,set_aside,,,,row: unreadable (ZeroDivisionError)"
    )


def test_a_judge_that_changes_the_row_changes_no_file(tmp_path: Path) -> None:
    def wiping(row: Row) -> Judged:
        row.clear()
        return Judged("accepted")

    pq.write_table(pa.table({"shape": ["oval"]}), tmp_path / "feed.parquet")
    written(tmp_path, "shape,n\noval,1\n", "feed.csv")
    written(tmp_path, '{"shape":"oval"}\n', "feed.ndjson")
    targets = [run(tmp_path / f"feed.{kind}", judge=wiping).target for kind in ("csv", "ndjson", "parquet")]
    assert targets[0].read_text().splitlines()[1].startswith("oval,1,")
    assert targets[1].read_text().startswith('{"shape":"oval",')
    assert pq.read_table(targets[2])["shape"].to_pylist() == ["oval"]


def test_the_summary_counts_all_rows(tmp_path: Path) -> None:
    summary = run(written(tmp_path, "shape\noval\nask\nbad\noval\n"), headers_note="shape read as shape")
    assert summary.outcomes == {"accepted": 2, "ask": 1, "set_aside": 1}
    assert summary.verdicts == {"pass": 2, "ask": 1, "fail": 0, "none": 1}
    assert summary.findings == (("floor.a: pass", 2), ("floor.a: ask", 1), ("floor.b: pass", 1))
    assert summary.remarks == (("carat: unreadable", 1),)
    assert (summary.rows, summary.resumed, summary.set_aside) == (4, 0, 1)
    assert (summary.encoding, summary.delimiter) == ("utf-8", ",")
    assert summary.rows_per_second > 0


def test_the_summary_names_the_ten_commonest(tmp_path: Path) -> None:
    path = written(tmp_path, "n\n" + "".join(f"{n}\n" * (n + 1) for n in range(12)))
    summary = run(path, judge=lambda row: Judged("ask", findings=[row["n"]]))
    assert summary.findings == tuple((str(n), n + 1) for n in range(11, 1, -1))


def test_texts_without_end_do_not_fill_the_memory() -> None:
    tally = Tally()
    for number in range(DISTINCT + 100):
        tally.add(Judged("ask", remarks=[f"{number}: odd"]))
    assert (len(tally.remarks), tally.rows) == (DISTINCT, DISTINCT + 100)


def test_the_shown_summary_obeys_no_header(tmp_path: Path) -> None:
    summary = run(
        written(tmp_path, "shape\noval\n"),
        judge=lambda _: Judged("ask", remarks=["[bold]a[/nothing]: odd", "\x1b[31mred\x07: odd"]),
        headers_note="[link=x]columns",
    )
    console = Console(file=io.StringIO(), width=100)
    show(summary, console)
    assert isinstance(console.file, io.StringIO)
    shown = console.file.getvalue()
    assert "[bold]a[/nothing]: odd" in shown
    assert "[link=x]columns" in shown
    assert "\ufffd[31mred\ufffd: odd" in shown
    assert "\x1b" not in shown


@pytest.mark.parametrize(
    ("target", "told"),
    [
        ("feed.csv", "is the source itself"),
        ("other.ndjson", "same kind of file"),
        ("other.xlsx", "ends with none of"),
        ("nowhere/other.csv", "there is no folder"),
        ("folder.csv", "is a folder"),
    ],
)
def test_a_target_that_cannot_be_is_refused_before_any_row(tmp_path: Path, target: str, told: str) -> None:
    path = written(tmp_path, "shape\noval\n")
    (tmp_path / "folder.csv").mkdir()
    before = sorted(tmp_path.iterdir())
    with pytest.raises(TableError, match=told):
        run(path, tmp_path / target)
    assert sorted(tmp_path.iterdir()) == before


def test_an_earlier_target_is_replaced(tmp_path: Path) -> None:
    path = written(tmp_path, "shape\noval\n")
    target = written(tmp_path, "old", "other.csv")
    assert run(path, target).target == target
    assert target.read_text().startswith("shape,")
