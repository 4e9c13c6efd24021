"""One JSON object a line, in UTF-8.

Blank lines are no rows. A line that is no JSON object is set aside unjudged and kept as text under a member
of its own, so that what comes out is sound whatever came in.
"""

import codecs
import shutil
from collections.abc import Generator, Iterable, Iterator, Sequence
from itertools import islice, starmap
from pathlib import Path
from typing import Final

import orjson

from gradefloor.feeds.each import judge_each
from gradefloor.feeds.rows import (
    ADDED,
    FIELDS,
    LISTS,
    PIECE_BYTES,
    PREFIX,
    UNREAD,
    UNREADABLE,
    Judge,
    Record,
    Row,
    Stamp,
    TableError,
    without_added,
)
from gradefloor.feeds.tally import Tally

TOO_LONG: Final = "row: too_long"
LINE_LIMIT: Final = 1024 * 1024
# Of a line over the limit only the beginning is kept: enough to find it in the source.
_KEPT: Final = 1000
# Rows may have different members; so many are looked at for the columns.
_LOOKED_AT: Final = 100
_FIRST_ADDED: Final = f',"{ADDED[0]}":'.encode()

# A line, and whether it is over the limit and only its beginning.
_Line = tuple[bytes, bool]


class JsonTable:
    """Lines of JSON objects. What a line says is written again as it stands, byte for byte."""

    encoding: str | None = "utf-8"
    delimiter: str | None = None
    about = "NDJSON"

    def __init__(self, path: Path) -> None:
        self.path = path
        self.stamp = Stamp.of(path)
        with path.open("rb") as stream:
            if stream.read(2) in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE):
                raise TableError(f"{path.name}: JSON is UTF-8; this file is UTF-16")
        columns: dict[str, None] = {}
        self.count = sound = 0
        for line, too_long in self._lines():
            self.count += 1
            if self.count <= _LOOKED_AT and not too_long and (row := _parsed(line)) is not None:
                sound += 1
                columns |= dict.fromkeys(row)
        if not self.count:
            raise TableError(f"{path.name}: the file is empty")
        if not sound:
            looked_at = min(self.count, _LOOKED_AT)
            raise TableError(f"{path.name}: none of the first {looked_at} lines is a JSON object")
        self.headers = without_added(columns)

    def records(self, skip: int = 0) -> Iterator[Record]:
        return starmap(_record, islice(self._lines(), skip, None))

    def pieces(self, rows: int, skip: int = 0) -> Generator[list[_Line]]:
        piece: list[_Line] = []
        size = 0
        for line in islice(self._lines(), skip, None):
            piece.append(line)
            size += len(line[0])
            if len(piece) == rows or size >= PIECE_BYTES:
                yield piece
                piece, size = [], 0
        if piece:
            yield piece

    def write(self, piece: Iterable[_Line], judge: Judge, tally: Tally, path: Path) -> None:
        with path.open("wb") as stream:
            for record, judged in judge_each(starmap(_record, piece), judge, tally):
                found = orjson.dumps({PREFIX + name: _value(name, getattr(judged, name)) for name in FIELDS})
                body: bytes = record.source
                stream.write(body + (b"," if body != b"{" else b"") + found[1:] + b"\n")

    def join(self, parts: Sequence[Path], path: Path, made: bytes | None = None) -> bool:
        del made  # every line is a row
        with path.open("wb") as whole:
            for part in parts:
                with part.open("rb") as rows:
                    shutil.copyfileobj(rows, whole)
        return False

    def _lines(self) -> Iterator[_Line]:
        """Lines that are not blank, and whether one is over the limit: then only its beginning."""
        with self.path.open("rb") as stream:
            if stream.read(len(codecs.BOM_UTF8)) != codecs.BOM_UTF8:
                stream.seek(0)
            while line := stream.readline(LINE_LIMIT):
                too_long = False
                if len(line) == LINE_LIMIT and not line.endswith(b"\n"):
                    rest = stream.readline(LINE_LIMIT)
                    too_long = bool(rest.strip())
                    while rest and not rest.endswith(b"\n"):
                        rest = stream.readline(LINE_LIMIT)
                line = line.strip()
                if line:
                    yield (line[:_KEPT] if too_long else line), too_long


def _parsed(line: bytes) -> Row | None:
    try:
        value = orjson.loads(line)
    except orjson.JSONDecodeError:
        return None
    return value if isinstance(value, dict) else None


def _record(line: bytes, too_long: bool) -> Record:
    row = None if too_long else _parsed(line)
    if row is None:
        body = _body(orjson.dumps({UNREAD: line.decode("utf-8", "backslashreplace")}))
        return Record({}, body, (TOO_LONG if too_long else UNREADABLE,), unread=True)
    body = _body(line)
    if any(name in row for name in ADDED):
        row = {name: value for name, value in row.items() if name not in ADDED}
        body = _body_before(line, row)
    if row.get(UNREAD):
        return Record({}, body, (UNREADABLE,), unread=True)
    return Record(row, body)


def _body(text: bytes) -> bytes:
    """An object without its closing brace."""
    return text[:-1].rstrip()


def _body_before(line: bytes, row: Row) -> bytes:
    """An annotated line as it was before; cut off if that gives the same row, else written anew."""
    cut = line[: line.rfind(_FIRST_ADDED)]
    return cut if _parsed(cut + b"}") == row else _body(orjson.dumps(row))


def _value(name: str, value: str | Sequence[str] | None) -> str | list[str] | None:
    return list(value or ()) if name in LISTS else value  # type: ignore[return-value]
