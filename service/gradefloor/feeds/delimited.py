"""Delimited text: comma, semicolon, tab or bar.

Blank lines are no rows. A row with fewer cells than the header is judged by those it has, with a remark. A
row with more cannot be told cell from cell (most often a delimiter in a text that nobody quoted): it is set
aside unjudged, and the cells over the count are kept in a column of their own.
"""

import csv
import io
import re
import shutil
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import Final, TextIO

from gradefloor.feeds.each import judge_each
from gradefloor.feeds.encodings import find_delimiter, find_encoding
from gradefloor.feeds.rows import (
    ADDED,
    FIELDS,
    LISTS,
    PIECE_BYTES,
    UNREAD,
    Judge,
    Record,
    Stamp,
    TableError,
    unique,
    without_added,
)
from gradefloor.feeds.tally import Tally

TOO_MANY: Final = "row: too_many_cells"
TOO_FEW: Final = "row: too_few_cells"
# A file without line ends must not be read into memory as one line.
LINE_LIMIT: Final = 1024 * 1024
# A spreadsheet runs what begins with one of these, whoever wrote it into the cell; it takes full-width
# characters for the plain ones.
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_AROUND_HEADERS: Final = re.compile(r"^[\s\ufeff\u200b]+|[\s\ufeff\u200b]+$")
_SEPARATOR_LINE: Final = re.compile(r"sep=.?", re.IGNORECASE)


