"""What a written part says of how it was made, so that it is never taken for another one's.

A Parquet file carries it itself; beside any other file stands a small one, `NAME.made.json`, which counts
only while the file is as large as it says.
"""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

import orjson

from gradefloor.feeds.rows import MADE, TableError
from gradefloor.feeds.tables import PARQUET

_SUFFIX: Final = ".made.json"


def is_note(path: Path) -> bool:
    """Whether a file only says how another one was made."""
    return path.name.endswith(_SUFFIX)


def forget(target: Path) -> None:
    """What is said of a file that is about to be replaced no longer holds."""
    _beside(target).unlink(missing_ok=True)


def remember(target: Path, made: bytes) -> None:
    """Say beside a file how it was made."""
    note, draft = _beside(target), target.with_name(f"{target.name}{_SUFFIX}.draft")
    content = {"bytes": target.stat().st_size, **orjson.loads(made)}
    with draft.open("wb") as stream:
        stream.write(orjson.dumps(content, option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE))
        stream.flush()
        os.fsync(stream.fileno())
    draft.replace(note)


def made_of(target: Path) -> Mapping[str, Any] | None:
    """How a file was made; None if it does not say so, or not of itself as it is."""
    if target.suffix.lower() == PARQUET:
        return _inside(target)
    try:
        found = orjson.loads(_beside(target).read_bytes())
        return found if found["bytes"] == target.stat().st_size else None
    except (OSError, orjson.JSONDecodeError, KeyError, TypeError):
        return None


def _inside(target: Path) -> Mapping[str, Any] | None:
    try:
        import pyarrow as pa  # type: ignore[import-untyped]  # noqa: PLC0415
        import pyarrow.parquet as pq  # type: ignore[import-untyped]  # noqa: PLC0415
    except ImportError:
        raise TableError(
            f"{target.name}: Parquet needs pyarrow; install gradefloor with the extra 'parquet'"
        ) from None
    try:
        said = (pq.read_metadata(target).metadata or {}).get(MADE)
        found = None if said is None else orjson.loads(said)
    except (OSError, pa.ArrowException, orjson.JSONDecodeError):
        return None
    return found if isinstance(found, dict) else None


def _beside(target: Path) -> Path:
    return target.with_name(f"{target.name}{_SUFFIX}")
