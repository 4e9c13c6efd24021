"""Parquet, in batches. What stood in the file's columns is written again as it was, type and all."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import Any, Final

from gradefloor.feeds.rows import (
    ADDED,
    FIELDS,
    LISTS,
    Judged,
    Record,
    Row,
    Stamp,
    TableError,
    Write,
    unique,
)

_ROWS_AT_ONCE: Final = 1_000
# Columns of a row group are read through a window of this size, however large the group is.
_WINDOW: Final = 1024 * 1024


class ParquetTable:
    """A Parquet file; only this class needs the optional library."""

    encoding: str | None = None
    delimiter: str | None = None
    about = "Parquet"

    def __init__(self, path: Path) -> None:
        self.path = path
        self.stamp = Stamp.of(path)
        try:
            import pyarrow as pa  # type: ignore[import-untyped]  # noqa: PLC0415
            import pyarrow.parquet as pq  # type: ignore[import-untyped]  # noqa: PLC0415
        except ImportError:
            raise TableError(
                f"{path.name}: Parquet needs pyarrow; install gradefloor with the extra 'parquet'"
            ) from None
        self._pa, self._pq = pa, pq
        with self._told(), self._file() as file:
            columns = unique(file.schema_arrow.names)
            self._own = [at for at, name in enumerate(columns) if name not in ADDED]
            self.headers = [columns[at] for at in self._own]
            self.count: int = file.metadata.num_rows
            fields = [file.schema_arrow.field(at).with_name(columns[at]) for at in self._own]
            self._source = pa.schema(fields, metadata=file.schema_arrow.metadata)
        if not self.headers:
            raise TableError(f"{path.name}: no columns")
        self._schema = self._source
        for name, added in zip(FIELDS, ADDED, strict=True):
            kind = pa.list_(pa.string()) if name in LISTS else pa.string()
            self._schema = self._schema.append(pa.field(added, kind))

    def records(self, skip: int = 0) -> Iterator[Record]:
        with self._told(), self._file() as file:
            groups = list(range(file.num_row_groups))
            while groups and file.metadata.row_group(groups[0]).num_rows <= skip:
                skip -= file.metadata.row_group(groups.pop(0)).num_rows
            yield from islice(self._records(file, groups), skip, None)

    @contextmanager
    def writer(self, path: Path) -> Iterator[Write]:
        pieces: list[list[Any]] = []  # batch, first row, one past the last
        found: list[Judged] = []

        def write(record: Record, judged: Judged) -> None:
            batch, at = record.source
            if pieces and pieces[-1][0] is batch:
                pieces[-1][2] = at + 1
            else:
                pieces.append([batch, at, at + 1])
            found.append(judged)

        yield write
        with self._told():
            source = self._pa.Table.from_batches(
                [batch.slice(first, last - first) for batch, first, last in pieces], self._source
            )
            self._pq.write_table(self._annotated(source, found), path)

    def join(self, parts: Sequence[Path], path: Path) -> None:
        with self._told(), self._pq.ParquetWriter(path, self._schema) as whole:
            for part in parts:
                whole.write_table(self._pq.read_table(part, schema=self._schema, partitioning=None))

    def _annotated(self, source: Any, found: list[Judged]) -> Any:
        columns = list(source.columns)
        for name, added in zip(FIELDS, ADDED, strict=True):
            values = [getattr(judged, name) for judged in found]
            columns.append(self._pa.array(values, self._schema.field(added).type))
        return self._pa.Table.from_arrays(columns, schema=self._schema)

    def _records(self, file: Any, groups: list[int]) -> Iterator[Record]:
        batches = file.iter_batches(_ROWS_AT_ONCE, row_groups=groups, use_threads=False)
        for whole in batches:
            batch = self._pa.RecordBatch.from_arrays(
                [whole.column(at) for at in self._own], schema=self._source
            )
            columns = [self._values(column) for column in batch.columns]
            for at, values in enumerate(zip(*columns, strict=True)):
                row: Row = dict(zip(self.headers, values, strict=True))
                unreadable = [name for name, value in row.items() if value is _UNREADABLE]
                for name in unreadable:
                    del row[name]
                yield Record(row, (batch, at), tuple(f"{name}: unreadable" for name in unreadable))

    def _values(self, column: Any) -> list[Any]:
        try:
            values: list[Any] = column.to_pylist()
        except (ValueError, OverflowError, self._pa.ArrowException):
            # A date after the year 9999, nanoseconds, bytes that are no text: only those cells are lost.
            return [self._value(cell) for cell in column]
        return values

    def _value(self, cell: Any) -> Any:
        try:
            return cell.as_py()
        except (ValueError, OverflowError, self._pa.ArrowException):
            return _UNREADABLE

    @contextmanager
    def _file(self) -> Iterator[Any]:
        with self._pq.ParquetFile(self.path, buffer_size=_WINDOW, pre_buffer=False) as file:
            yield file

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except self._pa.ArrowException as error:
            first = str(error).partition("\n")[0]
            raise TableError(f"{self.path.name}: not a sound Parquet file: {first}") from None


_UNREADABLE: Final = object()
