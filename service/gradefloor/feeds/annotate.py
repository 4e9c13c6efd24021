"""A file of rows judged row by row and written again, in memory that does not grow with the file."""

import time
from collections.abc import Generator, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final, get_args

import orjson

from gradefloor.feeds.made import forget, remember
from gradefloor.feeds.parts import Parts
from gradefloor.feeds.processes import Elsewhere, written_elsewhere
from gradefloor.feeds.rows import (
    ADDED,
    Judge,
    Outcome,
    Stamp,
    Table,
    TableError,
    Verdict,
)
from gradefloor.feeds.summary import Summary, commonest, named
from gradefloor.feeds.tables import kind_of, open_table
from gradefloor.feeds.tally import NO_VERDICT, Tally

CHUNK: Final = 5_000


def annotate(  # noqa: PLR0913 - five of them have a usual value
    source: Path | Table,
    judge: Judge,
    target: Path | None = None,
    *,
    fingerprint: str,
    headers_note: str = "",
    progress: bool = True,
    elsewhere: Elsewhere | None = None,
    made: Mapping[str, Any] | None = None,
) -> Summary:
    """Judge every row and write the rows with what was found to the target.

    `fingerprint` names all that the judge's answers depend on besides the row (rules, day, columns): with the
    same one an interrupted run goes on where it stopped, with another it starts anew. `headers_note` is a
    sentence for the summary on how the columns were read. `elsewhere` has other processes judge, and changes
    no byte. `made` says how the target is made, and is kept with it and the counts. Raises TableError, also
    for what the disk refuses.
    """
    from gradefloor.feeds.showing import bar  # noqa: PLC0415 - a service never shows one, and is spared 3 MB

    with _disk_told():
        table = open_table(source) if isinstance(source, Path) else source
        target = _target(table, target)
        parts = Parts(
            target.with_name(f"{target.name}.parts"),
            {
                "source": table.path.name,
                **asdict(table.stamp),
                "about": table.about,
                "columns": [*table.headers, *ADDED],
                "fingerprint": fingerprint,
                "chunk": CHUNK,
            },
        )
        total = Tally()
        with parts.opened(), bar(shown=progress) as shown:
            for tally in parts.done:
                total.merge(tally)
            resumed = total.rows
            task = shown.add_task("rows", total=table.count, completed=resumed)
            started = time.perf_counter()
            pieces = table.pieces(CHUNK, resumed)
            if elsewhere is None:
                work = _written(table, pieces, judge, parts)
            else:
                work = written_elsewhere(table, pieces, elsewhere, parts)
            with closing(pieces), closing(work):
                for tally in work:
                    parts.add(tally)
                    total.merge(tally)
                    shown.update(task, completed=total.rows)
            seconds = time.perf_counter() - started
            if Stamp.of(table.path) != table.stamp:
                raise TableError(f"{table.path.name}: the file was changed while it was read")
            summary = Summary(
                source=table.path,
                target=target,
                about=table.about,
                encoding=table.encoding,
                delimiter=table.delimiter,
                headers_note=headers_note,
                rows=total.rows,
                resumed=resumed,
                raised=total.raised,
                seconds=seconds,
                rows_per_second=(total.rows - resumed) / seconds if seconds else 0.0,
                outcomes=named(total.outcomes, get_args(Outcome)),
                verdicts=named(total.verdicts, (*get_args(Verdict), NO_VERDICT)),
                findings=commonest(total.findings),
                remarks=commonest(total.remarks),
            )
            _put(table, target, parts, None if made is None else {**made, "counts": summary.counts()})
            return summary


def _put(table: Table, target: Path, parts: Parts, made: Mapping[str, Any] | None) -> None:
    """The whole in the target's place, and how it was made with it: never that of another file."""
    note = None if made is None else orjson.dumps(made, option=orjson.OPT_SORT_KEYS)
    forget(target)
    with parts.whole(target) as path:
        inside = table.join(parts.paths, path, note)
    if note is not None and not inside:
        remember(target, note)


@contextmanager
def _disk_told() -> Iterator[None]:
    """A full disk or a folder without rights is told like any other hindrance."""
    try:
        yield
    except OSError as error:
        name = Path(error.filename).name if isinstance(error.filename, str) else "the file"
        told = error.strerror or str(error).partition("\n")[0]
        raise TableError(f"{name}: {told}") from None


def _written(table: Table, pieces: Iterable[Any], judge: Judge, parts: Parts) -> Generator[Tally]:
    """What each part counted, as soon as its draft is written."""
    for piece in pieces:
        tally = Tally()
        table.write(piece, judge, tally, parts.draft())
        yield tally


def _target(table: Table, target: Path | None) -> Path:
    """Where to write; said before any row is judged if that cannot be done."""
    source = table.path
    if target is None:
        return source.with_name(f"{source.stem}.annotated{source.suffix}")
    if kind_of(target) is not kind_of(source):
        raise TableError(f"{target.name}: must be the same kind of file as {source.name}")
    if target.is_dir():
        raise TableError(f"{target.name}: is a folder")
    if not target.parent.is_dir():
        raise TableError(f"{target.name}: there is no folder {target.parent}")
    if target.exists() and target.samefile(source):
        raise TableError(f"{target.name}: is the source itself")
    return target
