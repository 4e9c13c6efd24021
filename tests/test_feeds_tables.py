"""Files of rows are read as tables. Every row here is invented."""

import codecs
import sys
from pathlib import Path

import pytest

from gradefloor.feeds.delimited import LINE_LIMIT
from gradefloor.feeds.rows import Row, TableError, unique
from gradefloor.feeds.tables import open_table

ACCENTED = "shape;carat;note\nSmaragd;1,51;Brillé à Genève\nTröpfchen;1,02;Müller & Söhne\n"


def written(folder: Path, content: str | bytes, name: str = "feed.csv") -> Path:
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def rows(path: Path, skip: int = 0) -> list[Row]:
    return [record.row for record in open_table(path).records(skip)]


@pytest.mark.parametrize(
    ("encoding", "mark", "found"),
    [
        ("utf-8", b"", "utf-8"),
        ("utf-8", codecs.BOM_UTF8, "utf-8-sig"),
        ("utf-16-le", codecs.BOM_UTF16_LE, "utf-16"),
        ("utf-16-be", codecs.BOM_UTF16_BE, "utf-16"),
        ("utf-32-le", codecs.BOM_UTF32_LE, "utf-32"),
        ("utf-16-le", b"", "utf-16-le"),
        ("utf-16-be", b"", "utf-16-be"),
        ("cp1252", b"", "cp1252"),
    ],
)
def test_accented_text_is_read_in_this_encoding(
    tmp_path: Path, encoding: str, mark: bytes, found: str
) -> None:
    path = written(tmp_path, mark + ACCENTED.encode(encoding))
    assert open_table(path).encoding == found
    assert rows(path)[0] == {"shape": "Smaragd", "carat": "1,51", "note": "Brillé à Genève"}


@pytest.mark.parametrize(
    ("encoding", "text"),
    [
        ("cp1252", "shape,carat,supplier\noval,1.51,Zoé\noval,1.00,Anna\n"),
        ("cp1252", "shape,price\noval,1299 €\nround,“fine”\n"),
        ("cp1252", "shape,meas\noval,6.52×4.81×3.10\n"),
        ("cp1252", "shape,angle\noval,34.5°\n"),
        ("mac_roman", "shape;note\noval;Qualité élevée à Genève\npear;très clair\n"),
        ("cp1251", "форма;вес;цвет\nизумруд;1,51;белый\nовал;1,02;слегка тонированный\n"),
        ("cp1250", "kształt;masa;uwaga\nszmaragd;1,51;żółty\nłza;1,1;więcej światła\n"),
        ("shift_jis", "形,カラット\nエメラルド,1.51\nオーバル,1.02\n"),
        ("gb18030", "形状,重量\n祖母绿,1.51\n椭圆,1.02\n"),
    ],
)
def test_text_without_a_mark_keeps_its_letters(tmp_path: Path, encoding: str, text: str) -> None:
    path = written(tmp_path, text.encode(encoding))
    heads, first = (line.split(";" if ";" in text else ",") for line in text.splitlines()[:2])
    assert rows(path)[0] == dict(zip(heads, first, strict=True))


def test_one_accent_in_the_last_of_many_rows_is_no_utf8(tmp_path: Path) -> None:
    path = written(tmp_path, b"shape,note\n" + b"oval,plain\n" * 200_000 + b"oval,Zo\xe9\n")
    assert open_table(path).encoding == "cp1252"


def test_a_mark_over_other_bytes_is_told(tmp_path: Path) -> None:
    path = written(tmp_path, codecs.BOM_UTF8 + b"shape,note\noval,Zo\xe9\n")
    assert "not of this encoding" in open_table(path).about
    assert rows(path) == [{"shape": "oval", "note": "Zo\ufffd"}]


def test_bytes_of_no_encoding_are_kept_as_characters(tmp_path: Path) -> None:
    path = written(tmp_path, b"shape,note\noval,\x81\x8d\x8f\xff\xfe\n")
    (row,) = rows(path)
    assert len(row["note"]) >= 2
    assert "\ufffd" not in row["note"]


@pytest.mark.parametrize(
    "content", [b"PK\x03\x04\x00\x00\x01\xff" * 9, b"a\0\0\0b,\0c\n", bytes(range(256)) * 4]
)
def test_what_is_not_text_is_refused(tmp_path: Path, content: bytes) -> None:
    with pytest.raises(TableError, match="not text"):
        open_table(written(tmp_path, content))


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_a_delimiter_is_found(tmp_path: Path, delimiter: str) -> None:
    lines = ["shape|carat|note", "oval|1.51|fine", "pear|1.02|good"]
    path = written(tmp_path, "\n".join(lines).replace("|", delimiter))
    assert open_table(path).delimiter == delimiter
    assert rows(path)[1] == {"shape": "pear", "carat": "1.02", "note": "good"}


