"""Rows in Arrow's columns, annotated in memory: no file, and nothing of the engine that holds the batch.

Only what is imported from here needs the optional library.
"""

from collections.abc import Iterator
from typing import Any, Final, TypeVar

import pyarrow as pa  # type: ignore[import-untyped]

from gradefloor.feeds.each import judge_each
from gradefloor.feeds.rows import ADDED, FIELDS, LISTS, MADE, Judge, Record, Row, unique
from gradefloor.feeds.tally import Tally

# A record batch or a table; the library has no types of its own.
Batch = TypeVar("Batch")

# So many rows at once are Python values.
_ROWS_AT_ONCE: Final = 1_000
_UNREADABLE: Final = object()


def annotate_batch(batch: Batch, judge: Judge, tally: Tally | None = None) -> Batch:
    """The columns of a record batch or table as they were, type and all, and after them what was found.

    Columns of an earlier annotation are replaced. `tally` counts the rows, where somebody wants to know.
    """
    arrow: Any = batch
    columns = [arrow.column(at) for at in _own(arrow.schema)]
    counts = Tally() if tally is None else tally
    found = [judged for _, judged in judge_each(records_of(arrow), judge, counts)]
    schema = annotated_schema(arrow.schema)
    for name, added in zip(FIELDS, ADDED, strict=True):
        columns.append(pa.array([getattr(judged, name) for judged in found], schema.field(added).type))
    annotated: Batch = type(arrow).from_arrays(columns, schema=schema)
    return annotated


def annotated_schema(schema: Any) -> Any:
    """The schema of what `annotate_batch` makes of a batch with this one."""
    own = own_schema(schema)
    for name, added in zip(FIELDS, ADDED, strict=True):
        own = own.append(pa.field(added, pa.list_(pa.string()) if name in LISTS else pa.string()))
    return own


def own_schema(schema: Any) -> Any:
    """The supplier's own columns, each under a name of its own; metadata stays but for how it was made."""
    names = unique(schema.names)
    fields = [schema.field(at).with_name(names[at]) for at in _own(schema)]
    metadata = {name: value for name, value in (schema.metadata or {}).items() if name != MADE}
    return pa.schema(fields, metadata=metadata or None)


def records_of(batch: Any) -> Iterator[Record]:
    """The rows of a record batch or table as the judge sees them."""
    own, headers = _own(batch.schema), own_schema(batch.schema).names
    for first in range(0, batch.num_rows, _ROWS_AT_ONCE):
        some = batch.slice(first, _ROWS_AT_ONCE)
        for values in zip(*(_values(some.column(at)) for at in own), strict=True):
            row: Row = dict(zip(headers, values, strict=True))
            unreadable = [name for name, value in row.items() if value is _UNREADABLE]
            for name in unreadable:
                del row[name]
            yield Record(row, None, tuple(f"{name}: unreadable" for name in unreadable))


def _own(schema: Any) -> list[int]:
    """Where the supplier's own columns stand."""
    return [at for at, name in enumerate(unique(schema.names)) if name not in ADDED]


def _values(column: Any) -> list[Any]:
    try:
        values: list[Any] = column.to_pylist()
    except (ValueError, OverflowError, pa.ArrowException):
        # A date after the year 9999, nanoseconds, bytes that are no text: only those cells are lost.
        return [_value(cell) for cell in column]
    return values


def _value(cell: Any) -> Any:
    try:
        return cell.as_py()
    except (ValueError, OverflowError, pa.ArrowException):
        return _UNREADABLE
