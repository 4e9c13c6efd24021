"""A file of rows judged row by row and written again, in memory that does not grow with the file."""

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, replace
from itertools import islice
from pathlib import Path
from typing import Final, get_args

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from gradefloor.feeds.parts import Parts
from gradefloor.feeds.rows import (
    ADDED,
    UNREADABLE,
    Judged,
    Outcome,
    Record,
    Row,
    Stamp,
    Table,
    TableError,
    Verdict,
)
from gradefloor.feeds.summary import Summary, commonest, named
from gradefloor.feeds.tables import kind_of, open_table
from gradefloor.feeds.tally import NO_VERDICT, Tally

CHUNK: Final = 5_000
_PROGRESS_STEP: Final = 100

Judge = Callable[[Row], Judged]


def annotate(  # noqa: PLR0913 - three of them have a usual value
    source: Path | Table,
    judge: Judge,
    target: Path | None = None,
    *,
    fingerprint: str,
    headers_note: str = "",
    progress: bool = True,
) -> Summary:
    """Judge every row and write the rows with what was found to the target.

    `fingerprint` names all that the judge's answers depend on besides the row (rules, day, columns): with the
    same one an interrupted run goes on where it stopped, with another it starts anew. `headers_note` is a
    sentence for the summary on how the columns were read. Raises TableError, also for what the disk refuses.
    """
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
        with parts.opened(), _bar(shown=progress) as bar:
            for tally in parts.done:
                total.merge(tally)
            resumed = total.rows
            task = bar.add_task("rows", total=table.count, completed=resumed)
            started = time.perf_counter()
            records = table.records(resumed)
            for first in range(resumed, table.count, CHUNK):
                tally = Tally()
                with parts.writing(tally) as path, table.writer(path) as write:
                    for record in islice(records, CHUNK):
                        judged = _judged(record, judge, tally)
                        write(record, judged)
                        if tally.rows % _PROGRESS_STEP == 0:
                            bar.update(task, completed=first + tally.rows)
                total.merge(tally)
            bar.update(task, completed=total.rows)
            seconds = time.perf_counter() - started
            if Stamp.of(table.path) != table.stamp:
                raise TableError(f"{table.path.name}: the file was changed while it was read")
            with parts.whole(target) as path:
                table.join(parts.paths, path)
        return Summary(
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


@contextmanager
def _disk_told() -> Iterator[None]:
    """A full disk or a folder without rights is told like any other hindrance."""
    try:
        yield
    except OSError as error:
        name = Path(error.filename).name if isinstance(error.filename, str) else "the file"
        told = error.strerror or str(error).partition("\n")[0]
        raise TableError(f"{name}: {told}") from None


def _judged(record: Record, judge: Judge, tally: Tally) -> Judged:
    """What the judge says; one row it breaks on never spoils the others."""
    if record.unread:
        judged = Judged("set_aside", remarks=record.remarks)
    else:
        try:
            judged = judge(record.row)
        except MemoryError:
            raise  # says something about the machine, not about this row
        except Exception as error:  # noqa: BLE001 - whatever it is, the row is set aside and counted
            tally.raised += 1
            judged = Judged("set_aside", remarks=(f"{UNREADABLE} ({type(error).__name__})",))
        if record.remarks:
            judged = replace(judged, remarks=(*record.remarks, *judged.remarks))
    tally.add(judged)
    return judged


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


def _bar(*, shown: bool) -> Progress:
    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=Console(stderr=True),
        disable=not (shown and sys.stderr.isatty()),
    )
