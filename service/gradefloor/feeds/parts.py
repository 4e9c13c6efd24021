"""Work that is already done, kept in a folder beside the target so that nothing is judged twice.

A part counts as done only when it has been renamed into place and its tally, with the part's size, has been
renamed into place after it. The manifest says of which source, by which rules: any difference starts anew.
"""

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Final

import orjson

from gradefloor.feeds.rows import TableError
from gradefloor.feeds.tally import Tally

try:
    import fcntl
except ImportError:  # Windows; two runs at once are then the user's affair
    fcntl = None  # type: ignore[assignment]

# Goes up when parts are written differently, so that no target is put together from two ways.
FORMAT: Final = 1
_DIGITS: Final = 8


class Parts:
    """A folder of finished parts. Removes only files that are its own."""

    def __init__(self, folder: Path, manifest: Mapping[str, Any]) -> None:
        self.folder = folder
        self.done: list[Tally] = []
        self._manifest = orjson.dumps({"format": FORMAT, **manifest}, option=orjson.OPT_SORT_KEYS)

    @contextmanager
    def opened(self) -> Iterator[None]:
        """Take over what an earlier run finished, if it was the same work; hold others off meanwhile."""
        self.folder.mkdir(exist_ok=True)
        with self._locked():
            manifest = self.folder / "manifest.json"
            if not manifest.is_file() or manifest.read_bytes() != self._manifest:
                self._clear()
                self._put(manifest, self._manifest)
            while (tally := self._tally(len(self.done))) is not None:
                self.done.append(tally)
            try:
                yield
            finally:
                for draft in self.folder.glob("*.draft"):
                    if _is_ours(draft):
                        draft.unlink(missing_ok=True)

    def draft(self, ahead: int = 0) -> Path:
        """Where to write the next part, or one of those after it; a draft never counts."""
        return self._path(len(self.done) + ahead, "draft")

    def add(self, tally: Tally) -> None:
        """The draft of the next part is written to its end, and done from now on."""
        number = len(self.done)
        draft, part = self.draft(), self._path(number, "part")
        _to_disk(draft)
        draft.replace(part)
        self._put(self._path(number, "json"), tally.as_json(part.stat().st_size))
        self.done.append(tally)

    @property
    def paths(self) -> list[Path]:
        return [self._path(number, "part") for number in range(len(self.done))]

    @contextmanager
    def whole(self, target: Path) -> Iterator[Path]:
        """Where to write the whole; takes the target's place in one step, and the parts are gone."""
        draft = self.folder / "whole.draft"
        yield draft
        _to_disk(draft)
        draft.replace(target)
        self._clear()
        with suppress(OSError):  # somebody keeps files of his own here
            self.folder.rmdir()

    def _path(self, number: int, suffix: str) -> Path:
        return self.folder / f"{number:0{_DIGITS}}.{suffix}"

    def _tally(self, number: int) -> Tally | None:
        """What a part counted, if it is done and as large as it was."""
        part, counts = self._path(number, "part"), self._path(number, "json")
        if not (part.is_file() and counts.is_file()):
            return None
        return Tally.from_json(counts.read_bytes(), size=part.stat().st_size)

    def _put(self, path: Path, content: bytes) -> None:
        draft = path.with_name(f"{path.name}.draft")
        draft.write_bytes(content)
        _to_disk(draft)
        draft.replace(path)

    def _clear(self) -> None:
        """The manifest goes first: without it no part left over is ever taken for done."""
        (self.folder / "manifest.json").unlink(missing_ok=True)
        for path in list(self.folder.iterdir()):
            if _is_ours(path):
                path.unlink()

    @contextmanager
    def _locked(self) -> Iterator[None]:
        """The lock ends with the process, however that ends."""
        if fcntl is None:
            yield
            return
        held = os.open(self.folder, os.O_RDONLY)
        try:
            try:
                fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                raise TableError(f"{self.folder.name}: another run is at work here") from None
            yield
        finally:
            os.close(held)


def _to_disk(path: Path) -> None:
    """A rename may reach the disk before the content does; a part must not be complete and hollow."""
    with path.open("rb") as stream:
        os.fsync(stream.fileno())


def _is_ours(path: Path) -> bool:
    stem, _, suffix = path.name.partition(".")
    numbered = len(stem) == _DIGITS and stem.isdecimal()
    known = suffix in {"part", "json", "draft", "json.draft"}
    return known and (numbered or stem in {"manifest", "whole"})
