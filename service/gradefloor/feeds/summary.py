"""What a whole file amounted to, for the caller and for people."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, get_args

from rich.console import Console
from rich.table import Table
from rich.text import Text

from gradefloor.feeds.rows import Outcome

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

    def counts(self) -> dict[str, Any]:
        """The counts that do not depend on which run they are of."""
        return {
            "rows": self.rows,
            "raised": self.raised,
            "outcomes": dict(self.outcomes),
            "verdicts": dict(self.verdicts),
        }

    @property
    def set_aside(self) -> int:
        return self.outcomes["set_aside"]


@dataclass(frozen=True, slots=True)
class Part:
    """What became of one file: its counts, or the fault for which it could not be used.

    `done_before` tells that an earlier run had written it by the same judgement.
    """

    name: str
    fault: str | None = None
    done_before: bool = False
    rows: int = 0
    raised: int = 0
    outcomes: Mapping[str, int] = field(default_factory=dict)
    verdicts: Mapping[str, int] = field(default_factory=dict)

    @property
    def set_aside(self) -> int:
        return self.outcomes.get("set_aside", 0)


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
