"""How the rows of files are to be read, before the headers of any of them are known."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from gradefloor.trade.columns import FIELDS, propose_columns
from gradefloor.trade.feed import Asking


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the caller says of all files; without `columns` they are proposed from the headers of each."""

    columns: Mapping[str, str] | None = None
    number_format: str | None = None
    origin: str | None = None

    def asking(self, headers: Sequence[str]) -> Asking:
        """How to read the rows under these headers; ValueError for a column that is not there."""
        if self.columns is None:
            return Asking(propose_columns(headers).columns, self.number_format, self.origin)
        for header, field in self.columns.items():
            if header not in headers:
                raise ValueError(f"there is no column {header!r}; there are {', '.join(headers)}")
            if field not in FIELDS:
                raise ValueError(f"{field} is not one of {', '.join(sorted(FIELDS))}")
        return Asking(dict(self.columns), self.number_format, self.origin)

    def said(self) -> dict[str, Any]:
        return {
            "columns_given": None if self.columns is None else dict(self.columns),
            "number_format": self.number_format,
            "origin": self.origin,
        }


def how_read(asking: Asking, headers: Sequence[str]) -> str:
    """A sentence on which columns are read as what, and which are not."""
    note = ", ".join(f"{header} is {field}" for header, field in asking.columns.items())
    if unread := [header for header in headers if header not in asking.columns]:
        note += f"; not read: {', '.join(unread)}"
    return note
