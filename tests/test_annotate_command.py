"""`gradefloor annotate`, as a shop runs it. Every row is invented."""

import csv
import subprocess
import sys
from pathlib import Path

import pytest

from samples import ROOT

HEAD = "Shape;Cts;Color;Clarity;Measurements;Depth;Fluor;Note\n"
GOOD = 'EM;1,46;I;VS2;7.69x5.65x3.73;66;N;=HYPERLINK("x")\n'
HEAVY = "RB;1.20;F;VS2;6.45-6.48x3.98;61.6;N;Zürich\n"


def annotate(file: Path, *options: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "gradefloor", "annotate", str(file), *map(str, options)]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=120)


def written(file: Path) -> list[dict[str, str]]:
    with file.with_suffix(".annotated.csv").open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.DictReader(stream, delimiter=";"))


@pytest.fixture
def feed(tmp_path: Path) -> Path:
    file = tmp_path / "feed.csv"
    file.write_text(HEAD + GOOD + HEAVY, encoding="cp1252")
    return file


def test_each_row_is_written_again_with_what_was_found(feed: Path) -> None:
    annotate(feed, "--metal", "platinum", "--ruleset", "house@1.1.0", "--as-of", "2026-11-25")
    emerald, heavy = written(feed)

    assert emerald["Cts"] == "1,46"
    assert emerald["gradefloor_outcome"] == "accepted"
    assert emerald["gradefloor_verdict"] == "ask"
    assert "clarity.steps: ask" in emerald["gradefloor_findings"]
    assert 'carat: assumed, "1,46" read as 1.46' in emerald["gradefloor_remarks"]
    assert heavy["gradefloor_outcome"] == "set_aside"
    assert heavy["Note"] == "Zürich"


def test_no_cell_of_the_written_file_is_run_by_a_spreadsheet(feed: Path) -> None:
    annotate(feed)
    assert written(feed)[0]["Note"] == '\'=HYPERLINK("x")'


@pytest.mark.long
def test_what_was_found_out_about_the_file_is_told(feed: Path) -> None:
    told = annotate(feed).stdout
    assert "cp1252, semicolon" in told
    assert "Cts is carat" in " ".join(told.replace("│", " ").split())


@pytest.mark.parametrize(
    ("rows", "code"),
    [pytest.param(GOOD, 0, id="nothing set aside"), pytest.param(GOOD + HEAVY, 3, id="something set aside")],
)
def test_the_exit_code_says_whether_anything_was_set_aside(feed: Path, rows: str, code: int) -> None:
    feed.write_text(HEAD + rows)
    assert annotate(feed).returncode == code


@pytest.mark.parametrize(
    ("options", "word"),
    [
        pytest.param(("--ruleset", "nobody"), "nobody", id="unknown rules"),
        pytest.param(("--as-of", "yesterday"), "yesterday", id="no date"),
        pytest.param(("--column", "Weight=carat"), "there is no column 'Weight'", id="no such header"),
        pytest.param(("--column", "Cts=sparkle"), "sparkle is not one of", id="no such field"),
        pytest.param(("--number-format", "dot"), "dot is not one of point, comma", id="no such format"),
        pytest.param(("--metal", "tin"), "tin is not one of platinum", id="no such metal"),
    ],
)
@pytest.mark.long
def test_a_word_that_is_none_of_ours_is_told_before_any_row(
    feed: Path, options: tuple[str, ...], word: str
) -> None:
    done = annotate(feed, *options)
    assert done.returncode == 2
    assert word in done.stderr
    assert "Traceback" not in done.stderr
    assert not feed.with_suffix(".annotated.csv").exists()


def test_a_file_that_does_not_exist_is_told(tmp_path: Path) -> None:
    done = annotate(tmp_path / "nothing.csv")
    assert done.returncode == 2
    assert "nothing.csv" in done.stderr


@pytest.mark.long
def test_columns_may_be_named(feed: Path) -> None:
    annotate(feed, "--column", "Shape=shape")
    assert "clarity: not_stated" in written(feed)[0]["gradefloor_remarks"]


def test_several_files_are_written_into_a_folder(feed: Path) -> None:
    other = feed.with_name("other.csv")
    other.write_text(HEAD + GOOD)
    done = annotate(feed, other, "--to", feed.with_name("out"))
    assert done.returncode == 3
    assert "other.csv" in done.stdout
    assert sorted(path.name for path in feed.with_name("out").iterdir()) == [
        "feed.csv", "feed.csv.made.json", "other.csv", "other.csv.made.json",
    ]  # fmt: skip


def test_a_file_of_several_that_cannot_be_used_is_told_and_the_others_arrive(feed: Path) -> None:
    done = annotate(feed, feed.with_name("nothing.csv"), "--to", feed.with_name("out"))
    assert done.returncode == 2
    assert "no such file" in done.stdout
    assert "1 of 2 files could not be used" in done.stderr
    assert feed.with_name("out").joinpath("feed.csv").exists()


@pytest.mark.parametrize(
    ("options", "word"),
    [
        pytest.param(("again.csv",), "name it with --to", id="no folder"),
        pytest.param(
            ("again.csv", "--to", "out", "--processes", "2", "--cluster", "tcp://127.0.0.1:9"),
            "give one of the two",
            id="processes and cluster",
        ),
    ],
)
@pytest.mark.long
def test_a_folder_that_cannot_be_written_so_is_refused(
    feed: Path, options: tuple[str, ...], word: str
) -> None:
    done = annotate(feed, *options)
    assert done.returncode == 2
    assert word in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.long
def test_processes_write_the_same_file(feed: Path) -> None:
    for name, count in (("one.csv", "1"), ("two.csv", "2")):
        assert annotate(feed, "--to", feed.with_name(name), "--processes", count).returncode == 3
    assert feed.with_name("two.csv").read_bytes() == feed.with_name("one.csv").read_bytes()
