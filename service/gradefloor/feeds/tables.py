"""The file as a table, by its ending."""

from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from gradefloor.feeds.delimited import CsvTable
from gradefloor.feeds.ndjson import JsonTable
from gradefloor.feeds.rows import Table, TableError

PARQUET: Final = ".parquet"


def _parquet(path: Path) -> Table:
    """Only this kind of file needs the optional library, which is read when the first one is opened."""
    if find_spec("pyarrow") is None:
        raise TableError(f"{path.name}: Parquet needs pyarrow; install gradefloor with the extra 'parquet'")
    from gradefloor.feeds.parquet import ParquetTable  # noqa: PLC0415

    return ParquetTable(path)


KINDS: Final[dict[str, Callable[[Path], Table]]] = {
    ".csv": CsvTable,
    ".tsv": CsvTable,
    ".txt": CsvTable,
    ".ndjson": JsonTable,
    ".jsonl": JsonTable,
    PARQUET: _parquet,
}


def open_table(path: Path) -> Table:
    """Look at the whole file once: what it is, which columns it has, how many rows."""
    kind = kind_of(path)
    try:
        if not path.is_file():
            raise TableError(f"{path.name}: no such file")
        if not path.stat().st_size:
            raise TableError(f"{path.name}: the file is empty")
        return kind(path)
    except OSError as error:
        raise TableError(f"{path.name}: {error.strerror or error}") from None


def kind_of(path: Path) -> Callable[[Path], Table]:
    """Opens files with this ending."""
    kind = KINDS.get(path.suffix.lower())
    if kind is None:
        raise TableError(f"{path.name}: the name ends with none of {', '.join(KINDS)}")
    return kind
