"""Parquet, in batches. What stood in the file's columns is written again as it was, type and all."""

from collections.abc import Generator, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.parquet as pq  # type: ignore[import-untyped]

from gradefloor.feeds.batches import annotate_batch, annotated_schema, own_schema, records_of
from gradefloor.feeds.rows import MADE, Judge, Record, Stamp, TableError
from gradefloor.feeds.tally import Tally

_ROWS_AT_ONCE: Final = 1_000
# Columns of a row group are read through a window of this size, however large the group is.
_WINDOW: Final = 1024 * 1024


class ParquetTable:
    """A Parquet file; its pieces are tables of Arrow."""

    encoding: str | None = None
    delimiter: str | None = None
    about = "Parquet"

    def __init__(self, path: Path) -> None:
        self.path = path
        self.stamp = Stamp.of(path)
        with self._told(), self._file() as file:
            self.headers: list[str] = own_schema(file.schema_arrow).names
            self.count: int = file.metadata.num_rows
            self._schema = annotated_schema(file.schema_arrow)
        if not self.headers:
            raise TableError(f"{path.name}: no columns")

    def records(self, skip: int = 0) -> Iterator[Record]:
        with self._told():
            for batch in self._batches(skip):
                yield from records_of(batch)

    def pieces(self, rows: int, skip: int = 0) -> Generator[Any]:
        with self._told():
            batches: list[Any] = []
            free = rows
            for whole in self._batches(skip):
                batch = whole
                while batch.num_rows >= free:
                    yield pa.Table.from_batches([*batches, batch.slice(0, free)])
                    batches, batch, free = [], batch.slice(free), rows
                if batch.num_rows:
                    batches.append(batch)
                    free -= batch.num_rows
            if batches:
                yield pa.Table.from_batches(batches)

    def write(self, piece: Any, judge: Judge, tally: Tally, path: Path) -> None:
        with self._told():
            pq.write_table(annotate_batch(piece, judge, tally), path)

    def join(self, parts: Sequence[Path], path: Path, made: bytes | None = None) -> bool:
        schema = self._schema
        if made is not None:
            schema = schema.with_metadata({**(schema.metadata or {}), MADE: made})
        with self._told(), pq.ParquetWriter(path, schema) as whole:
            for part in parts:
                whole.write_table(pq.read_table(part, schema=schema, partitioning=None))
        return True

    def _batches(self, skip: int) -> Iterator[Any]:
        """Record batches of the file without its first `skip` rows."""
        with self._file() as file:
            groups = list(range(file.num_row_groups))
            while groups and file.metadata.row_group(groups[0]).num_rows <= skip:
                skip -= file.metadata.row_group(groups.pop(0)).num_rows
            for batch in file.iter_batches(_ROWS_AT_ONCE, row_groups=groups, use_threads=False):
                if skip < batch.num_rows:
                    yield batch.slice(skip)
                skip = max(0, skip - batch.num_rows)

    @contextmanager
    def _file(self) -> Iterator[Any]:
        with pq.ParquetFile(self.path, buffer_size=_WINDOW, pre_buffer=False) as file:
            yield file

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except pa.ArrowException as error:
            first = str(error).partition("\n")[0]
            raise TableError(f"{self.path.name}: not a sound Parquet file: {first}") from None
