"""YAML without surprises: one plain meaning for every scalar, every fault at once, each with its line.

Reads events of PyYAML's C parser and builds plain data itself, because every ready-made loader re-types
silently (`3:2` becomes 182, `NO` becomes false, the second of two equal keys wins). Opens no files.
"""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

import yaml

Plain = str | int | bool | Decimal | list["Plain"] | dict[str, "Plain"] | None

MAX_BYTES: Final = 512 * 1024
MAX_NODES: Final = 20_000
MAX_DEPTH: Final = 16
END: Final = "..."

_INTEGER: Final = re.compile(r"-?(0|[1-9][0-9]{0,14})")
_DECIMAL: Final = re.compile(r"-?(0|[1-9][0-9]{0,14})\.[0-9]{1,12}")
# Plain text must begin with a letter and may not look like anything another reader would re-type.
_TEXT: Final = re.compile(r"[^\W\d_].*", re.DOTALL)
_MISREAD: Final = re.compile(r"(?i)(y|n|yes|no|on|off|true|false|null|none|nan|inf)")


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One thing wrong in a rule file: where, what was found, what is allowed."""

    file: str
    line: int
    where: str
    found: str
    allowed: str

    def __str__(self) -> str:
        place = f" {self.where}:" if self.where else ""
        return f"{self.file}:{self.line}:{place} found {self.found}; allowed: {self.allowed}"


@dataclass(slots=True)
class Document:
    """Plain data of one file, the line of every place in it, and all that was refused.

    Of a file without a fault, lines are only looked up when somebody asks for one.
    """

    file: str
    content: bytes = field(default=b"", repr=False)
    data: Plain = None
    lines: dict[tuple[str | int, ...], int] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    refused: set[tuple[str | int, ...]] = field(default_factory=set)

    def forget(self) -> None:
        """Let go of the data, which takes ten times the memory of the content."""
        self.data = None

    def line(self, path: tuple[str | int, ...]) -> int:
        """Line of a place, or of the nearest enclosing place that the file has."""
        if not self.lines:
            self.lines = _read(self.content, self.file, with_lines=True).lines
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)

    def fault(self, path: tuple[str | int, ...], found: str, allowed: str) -> Fault:
        return Fault(self.file, self.line(path), dotted(path), found, allowed)


def dotted(path: tuple[str | int, ...]) -> str:
    """`floors[3].bands[0].on_paper`."""
    text = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in path)
    return text.removeprefix(".")


def _unprintable(char: str) -> bool:
    """Spaces that only look like spaces, and marks that look like nothing, change what YAML understands."""
    return char != " " and unicodedata.category(char) in {"Zs", "Zl", "Zp", "Cf", "Cc", "Cs", "Co"}


# What an editor's user would call them.
_CALLED: Final = {
    "\t": "a tab",
    "\ufeff": "a byte-order mark, which an editor leaves that saves more than plain UTF-8",
    "\xa0": "a no-break space",
    "\r": "a carriage return by itself",
}


def _called(char: str) -> str:
    known = _CALLED.get(char)
    return f"{known} (U+{ord(char):04X})" if known else f"the character U+{ord(char):04X}"


def read(content: bytes, file: str) -> Document:
    """Plain data of a rule file. Never raises: what cannot be read stands in `faults`."""
    # Most files have no fault, and to note the place of everything in them is half of the work.
    document = _read(content, file, with_lines=False)
    return _read(content, file, with_lines=True) if document.faults else document


def _read(content: bytes, file: str, *, with_lines: bool) -> Document:
    document = Document(file, content)
    text = _text(content, document)
    if text is not None:
        builder = _Builder(document, text.split("\n"), with_lines=with_lines)
        try:
            # The loader's own method, because `yaml.parse` asks twice for each of its many events.
            builder.build(iter(yaml.CSafeLoader(text).get_event, None))
        except yaml.MarkedYAMLError as error:
            mark = error.problem_mark or error.context_mark
            document.faults.append(
                Fault(
                    file, mark.line + 1 if mark else 1, "", error.problem or "broken YAML", "valid YAML 1.2"
                )
            )
        except (yaml.YAMLError, RecursionError, ValueError) as error:
            document.faults.append(Fault(file, 1, "", type(error).__name__, "valid YAML 1.2"))
    return document


def _text(content: bytes, document: Document) -> str | None:
    def refuse(line: int, found: str, allowed: str) -> None:
        document.faults.append(Fault(document.file, line, "", found, allowed))

    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        refuse(1, "UTF-16", "UTF-8: save the file as plain UTF-8")
        return None
    if len(content) > MAX_BYTES:
        refuse(1, f"{len(content)} bytes", f"at most {MAX_BYTES}")
        return None
    try:
        text = content.decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        refuse(content[: error.start].count(b"\n") + 1, f"byte 0x{content[error.start]:02x}", "UTF-8")
        return None
    for number, line in enumerate(text.split("\n"), start=1):
        if line.isprintable():
            continue  # so are nearly all, and asking for each character takes a tenth of a second a file
        for char in filter(_unprintable, line):
            refuse(number, _called(char), "printable characters and plain spaces")
    last = text.rstrip("\n").rsplit("\n", 1)[-1]
    if last != END or not text.endswith("\n"):
        refuse(text.count("\n") + 1, "no end marker", f"a last line {END!r}, so that half a file is noticed")
    return None if document.faults else text


class _Builder:
    """Turns parser events into plain data, collecting what it refuses.

    Without lines, every path is empty: then it only counts that something is refused.
    """

    def __init__(self, document: Document, source: list[str], *, with_lines: bool) -> None:
        self.document = document
        self.source = source
        self.with_lines = with_lines
        self.nodes = self.depth = 0

    def build(self, events: Iterator[yaml.Event]) -> None:
        documents = 0
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self.refuse((), event, "a second document", "one document a file")
                    return
                self.document.data = self.node(next(events), events, ())
        if not documents:
            self.document.faults.append(Fault(self.document.file, 1, "", "an empty file", "a mapping"))

    def refuse(self, path: tuple[str | int, ...], event: yaml.Event, found: str, allowed: str) -> None:
        self.document.refused.add(path)
        line = _line(event)
        self.document.faults.append(Fault(self.document.file, line, dotted(path), found, allowed))

    def node(self, event: yaml.Event, events: Iterator[yaml.Event], path: tuple[str | int, ...]) -> Plain:
        self.nodes += 1
        if self.nodes > MAX_NODES or self.depth > MAX_DEPTH:
            raise ValueError("too many nodes")
        if self.with_lines:
            self.document.lines.setdefault(path, _line(event))
        if isinstance(event, yaml.AliasEvent):
            self.refuse(path, event, f"the alias *{event.anchor}", "the value itself, written out")
            return None
        if anchor := getattr(event, "anchor", None):
            self.refuse(path, event, f"the anchor &{anchor}", "no anchors")
        if tag := getattr(event, "tag", None):
            self.refuse(path, event, f"the tag {tag}", "no tags")
        if isinstance(event, yaml.ScalarEvent):
            return self.scalar(event, path)
        self.depth += 1
        build = self.mapping if isinstance(event, yaml.MappingStartEvent) else self.sequence
        inside = build(events, path)
        self.depth -= 1
        return inside

    def inside(self, path: tuple[str | int, ...], part: str | int) -> tuple[str | int, ...]:
        return (*path, part) if self.with_lines else path

    def sequence(self, events: Iterator[yaml.Event], path: tuple[str | int, ...]) -> Plain:
        items: list[Plain] = []
        while not isinstance(inner := next(events), yaml.SequenceEndEvent):
            items.append(self.node(inner, events, self.inside(path, len(items))))
        return items

    def mapping(self, events: Iterator[yaml.Event], path: tuple[str | int, ...]) -> Plain:
        result: dict[str, Plain] = {}
        while not isinstance(key_event := next(events), yaml.MappingEndEvent):
            if not isinstance(key_event, yaml.ScalarEvent):
                self.refuse(path, key_event, "a key that is not text", "a text key")
                self.node(key_event, events, (*path, "?"))
                self.node(next(events), events, (*path, "?"))
                continue
            key = key_event.value
            here = self.inside(path, key)
            if key in result:
                first = self.document.lines.get(here)
                self.refuse(here, key_event, f"{key!r} again (first on line {first})", "each key once")
                self.node(next(events), events, (*path, f"{key} (again)"))
                continue
            if self.with_lines:
                self.document.lines[here] = _line(key_event)
            value_event = next(events)
            if not key_event.style and not (_TEXT.fullmatch(key) and not _MISREAD.fullmatch(key)):
                if key.isdecimal() and isinstance(value_event, yaml.ScalarEvent) and not value_event.value:
                    # `{below: 1,00}` is the pair below: 1 and a key 00 that nobody meant.
                    self.refuse(here, key_event, f"a comma before {key}", "a decimal point, as in 1.00")
                    continue
                self.refuse(here, key_event, f"the key {key}", "a key no reader takes for something else")
            result[key] = self.node(value_event, events, here)
        return result

    def tail(self, event: yaml.ScalarEvent) -> str:
        """What stands on the line behind a scalar."""
        mark = event.end_mark
        return "" if mark is None else self.source[mark.line][mark.column :]

    def scalar(self, event: yaml.ScalarEvent, path: tuple[str | int, ...]) -> Plain:
        text: str = event.value
        if not text.isprintable() and (hidden := next(filter(_unprintable, text.replace("\n", "")), None)):
            self.refuse(path, event, _called(hidden), "printable characters")
            return None
        if event.style:
            return text
        if text and self.tail(event).lstrip().startswith("#"):
            self.refuse(path, event, f"{text!r} followed by #", "comments on lines of their own, # in quotes")
            return None
        if text in {"true", "false"}:
            return text == "true"
        if _INTEGER.fullmatch(text):
            return int(text)
        if _DECIMAL.fullmatch(text):
            return Decimal(text)
        if _TEXT.fullmatch(text) and not _MISREAD.fullmatch(text):
            return text
        if not text:
            self.refuse(path, event, "nothing", "a value, or leave the key out")
        else:
            self.refuse(
                path, event, f"{text} without quotes", f'a plain number or word, or "{text}" in quotes'
            )
        return None


def _line(event: yaml.Event) -> int:
    return 1 if event.start_mark is None else event.start_mark.line + 1
