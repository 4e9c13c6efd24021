"""How far a file has come, and what it amounted to, on a terminal.

Only who watches a file loads this: a service that never shows anything is spared 3 MB.
"""

import sys
from collections.abc import Iterable, Sequence
from typing import get_args

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table
from rich.text import Text

from gradefloor.feeds.rows import Outcome
from gradefloor.feeds.summary import Part, Summary


def bar(*, shown: bool) -> Progress:
    """How far it has come, on stderr; nothing where nobody watches."""
    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=Console(stderr=True),
        disable=not (shown and sys.stderr.isatty()),
    )


def show(summary: Summary, console: Console | None = None) -> None:
    """Print the summary as a table; on stdout unless told otherwise."""
    table = Table(show_header=False)
    table.add_column()
    table.add_column(justify="right")
    for name, value in (
        ("source", summary.source.name),
        ("read as", summary.about),
        ("columns", summary.headers_note),
        ("written to", str(summary.target)),
        ("rows", f"{summary.rows:,}"),
        ("taken over from an earlier run", f"{summary.resumed:,}" if summary.resumed else ""),
        ("rows a second", f"{summary.rows_per_second:,.0f}" if summary.rows_per_second else ""),
        ("rows the judge broke on", f"{summary.raised:,}" if summary.raised else ""),
    ):
        if value:
            table.add_row(_plain(name), _plain(value))
    for title, counts in (
        ("outcome", summary.outcomes.items()),
        ("verdict", summary.verdicts.items()),
        ("commonest findings", summary.findings),
        ("commonest remarks", summary.remarks),
    ):
        _section(table, title, counts)
    (console or Console()).print(table)


def show_parts(parts: Sequence[Part], console: Console | None = None) -> None:
    """Print what became of each file; on stdout unless told otherwise."""
    table = Table("file", "rows", *get_args(Outcome), "")
    for column in table.columns[1:-1]:
        column.justify = "right"
    for part in parts:
        counts = [part.rows, *(part.outcomes.get(name, 0) for name in get_args(Outcome))]
        told = part.fault or ("done by an earlier run" if part.done_before else "")
        if part.raised:
            told += f"the judge broke on {part.raised:,} rows"
        table.add_row(
            _plain(part.name), *("" if part.fault else f"{count:,}" for count in counts), _plain(told)
        )
    (console or Console()).print(table)


def _section(table: Table, title: str, counts: Iterable[tuple[str, int]]) -> None:
    rows = [(name, number) for name, number in counts if number]
    if rows:
        table.add_section()
        table.add_row(Text(title, style="bold"), "")
    for name, number in rows:
        table.add_row(_plain(f"  {name}"), f"{number:,}")


def _plain(text: str) -> Text:
    """Headers come from strangers: no markup, and nothing that a terminal would obey."""
    return Text("".join(char if char.isprintable() else "\ufffd" for char in text), overflow="fold")
