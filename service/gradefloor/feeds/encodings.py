"""Which encoding and which delimiter a text file has. What is found is told, never silently assumed."""

import codecs
import csv
import io
import re
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Final

from gradefloor.feeds.rows import TableError

_BLOCK: Final = 64 * 1024
_HEAD: Final = 4096
_SAMPLE: Final = 64 * 1024
_SAMPLE_ROWS: Final = 50
# The longer mark first: UTF-32's begins with UTF-16's.
_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
# Left free, the detector answers a few accented words with code pages no supplier has used for decades.
_LIKELY: Final = [
    "cp1252", "cp1250", "cp1251", "cp1253", "cp1254", "cp1255", "cp1256", "gb18030", "shift_jis", "euc_jp",
    "big5", "euc_kr", "mac_roman",
]  # fmt: skip
_WESTERN: Final = "cp1252"
_ANY: Final = "latin-1"
# Where two fit equally well, the one that is rarer inside texts and numbers.
_DELIMITERS: Final = "\t|;,"
_NO_FIT: Final = (False, 0.0)
_NON_ASCII: Final = re.compile(rb"[\x80-\xff]+")
# One western letter or sign; below A0 only what people type: the euro, quotes, dashes, dots, trade mark.
_SIGN: Final = re.compile(rb"[\xa0-\xff\x80\x85\x91-\x94\x96\x97\x99]")


@dataclass(frozen=True, slots=True)
class Encoding:
    """`damaged`: some bytes are not of this encoding and are read as U+FFFD."""

    name: str
    damaged: bool = False


def find_encoding(path: Path) -> Encoding:
    """By byte order mark; else UTF-8 if all of the file is; else by what its other bytes look like."""
    with path.open("rb") as stream:
        head = stream.read(_HEAD)
    for mark, name in _MARKS:
        if head.startswith(mark):
            return Encoding(name, damaged=not _decodes(path, name))
    if b"\0" in head:
        name = _unmarked_utf16(path, head)
        return Encoding(name, damaged=not _decodes(path, name))
    if _decodes(path, "utf-8"):
        return Encoding("utf-8")
    for name in (_detected(_sample(path)), _WESTERN):
        if _decodes(path, name):
            return Encoding(name)
    # Every byte is a character here: strange ones, perhaps, but none is lost.
    return Encoding(_ANY)


def _decodes(path: Path, name: str) -> bool:
    """All of the file is text in this encoding. A sample would miss the accent in the last row."""
    decoder = codecs.getincrementaldecoder(name)("strict")
    try:
        with path.open("rb") as stream:
            while block := stream.read(_BLOCK):
                decoder.decode(block)
        decoder.decode(b"", final=True)
    except UnicodeError:
        return False
    return True


def _unmarked_utf16(path: Path, head: bytes) -> str:
    """Latin text in UTF-16 has a zero in every second byte; other files with zeros are no text."""
    share = len(head) // 4
    if head[1::2].count(0) > share and not head[0::2].count(0):
        return "utf-16-le"
    if head[0::2].count(0) > share and not head[1::2].count(0):
        return "utf-16-be"
    raise TableError(f"{path.name}: the file is not text")


def _sample(path: Path) -> bytes:
    """Lines that are not ASCII: the others say nothing about the encoding."""
    found = bytearray()
    with path.open("rb") as stream:
        while len(found) < _SAMPLE and (line := stream.readline(_SAMPLE)):
            if not line.isascii():
                found += line
    return bytes(found)


def _detected(sample: bytes) -> str:
    """The detector's answer, except where it is a coin toss.

    Accents and signs (é, ×, °) that stand alone between ASCII letters are western European, unless a language
    is recognized that these would be no letters of: a few of them fit a dozen encodings. In other scripts the
    bytes stand in runs, or are none of these.
    """
    from charset_normalizer import from_bytes  # noqa: PLC0415 - most files are UTF-8, and it takes 3 MB

    matches = from_bytes(sample, cp_isolation=_LIKELY)
    best = matches.best()
    if best is None:
        return _WESTERN
    runs = _NON_ASCII.findall(sample)
    alone = sum(_SIGN.fullmatch(run) is not None for run in runs) * 2 > len(runs)
    if alone and (not best.coherence or any(_WESTERN in match.could_be_from_charset for match in matches)):
        return _WESTERN
    return best.encoding


def find_delimiter(path: Path, encoding: str) -> str:
    """The one that gives the most columns, the same number in most rows."""
    with path.open(encoding=encoding, errors="replace", newline="") as stream:
        text = stream.read(_SAMPLE)
    announced = re.match(r"sep=([\t,;|:^~])[\r\n]", text, re.IGNORECASE)
    if announced:
        return announced[1]
    if len(text) == _SAMPLE:
        text = text[: text.rfind("\n") + 1] or text
    best = max(_DELIMITERS, key=lambda delimiter: _fit(text, delimiter))
    if _fit(text, best) > _NO_FIT:
        return best
    return "\t" if path.suffix.lower() == ".tsv" else ","


def _fit(text: str, delimiter: str) -> tuple[bool, float]:
    """Commas stand in numbers and texts, too: whatever else divides every row alike goes before them."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        widths = [len(cells) for cells in islice((cells for cells in reader if any(cells)), _SAMPLE_ROWS)]
    except csv.Error:
        return _NO_FIT
    if not widths or widths[0] == 1:
        return _NO_FIT
    alike = widths.count(widths[0]) / len(widths)
    return (alike == 1 and delimiter != ","), (widths[0] - 1) * alike
