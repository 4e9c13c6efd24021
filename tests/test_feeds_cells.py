"""Cells of a CSV file come back as they were, or made safe. Every row here is invented."""

import codecs
import csv
import io
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feed_files import out, run, written
from gradefloor.feeds.delimited import safe
from gradefloor.feeds.rows import ADDED, Judged


@pytest.mark.parametrize(
    ("cell", "kept"),
    [
        ('=HYPERLINK("http://invented.example")', '\'=HYPERLINK("http://invented.example")'),
        ("+cmd|'/c calc'!A1", "'+cmd|'/c calc'!A1"),
        ("-2+3", "'-2+3"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "'\t=1"),
        ("\r=1", "'\r=1"),
        ("\n=1", "'\n=1"),
        ("\uff1d1+1", "'\uff1d1+1"),
        ("-", "'-"),
        ("-inf", "'-inf"),
        ("-1_000", "'-1_000"),
        ("-\u0661", "'-\u0661"),
        ("-1\n", "'-1\n"),
        ("-1.5", "-1.5"),
        ("+1,35", "+1,35"),
        ("-1.299,50", "-1.299,50"),
        ("-.5e-3", "-.5e-3"),
        ("1-2", "1-2"),
        ("G-H", "G-H"),
        ("", ""),
        (" =1", " =1"),
    ],
)
def test_no_spreadsheet_runs_a_cell(cell: str, kept: str) -> None:
    assert safe(cell) == kept


@given(st.text())
def test_a_safe_cell_is_safe_already(cell: str) -> None:
    assert safe(safe(cell)) == safe(cell)
    assert safe(cell) in {cell, f"'{cell}"}


def test_headers_and_findings_are_made_safe_too(tmp_path: Path) -> None:
    path = written(tmp_path, "=shape,@note\n=1+1,-5\n")
    lines = run(path, judge=lambda _: Judged("ask", remarks=["=x: odd"])).target.read_text().splitlines()
    assert lines[0].startswith("'=shape,'@note,")
    assert lines[1] == "'=1+1,-5,ask,,,,'=x: odd"


CELLS = st.lists(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0")), min_size=2)


@settings(max_examples=50)
@given(cells=CELLS, delimiter=st.sampled_from(",;\t|"), ends=st.sampled_from(["\n", "\r\n"]))
def test_any_cells_come_back_as_they_were_or_made_safe(
    tmp_path_factory: pytest.TempPathFactory, cells: list[str], delimiter: str, ends: str
) -> None:
    text = io.StringIO()
    out_of = csv.writer(text, delimiter=delimiter, quoting=csv.QUOTE_ALL, lineterminator=ends)
    names = [f"column {at}" for at in range(len(cells))]
    out_of.writerows([names, cells])
    target = run(written(tmp_path_factory.mktemp("cells"), text.getvalue())).target
    with target.open(encoding="utf-8", newline="") as stream:
        head, row = csv.reader(stream, delimiter=delimiter)
    assert head == [*names, *ADDED]
    assert row[: len(cells)] == [safe(cell) for cell in cells]


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_delimiter_and_line_ends_stay(tmp_path: Path, delimiter: str, ends: str) -> None:
    path = written(tmp_path, f"shape,note{ends}oval,fine{ends}".replace(",", delimiter))
    lines = out(path).split(ends)
    assert [line.count(delimiter) for line in lines] == [6, 6, 0]
    assert "\r" not in "".join(lines)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_what_was_not_plain_utf8_is_written_for_spreadsheets(tmp_path: Path, encoding: str) -> None:
    path = written(tmp_path, "shape;note\noval;Zoé à Genève\n".encode(encoding))
    content = run(path).target.read_bytes()
    assert content.startswith(codecs.BOM_UTF8)
    assert "oval;Zoé à Genève;accepted" in content.decode("utf-8-sig")