class CsvTable:
    """Delimited text; encoding and delimiter are found out and told.

    Written as UTF-8 with the source's delimiter and line ends; with a byte order mark unless the source was
    plain UTF-8, because whoever sent something else opens it with a spreadsheet that needs the mark.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.stamp = Stamp.of(path)
        found = find_encoding(path)
        self.encoding: str | None = found.name
        self.delimiter: str | None = find_delimiter(path, found.name)
        self._mark = "" if found.name == "utf-8" else "\ufeff"
        names = {"\t": "tab", ",": "comma", ";": "semicolon", "|": "bar"}
        self.about = f"CSV, {found.name}, {names.get(self.delimiter, repr(self.delimiter))}"
        if found.damaged:
            self.about += ", with bytes that are not of this encoding"
        with self._cells() as (stream, cells):
            columns = unique([_AROUND_HEADERS.sub("", cell) for cell in _header(cells)])
            self._width = len(columns)
            self._unread_at = columns.index(UNREAD) if UNREAD in columns else None
            self.headers = without_added(columns)
            own = set(self.headers)
            self._own = [at for at, name in enumerate(columns) if name in own]
            if not self.headers:
                raise TableError(f"{path.name}: no header line")
            self._line_end = "\r\n" if "\r\n" in (stream.newlines or ()) else "\n"
            # One look at every row before any is judged: a quote never closed is told now, not in an hour.
            self.count, self._has_unread = 0, self._unread_at is not None
            for row in cells:
                self.count += 1
                self._has_unread = self._has_unread or bool(self._unread(row))

    def records(self, skip: int = 0) -> Iterator[Record]:
        with self._cells() as (_, cells):
            _header(cells)
            for row in islice(cells, skip, None):
                yield self._record(row)

    def pieces(self, rows: int, skip: int = 0) -> Generator[list[list[str]]]:
        with self._cells() as (_, cells):
            _header(cells)
            piece: list[list[str]] = []
            size = 0
            for row in islice(cells, skip, None):
                piece.append(row)
                size += sum(map(len, row))
                if len(piece) == rows or size >= PIECE_BYTES:
                    yield piece
                    piece, size = [], 0
            if piece:
                yield piece

    def write(self, piece: Iterable[list[str]], judge: Judge, tally: Tally, path: Path) -> None:
        with path.open("w", encoding="utf-8", errors="replace", newline="") as stream:
            writerow = self._writerow(stream)
            for record, judged in judge_each(map(self._record, piece), judge, tally):
                cells, unread = record.source
                found = [_text(name, getattr(judged, name)) for name in FIELDS]
                rest = [unread] if self._has_unread else []
                writerow([safe(cell) for cell in (*cells, *found, *rest)])

    def join(self, parts: Sequence[Path], path: Path, made: bytes | None = None) -> bool:
        del made  # a table of cells has no room for it
        with path.open("w", encoding="utf-8", newline="") as stream:
            stream.write(self._mark)
            rest = [UNREAD] if self._has_unread else []
            self._writerow(stream)([safe(name) for name in (*self.headers, *ADDED, *rest)])
        with path.open("ab") as whole:
            for part in parts:
                with part.open("rb") as rows:
                    shutil.copyfileobj(rows, whole)
        return False

    def _record(self, cells: list[str]) -> Record:
        if len(cells) == self._width == len(self._own):
            return Record(dict(zip(self.headers, cells, strict=True)), (cells, ""))
        own = [cells[at] for at in self._own if at < len(cells)]
        unread = self._unread(cells)
        row = dict(zip(self.headers, own, strict=False))
        source = (own + [""] * (len(self._own) - len(own)), unread)
        if unread:
            return Record(row, source, (TOO_MANY,), unread=True)
        return Record(row, source, (TOO_FEW,) if len(cells) < self._width else ())

    def _unread(self, cells: list[str]) -> str:
        """The cells over the count, as they would stand in the file; empty ones at the end are nothing."""
        if any(cells[self._width :]):
            text = io.StringIO()
            self._writerow(text)(cells[self._width :])
            return text.getvalue().rstrip("\r\n")
        if self._unread_at is not None and self._unread_at < len(cells):
            return cells[self._unread_at]
        return ""

    @contextmanager
    def _cells(self) -> Iterator[tuple[TextIO, Iterator[list[str]]]]:
        with self.path.open(encoding=self.encoding, errors="replace", newline="") as stream:
            yield stream, self._told(csv.reader(self._lines(stream), delimiter=self.delimiter or ","))

    def _told(self, reader: Iterable[list[str]]) -> Iterator[list[str]]:
        """Rows that are not blank."""
        number = 0
        try:
            for number, cells in enumerate(reader, start=1):  # noqa: B007 - told if the next one fails
                if cells:
                    yield cells
        except csv.Error as error:
            raise TableError(f"{self.path.name}: row {number + 1}: {error}; is a quote not closed?") from None

    def _lines(self, stream: TextIO) -> Iterator[str]:
        while line := stream.readline(LINE_LIMIT):
            if len(line) == LINE_LIMIT and not line.endswith(("\n", "\r")):
                raise TableError(f"{self.path.name}: a line has more than {LINE_LIMIT} characters")
            yield line

    def _writerow(self, stream: TextIO) -> Callable[[Iterable[str]], object]:
        out: TextIO | _LineFeeds = stream if self._line_end == "\r\n" else _LineFeeds(stream)
        return csv.writer(out, delimiter=self.delimiter or ",", lineterminator="\r\n").writerow


class _LineFeeds:
    """Rows that end with a line feed. Told so itself, the csv module leaves a return in a cell unquoted."""

    def __init__(self, stream: TextIO) -> None:
        self.stream = stream

    def write(self, row: str) -> None:
        self.stream.write(f"{row[:-2]}\n")


def _header(cells: Iterator[list[str]]) -> list[str]:
    """The first row that holds something; a line that only names the delimiter is none."""
    for row in cells:
        if any(cell.strip() for cell in row):
            if _SEPARATOR_LINE.fullmatch(row[0]) and not any(row[1:]):
                continue
            return row
    return []


def safe(cell: str) -> str:
    """A cell that stays text: what a spreadsheet would run gets an apostrophe before it."""
    if not cell.startswith(_FORMULA) or _NUMBER.fullmatch(cell):
        return cell
    return f"'{cell}"


def _text(name: str, value: str | Sequence[str] | None) -> str:
    return "; ".join(value or ()) if name in LISTS else str(value or "")
