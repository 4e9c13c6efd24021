"""A row on its way to a stone: its mapped cells by field, what is read so far, and the remarks."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, NamedTuple, get_args

from gradefloor.trade.cells import Cell, NumberFormat, Remark, cell, is_blank, key
from gradefloor.trade.columns import FIELDS

# What one cell says by itself. The value and its remarks come first; what else a field needs follows.
Look = Callable[[Cell], tuple[Any, ...]]


class Seen(NamedTuple):
    """A cell, and what the look of its field found in it."""

    cell: Cell
    found: Any


@dataclass(slots=True)
class Draft:
    """The stone as far as it is read."""

    seen: dict[str, Seen]
    members: dict[str, Any] = field(default_factory=dict)
    remarks: list[Remark] = field(default_factory=list)

    def take(self, name: str) -> Any:
        """The value of one field, its remarks kept; None where there is no column or nothing to read."""
        seen = self.seen.get(name)
        if seen is None:
            return None
        found = seen[1]
        if found[1]:
            self.remarks += found[1]
        return found[0]

    def cell(self, name: str) -> Cell | None:
        seen = self.seen.get(name)
        return None if seen is None else seen[0]

    def put(self, name: str, value: object) -> None:
        if value is not None:
            self.members[name] = value

    def disputed(self) -> set[str]:
        """Fields that have a remark already."""
        return {remark.field for remark in self.remarks}

    def missing(self, name: str, ask: str | None = None) -> None:
        self.remarks.append(missing(name, ask))


def missing(name: str, ask: str | None = None) -> Remark:
    """The remark on a field that no column holds."""
    return Remark(name, "", None, "not_stated", ask)


# The values of a column repeat: so many are kept with what they say, then the keeping begins anew.
KEPT: Final = 2048
_LONGEST: Final = 100
_LARGEST: Final = 2**63


class Column:
    """One header and the field that it holds; `kept` has what was seen in it, by type and value."""

    __slots__ = ("_format", "_look", "field", "header", "kept")

    def __init__(self, header: str, name: str, look: Look, number_format: NumberFormat | None) -> None:
        self.header = header
        self.field = name
        self._look = look
        self._format = number_format
        # By exact type, because 1, 1.0 and True are one key and three texts.
        self.kept: dict[type, dict[Any, Seen]] = {str: {}, float: {}, int: {}, type(None): {}}

    def read(self, value: Any) -> Seen:
        """What a value says in this column; kept for the next row that has it."""
        seen = cell(self.field, value, self._format)
        found = Seen(seen, self._look(seen))
        kept = self.kept.get(type(value))
        if kept is not None and _may_be_kept(value):
            if len(kept) >= KEPT:
                kept.clear()
            kept[value] = found
        return found


def _may_be_kept(value: Any) -> bool:
    """Nothing large; nor a zero, because 0.0 and -0.0 are one key and two texts."""
    if value is None:
        return True
    return len(value) <= _LONGEST if isinstance(value, str) else 0 < abs(value) < _LARGEST


def resolved(
    columns: Mapping[str, str], number_format: str | Mapping[str, str] | None, looks: Mapping[str, Look]
) -> Iterator[Column]:
    """The columns that hold a field of ours."""
    for header, name in columns.items():
        if name in FIELDS:
            yield Column(header, name, looks[name], _format(number_format, header, name))


def gather(row: Mapping[str, object], columns: tuple[Column, ...]) -> Draft:
    """The mapped cells by field. Two columns of one field must agree; a blank one does not count."""
    cells: dict[str, Seen] = {}
    remarks: list[Remark] = []
    value_of = row.get
    for column in columns:
        name, value = column.field, value_of(column.header)
        kept = column.kept.get(type(value))
        seen = None if kept is None else kept.get(value)
        if seen is None:
            seen = column.read(value)
        if name not in cells or is_blank(cells[name].cell):
            cells[name] = seen
        elif not is_blank(seen.cell) and key(seen.cell.text) != key(cells[name].cell.text):
            ask = "Two columns state this field differently: which one is right?"
            remarks.append(seen.cell.remark("contradiction", None, ask))
    for remark in remarks:
        cells.pop(remark.field, None)
    return Draft(cells, remarks=remarks)


def _format(given: str | Mapping[str, str] | None, header: str, name: str) -> NumberFormat | None:
    if given is None:
        return None
    found = given if isinstance(given, str) else given.get(header, given.get(name))
    return next((known for known in get_args(NumberFormat) if known == found), None)
