"""What the particulars of a rule are made of, before they become a page."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import ClassVar

Line = tuple[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Lines:
    """Things with a name, each with one sentence or several."""

    kind: ClassVar[str] = "lines"
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table of verdicts; `said` has what is said, the remedy and so on, by name."""

    when: tuple[str, ...]
    verdict: str
    word: str
    said: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Verdicts:
    """A table over facts."""

    kind: ClassVar[str] = "verdicts"
    rows: tuple[Row, ...]
    verdict: str = "Verdict"


@dataclass(frozen=True, slots=True)
class Grid:
    """A plain table; the first cell of a row is its head."""

    kind: ClassVar[str] = "grid"
    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Words:
    """Words for terms, shown on demand."""

    kind: ClassVar[str] = "words"
    summary: str
    lines: tuple[Line, ...]


Block = Lines | Verdicts | Grid | Words


def present(told: Iterable[Line]) -> tuple[Line, ...]:
    """Lines that have something to say."""
    return tuple(line for line in told if line[1])


def lines(told: Iterable[Line]) -> Lines:
    return Lines(present(told))


def joined(blocks: Iterable[Block]) -> Iterator[Block]:
    """Lines that follow on lines become one list; empty ones are left out."""
    kept: tuple[Line, ...] = ()
    for block in blocks:
        if isinstance(block, Lines):
            kept += block.lines
            continue
        if kept:
            yield Lines(kept)
            kept = ()
        yield block
    if kept:
        yield Lines(kept)
