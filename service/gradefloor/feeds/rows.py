"""What a file of rows is to the rest: records out, judged records in. Knows files, not stones."""

from collections.abc import Callable, Collection, Generator, Iterator, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal, Protocol

if TYPE_CHECKING:
    from gradefloor.feeds.tally import Tally

Row = dict[str, Any]
Outcome = Literal["accepted", "ask", "set_aside"]
Verdict = Literal["pass", "ask", "fail"]

# What every written row ends with. A source that already has such a column was annotated before.
PREFIX: Final = "gradefloor_"
# What could not be read as cells or members, kept as text so that nothing is lost.
UNREAD: Final = f"{PREFIX}unread"
UNREADABLE: Final = "row: unreadable"
# Under this key a Parquet file says how it was made.
MADE: Final = b"gradefloor"
# A piece of rows is at most about this large in the file, however many rows were asked for.
PIECE_BYTES: Final = 8 * 1024 * 1024


class TableError(Exception):
    """The file cannot be read or written as a table; says why in one sentence."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What was found about one row; the fields are the added columns, in their order."""

    outcome: Outcome
    verdict: Verdict | None = None
    findings: Sequence[str] = ()
    questions: Sequence[str] = ()
    remarks: Sequence[str] = ()


FIELDS: Final = tuple(field.name for field in fields(Judged))
LISTS: Final = frozenset({"findings", "questions", "remarks"})
ADDED: Final = tuple(PREFIX + name for name in FIELDS)


Judge = Callable[[Row], Judged]


@dataclass(frozen=True, slots=True)
class Record:
    """One row: for the judge as `row`, for the writer of the same table as `source`.

    An `unread` record cannot be told cell from cell; it is set aside and nobody judges it.
    """

    row: Row
    source: Any
    remarks: tuple[str, ...] = ()
    unread: bool = False


@dataclass(frozen=True, slots=True)
class Stamp:
    """Tells one state of a file from another."""

    size: int
    mtime_ns: int

    @classmethod
    def of(cls, path: Path) -> "Stamp":
        found = path.stat()
        return cls(found.st_size, found.st_mtime_ns)


class Table(Protocol):
    """A file of rows, read from the start each time and never held in memory.

    It can be sent to another process, and so can its pieces.
    """

    path: Path
    stamp: Stamp
    headers: list[str]  # what the judge sees; without columns of an earlier annotation
    count: int
    about: str
    encoding: str | None
    delimiter: str | None

    def records(self, skip: int = 0) -> Iterator[Record]:
        """The rows in order, without the first `skip`."""
        ...

    def pieces(self, rows: int, skip: int = 0) -> Generator[Any]:
        """The rows in order, without the first `skip`, so many at once as `write` takes them.

        A piece has fewer rows where it would be large, and at the end.
        """
        ...

    def write(self, piece: Any, judge: Judge, tally: "Tally", path: Path) -> None:
        """Judge a piece and write it as a part: not yet a file that stands alone."""
        ...

    def join(self, parts: Sequence[Path], path: Path, made: bytes | None = None) -> bool:
        """Put parts together into one whole file; whether it carries in itself how it was `made`."""
        ...


def unique(names: Sequence[str]) -> list[str]:
    """Every column under a name of its own: `price`, `price` -> `price`, `price_2`; empty -> `column_3`.

    A name that stands only once keeps it, whatever was made up before it.
    """
    reserved = set(names)
    taken: set[str] = set()
    last: dict[str, int] = {}
    found = []
    for position, name in enumerate(names, start=1):
        free = name
        if not name or name in taken:
            base = name or f"column_{position}"
            number = last.get(base, 1 if name else 0)
            free = name
            while not free or free in taken or free in reserved:
                number += 1
                free = base if number == 1 else f"{base}_{number}"
            last[base] = number
        taken.add(free)
        found.append(free)
    return found


def without_added(names: Collection[str]) -> list[str]:
    """The columns that are the supplier's own."""
    return [name for name in names if name not in ADDED and name != UNREAD]