@pytest.mark.parametrize(
    ("text", "delimiter"),
    [
        ("carat;depth;table\n1,51;62,3;57,5\n1,02;61,0;58,0\n", ";"),
        ("carat, ct;depth, pct\n1,51;62,3\n", ";"),
        ('shape,note\noval,"a;b;c;d"\npear,"e;f;g;h"\n', ","),
        ("shape;carat;note\noval;1.5;a, b, c\npear;1.0\n", ";"),
        ("sep=|\nshape|a,b\noval|c,d\n", "|"),
        ("shape\noval\n", ","),
        ("shape;carat\n", ";"),
    ],
)
def test_text_and_numbers_do_not_mislead_about_the_delimiter(
    tmp_path: Path, text: str, delimiter: str
) -> None:
    assert open_table(written(tmp_path, text)).delimiter == delimiter


def test_a_line_that_names_the_delimiter_is_no_header(tmp_path: Path) -> None:
    path = written(tmp_path, "sep=;\r\nshape;carat\r\noval;1,51\r\n")
    assert rows(path) == [{"shape": "oval", "carat": "1,51"}]


@pytest.mark.parametrize("named", ['"', "a", " ", "\\", "'"])
def test_a_line_cannot_name_any_sign_as_the_delimiter(tmp_path: Path, named: str) -> None:
    assert open_table(written(tmp_path, f"sep={named}\nshape;carat\noval;1\n")).delimiter in {",", ";"}


def test_a_quoted_line_end_belongs_to_its_cell(tmp_path: Path) -> None:
    path = written(tmp_path, 'shape,note\noval,"first\r\nsecond, ""third"""\npear,\n')
    assert rows(path)[0]["note"] == 'first\r\nsecond, "third"'
    assert open_table(path).count == 2


def test_blank_lines_are_no_rows(tmp_path: Path) -> None:
    path = written(tmp_path, "\n\nshape,carat\n\noval,1\n\n\npear,2\n\n")
    assert [row["shape"] for row in rows(path)] == ["oval", "pear"]


def test_returns_alone_end_lines(tmp_path: Path) -> None:
    assert rows(written(tmp_path, "shape,carat\roval,1\rpear,2\r")) == [
        {"shape": "oval", "carat": "1"},
        {"shape": "pear", "carat": "2"},
    ]


def test_a_short_row_is_judged_by_what_it_has(tmp_path: Path) -> None:
    (record,) = open_table(written(tmp_path, "shape,carat,note\noval,1\n")).records()
    assert (record.row, record.remarks) == ({"shape": "oval", "carat": "1"}, ("row: too_few_cells",))
    assert not record.unread


def test_a_row_with_too_many_cells_cannot_be_read(tmp_path: Path) -> None:
    records = list(open_table(written(tmp_path, "shape,carat\noval,1,51\npear,1\n")).records())
    assert [record.unread for record in records] == [True, False]
    assert records[0].remarks == ("row: too_many_cells",)


def test_empty_cells_over_the_count_are_nothing(tmp_path: Path) -> None:
    (record,) = open_table(written(tmp_path, "shape,carat\noval,1,,,\n")).records()
    assert (record.row, record.remarks, record.unread) == ({"shape": "oval", "carat": "1"}, (), False)


@pytest.mark.parametrize(
    ("names", "made"),
    [
        (["a", "b"], ["a", "b"]),
        (["a", "a", "a"], ["a", "a_2", "a_3"]),
        (["a", "a", "a_2"], ["a", "a_3", "a_2"]),
        (["", "a", ""], ["column_1", "a", "column_3"]),
        (["", "column_1"], ["column_1_2", "column_1"]),
        ([], []),
    ],
)
def test_every_column_has_a_name_of_its_own(names: list[str], made: list[str]) -> None:
    assert unique(names) == made


def test_many_equal_names_are_told_apart_in_time() -> None:
    assert len(set(unique(["a", ""] * 50_000))) == 100_000


def test_columns_of_one_name_lose_no_cell(tmp_path: Path) -> None:
    path = written(tmp_path, "price,price,,\ufeff shape \n1,2,3,oval\n")
    assert rows(path) == [{"price": "1", "price_2": "2", "column_3": "3", "shape": "oval"}]


