"""A row on its way to a stone: its mapped cells by field, what is read so far, and the remarks."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, get_args

from gradefloor.trade.cells import Cell, NumberFormat, Read, Remark, cell, is_blank, key
from gradefloor.trade.columns import FIELDS


@dataclass(slots=True)
class Draft:
    """The stone as far as it is read."""

    cells: dict[str, Cell]
    members: dict[str, Any] = field(default_factory=dict)
    remarks: list[Remark] = field(default_factory=list)

    def take(self, name: str, read: Callable[[Cell], Read[Any]]) -> Any:
        """The value of one field, its remarks kept; None where there is no column or nothing to read."""
        seen = self.cells.get(name)
        if seen is None:
            return None
        value, remarks = read(seen)
        self.remarks += remarks
        return value

    def put(self, name: str, value: object) -> None:
        if value is not None:
            self.members[name] = value

    def disputed(self) -> set[str]:
        """Fields that have a remark already."""
        return {remark.field for remark in self.remarks}

    def missing(self, name: str, ask: str | None = None) -> None:
        self.remarks.append(Remark(name, "", None, "not_stated", ask))


def gather(
    row: Mapping[str, object], columns: Mapping[str, str], number_format: str | Mapping[str, str] | None
) -> Draft:
    """The mapped cells by field. Two columns of one field must agree; a blank one does not count."""
    cells = dict[str, Cell]()
    remarks = list[Remark]()
    for header, name in columns.items():
        if name not in FIELDS:
            continue
        seen = cell(name, row.get(header), _format(number_format, header, name))
        other = cells.get(name)
        if other is None or is_blank(other):
            cells[name] = seen
        elif not is_blank(seen) and key(seen.text) != key(other.text):
            ask = "Two columns state this field differently: which one is right?"
            remarks.append(seen.remark("contradiction", None, ask))
    for remark in remarks:
        cells.pop(remark.field, None)
    return Draft(cells, remarks=remarks)


def _format(given: str | Mapping[str, str] | None, header: str, name: str) -> NumberFormat | None:
    if given is None:
        return None
    found = given if isinstance(given, str) else given.get(header, given.get(name))
    return next((known for known in get_args(NumberFormat) if known == found), None)
