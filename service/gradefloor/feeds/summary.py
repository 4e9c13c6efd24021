"""What a whole file amounted to, for the caller and for people."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from rich.console import Console
from rich.table import Table
from rich.text import Text

COMMONEST: Final = 10


@dataclass(frozen=True)
class Summary:
    """`about`, `encoding` and `delimiter` say what the source was found to be; `rows` counts all of it.

    `resumed` rows were taken over from an earlier run; `rows_per_second` is about the others.
    """

    source: Path
    target: Path
    about: str
    encoding: str | None
    delimiter: str | None
    headers_note: str
    rows: int
    resumed: int
    raised: int
    outcomes: Mapping[str, int]
    verdicts: Mapping[str, int]
    findings: tuple[tuple[str, int], ...]
    remarks: tuple[tuple[str, int], ...]
    seconds: float
    rows_per_second: float

    @property
    def set_aside(self) -> int:
        return self.outcomes["set_aside"]


def named(counter: Counter[str], names: Iterable[str]) -> dict[str, int]:
    """All of these, in this order, those that never came too."""
    return {name: counter[name] for name in names}


def commonest(counter: Counter[str]) -> tuple[tuple[str, int], ...]:
    """Equal numbers in the order of their texts: the same rows give the same table."""
    return tuple(sorted(counter.items(), key=lambda item: (-item[1], item[0]))[:COMMONEST])


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