@pytest.mark.parametrize("name", ["feed.csv", "feed.ndjson", "feed.parquet"])
def test_an_empty_file_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(TableError, match="empty"):
        open_table(written(tmp_path, b"", name))


@pytest.mark.parametrize("name", ["feed.csv", "feed.ndjson", "feed.parquet"])
def test_a_missing_file_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(TableError, match="no such file"):
        open_table(tmp_path / name)


@pytest.mark.parametrize("name", ["feed.xlsx", "feed", "feed.json"])
def test_an_unknown_ending_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(TableError, match="ends with none of"):
        open_table(written(tmp_path, "shape\noval\n", name))


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    (tmp_path / "feed.csv").mkdir()
    with pytest.raises(TableError, match="no such file"):
        open_table(tmp_path / "feed.csv")


@pytest.mark.parametrize("content", ["\n\n\n", ",,,\n", " \n"])
def test_a_file_without_a_header_is_refused(tmp_path: Path, content: str) -> None:
    with pytest.raises(TableError, match="no header"):
        open_table(written(tmp_path, content))


def test_a_quote_never_closed_is_told_before_any_row_is_read(tmp_path: Path) -> None:
    path = written(tmp_path, 'shape,note\noval,fine\noval,"never closed\n' + "pear,good\n" * 20_000)
    with pytest.raises(TableError, match=r"row 3: .*quote"):
        open_table(path)


def test_a_line_without_end_is_refused(tmp_path: Path) -> None:
    with pytest.raises(TableError, match="a line has more than"):
        open_table(written(tmp_path, "shape,note\n" + "a," * LINE_LIMIT))


@pytest.mark.parametrize("skip", [0, 1, 2, 3])
def test_reading_begins_after_the_rows_to_skip(tmp_path: Path, skip: int) -> None:
    csv_file = written(tmp_path, "shape\na\nb\nc\n")
    json_file = written(tmp_path, '{"shape":"a"}\n\n{"shape":"b"}\n{"shape":"c"}', "feed.ndjson")
    expected = [{"shape": letter} for letter in "abc"[skip:]]
    assert rows(csv_file, skip) == rows(json_file, skip) == expected


def test_json_columns_are_those_of_all_the_first_rows(tmp_path: Path) -> None:
    path = written(tmp_path, '\ufeff{"shape":"oval"}\n{"carat":1.5,"shape":"pear"}\n', "feed.jsonl")
    assert open_table(path).headers == ["shape", "carat"]


@pytest.mark.parametrize(
    "line", ["[1]", "1", "{", "null", '{"a":NaN}', '{"a":"\\ud800"}', "{} {}", "[" * 5000, '{"a":1e999}']
)
def test_a_line_that_is_no_object_is_unread_and_the_others_are_read(tmp_path: Path, line: str) -> None:
    path = written(tmp_path, f'{{"shape":"oval"}}\n{line}\n{{"shape":"pear"}}\n', "feed.ndjson")
    records = list(open_table(path).records())
    assert [record.unread for record in records] == [False, True, False]


def test_a_line_over_the_limit_is_unread(tmp_path: Path) -> None:
    long = '{"note":"' + "a" * (2 * 1024 * 1024) + '"}'
    path = written(tmp_path, f'{long}\n{{"shape":"pear"}}\n{long}', "feed.ndjson")
    assert [record.remarks for record in open_table(path).records()] == [
        ("row: too_long",),
        (),
        ("row: too_long",),
    ]


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"shape,carat\noval,1\n", "none of the first 2 lines"),
        ('{"a":1}'.encode("utf-16"), "UTF-16"),
        (b"\n \n", "empty"),
    ],
)
def test_what_is_not_json_lines_is_refused(tmp_path: Path, content: bytes, told: str) -> None:
    with pytest.raises(TableError, match=told):
        open_table(written(tmp_path, content, "feed.ndjson"))


@pytest.mark.parametrize("content", [b"shape,carat\n", b"PAR1", b"PAR1" + bytes(40) + b"PAR1"])
def test_what_is_not_parquet_is_refused(tmp_path: Path, content: bytes) -> None:
    with pytest.raises(TableError, match=r"feed\.parquet: "):
        open_table(written(tmp_path, content, "feed.parquet"))


def test_parquet_without_its_library_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(TableError, match="install gradefloor with the extra 'parquet'"):
        open_table(written(tmp_path, b"PAR1", "feed.parquet"))
