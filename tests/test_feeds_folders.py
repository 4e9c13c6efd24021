"""Many files are annotated into one folder, each by the same judgement. Every row here is invented."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.parquet as pq  # type: ignore[import-untyped]
import pytest
from rich.console import Console

from feed_files import house
from gradefloor.feeds.asking import Wanted
from gradefloor.feeds.folders import Errand, annotate_all, by_processes, one_after_another
from gradefloor.feeds.rows import MADE, Table, TableError
from gradefloor.feeds.showing import show_parts
from gradefloor.feeds.summary import Part
from gradefloor.feeds.tables import open_table
from gradefloor.trade.feed import Asking
from gradefloor.trade.stones import Context

HEAD = "shape,carat,color,clarity"
ROWS = {"shape": ["round", "oval"], "carat": [1.5, 1.2], "color": ["G", "H"], "clarity": ["VS1", "SI1"]}
NAMES = ["a.csv", "b.ndjson", "c.parquet"]


@pytest.fixture
def sources(tmp_path: Path) -> Path:
    """One file of each kind, with the same two stones."""
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / "a.csv").write_text(f"{HEAD}\nround,1.5,G,VS1\noval,1.2,H,SI1\n")
    lines = [dict(zip(ROWS, row, strict=True)) for row in zip(*ROWS.values(), strict=True)]
    (folder / "b.ndjson").write_text("".join(json.dumps(line) + "\n" for line in lines))
    pq.write_table(pa.table(ROWS), folder / "c.parquet")
    return folder


def errand(folder: Path, version: str = "1.1.0", wanted: Wanted | None = None, **change: Any) -> Errand:
    judgement = replace(house(version, []), asking=Asking({}), **change)
    return Errand(judgement, wanted or Wanted(), folder)


def put(sources: Path, version: str = "1.1.0", wanted: Wanted | None = None, **change: Any) -> list[Part]:
    to = sources.with_name("out")
    return annotate_all(errand(to, version, wanted, **change), [sources], one_after_another)


def content(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def made(path: Path) -> dict[str, Any]:
    """What a part says of how it was made."""
    if path.suffix == ".parquet":
        said = pq.read_metadata(path).metadata[MADE]
    else:
        said = path.with_name(f"{path.name}.made.json").read_bytes()
    found: dict[str, Any] = json.loads(said)
    return found


def test_each_file_gives_a_part_of_its_name(sources: Path) -> None:
    parts = put(sources)
    assert [(part.name, part.rows, part.fault, part.done_before) for part in parts] == [
        (name, 2, None, False) for name in NAMES
    ]
    out = sources.with_name("out")
    assert sorted(content(out)) == sorted([*NAMES, "a.csv.made.json", "b.ndjson.made.json"])
    assert len((out / "a.csv").read_text().splitlines()) == 3
    assert pq.read_table(out / "c.parquet")["gradefloor_outcome"].to_pylist() == ["accepted"] * 2


@pytest.mark.parametrize("name", NAMES)
def test_each_part_says_how_it_was_made(sources: Path, name: str) -> None:
    put(sources, context=Context.model_validate({"metal": "platinum"}))
    said, judgement = made(sources.with_name("out") / name), house("1.1.0", [])
    assert said["ruleset"] == "house@1.1.0"
    assert (said["digest"], said["service"]) == (judgement.digest, judgement.service)
    assert said["as_of"] == "2026-11-25"
    assert said["context"] == {"metal": "platinum"}
    assert said["columns"] == {column: column for column in ROWS}
    assert said["source"]["name"] == name
    assert said["counts"]["rows"] == 2


def test_what_an_earlier_run_finished_is_not_done_again(sources: Path) -> None:
    first = put(sources)
    out = sources.with_name("out")
    before = {path.name: path.stat().st_mtime_ns for path in out.iterdir()}
    again = put(sources)
    assert all(part.done_before for part in again)
    assert [replace(part, done_before=False) for part in again] == first
    assert {path.name: path.stat().st_mtime_ns for path in out.iterdir()} == before


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("loss", ["half", "gone", "note"])
def test_half_a_part_is_never_taken_for_done(sources: Path, name: str, loss: str) -> None:
    put(sources)
    out = sources.with_name("out")
    whole, part = content(out), out / name
    note = part.with_name(f"{name}.made.json")
    if loss == "gone":
        part.unlink()
    elif loss == "note" and note.exists():
        note.write_text(note.read_text()[:20])
    else:
        part.write_bytes(part.read_bytes()[: part.stat().st_size // 2])
    done = {each.name: each.done_before for each in put(sources)}
    assert done == {each: each != name for each in NAMES}
    assert content(out) == whole


def test_a_changed_file_is_done_again(sources: Path) -> None:
    put(sources)
    (sources / "a.csv").write_text(f"{HEAD}\nround,1.5,G,VS1\n")
    found = {part.name: (part.done_before, part.rows) for part in put(sources)}
    assert found["a.csv"] == (False, 1)
    assert made(sources.with_name("out") / "a.csv")["counts"]["rows"] == 1


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            {"version": "1.0.0"},
            r"out holds a\.csv with ruleset house@1\.1\.0, digest sha256:\w+, and asked",
        ),
        ({"as_of": date(2026, 11, 26)}, "with as_of 2026-11-25, and asked is as_of 2026-11-26"),
        ({"context": Context.model_validate({"metal": "platinum"})}, "with context none"),
        ({"wanted": Wanted(number_format="comma")}, "number_format none, and asked is number_format comma"),
        ({"wanted": Wanted(columns={"shape": "shape"})}, "columns_given none"),
    ],
)
def test_parts_of_two_judgements_do_not_come_into_one_folder(sources: Path, change: Any, told: str) -> None:
    put(sources)
    out = sources.with_name("out")
    before = content(out)
    with pytest.raises(TableError, match=told) as refused:
        put(sources, **change)
    assert "say the same as then to go on, or name another folder with --to" in str(refused.value)
    assert content(out) == before


def test_a_parquet_part_of_another_judgement_is_seen_by_itself(sources: Path) -> None:
    put(sources)
    out = sources.with_name("out")
    for path in out.iterdir():
        if path.suffix != ".parquet":
            path.unlink()
    with pytest.raises(TableError, match=r"out holds c\.parquet with ruleset house@1\.1\.0"):
        put(sources, "1.0.0")


def test_somebody_elses_files_in_the_folder_stay(sources: Path) -> None:
    out = sources.with_name("out")
    out.mkdir()
    (out / "notes.csv").write_text("mine")
    put(sources)
    assert (out / "notes.csv").read_text() == "mine"


def test_faults_are_told_by_file_and_all_else_arrives(sources: Path) -> None:
    (sources / "bad.parquet").write_bytes(b"PAR1")
    (sources / "empty.csv").write_bytes(b"")
    (sources / "lacking.csv").write_text("shape,weight\nround,1\n")
    (sources / "row.csv").write_text(f"{HEAD}\nround,1,G,VS1,5,6\noval,1.2,H,SI1\n")
    wanted = Wanted(columns={name: name for name in ROWS})
    parts = {part.name: part for part in put(sources, wanted=wanted)}
    assert parts["bad.parquet"].fault is not None
    assert parts["bad.parquet"].fault.startswith("not a sound Parquet file: ")
    assert parts["empty.csv"].fault == "the file is empty"
    assert parts["lacking.csv"].fault == "there is no column 'carat'; there are shape, weight"
    assert (parts["row.csv"].fault, parts["row.csv"].rows, parts["row.csv"].set_aside) == (None, 2, 1)
    assert all(parts[name].fault is None for name in NAMES)
    assert not {"bad.parquet", "empty.csv", "lacking.csv"} & content(sources.with_name("out")).keys()


def test_a_fault_that_nobody_foresaw_is_told_and_all_else_arrives(
    sources: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaking(path: Path) -> Table:
        if path.name == "b.ndjson":
            raise ZeroDivisionError("invented")
        return open_table(path)

    monkeypatch.setattr("gradefloor.feeds.folders.open_table", breaking)
    faults = {part.name: part.fault for part in put(sources)}
    assert faults == {"a.csv": None, "b.ndjson": "ZeroDivisionError: invented", "c.parquet": None}


def test_the_table_of_files_obeys_no_name() -> None:
    console = Console(record=True, width=120, file=None, quiet=False)
    with console.capture() as shown:
        show_parts([Part("[red]a\x1b[1m.csv", fault="[bold]why[/]"), Part("b.csv", rows=1234)], console)
    assert "[red]a\ufffd[1m.csv" in shown.get()
    assert "[bold]why[/]" in shown.get()
    assert "1,234" in shown.get()


def test_a_missing_file_is_told_and_the_others_arrive(sources: Path) -> None:
    out = sources.with_name("out")
    files = [sources / "a.csv", sources / "nothing.csv"]
    parts = annotate_all(errand(out), files, one_after_another)
    assert [(part.name, part.fault) for part in parts] == [("a.csv", None), ("nothing.csv", "no such file")]


def test_two_files_of_one_name_are_refused(sources: Path, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "a.csv").write_text(f"{HEAD}\nround,1,G,VS1\n")
    with pytest.raises(TableError, match=r"a\.csv: is in .*in and .*other; one folder takes one part"):
        annotate_all(errand(tmp_path / "out"), [sources, tmp_path / "other"], one_after_another)
    assert not (tmp_path / "out").exists()


def test_a_file_named_twice_is_one_file(sources: Path) -> None:
    files = [sources / "a.csv", sources / ".." / "in" / "a.csv"]
    assert len(annotate_all(errand(sources.with_name("out")), files, one_after_another)) == 1


def test_the_folder_of_the_sources_takes_no_parts(sources: Path) -> None:
    before = content(sources)
    with pytest.raises(TableError, match=r"in: a\.csv itself is in this folder"):
        annotate_all(errand(sources), [sources], one_after_another)
    assert content(sources) == before


def test_a_folder_without_tables_is_refused(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "notes.md").write_text("none")
    with pytest.raises(TableError, match=r"in: the folder has no file that ends with \.csv"):
        annotate_all(errand(tmp_path / "out"), [tmp_path / "in"], one_after_another)


@pytest.mark.parametrize(("to", "told"), [("a.csv", "is no folder"), ("nowhere/out", "there is no folder")])
def test_a_target_that_can_be_no_folder_is_refused(sources: Path, to: str, told: str) -> None:
    with pytest.raises(TableError, match=told):
        annotate_all(errand(sources / to), [sources / "b.ndjson"], one_after_another)


def test_processes_write_what_one_writes(sources: Path) -> None:
    (sources / "bad.parquet").write_bytes(b"PAR1")
    one = put(sources)
    two = annotate_all(errand(sources.with_name("two")), [sources], by_processes(2))
    assert two == one
    assert content(sources.with_name("two")) == content(sources.with_name("out"))


def test_rules_that_are_others_where_the_work_is_done_are_told_by_file(sources: Path) -> None:
    def elsewhere(errand: Errand, files: Sequence[Path]) -> Iterator[Part]:
        return map(replace(errand, judgement=replace(errand.judgement, digest="sha256:0")).run, files)

    parts = annotate_all(errand(sources.with_name("out")), [sources], elsewhere)
    assert all(
        part.fault and "here and sha256:0 where the work was given out" in part.fault for part in parts
    )
    assert content(sources.with_name("out")) == {}
