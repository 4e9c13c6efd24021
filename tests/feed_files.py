"""Small files of invented rows, an invented judgement of them, and what is written."""

import os
import signal
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import Any, Final

from gradefloor.feeds.annotate import annotate
from gradefloor.feeds.asking import Wanted
from gradefloor.feeds.judging import Judgement
from gradefloor.feeds.rows import Judge, Judged, Row, TableError
from gradefloor.feeds.summary import Summary
from gradefloor.rules.catalog import Catalog, load
from samples import RULESETS


def judge(row: Row) -> Judged:
    """An invented judgement: `ask` names a question, `bad` is set aside, all else passes."""
    shape = row.get("shape")
    if shape == "ask":
        return Judged("ask", "ask", ["floor.a: ask", "floor.b: pass"], ["How tall?", "How wide?"])
    if shape == "bad":
        return Judged("set_aside", remarks=["carat: unreadable"])
    return Judged("accepted", "pass", ["floor.a: pass"])


def written(folder: Path, content: str | bytes, name: str = "feed.csv") -> Path:
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def run(path: Path, target: Path | None = None, **more: Any) -> Summary:
    return annotate(path, more.pop("judge", judge), target, fingerprint="f", progress=False, **more)


def out(path: Path) -> str:
    return run(path).target.read_bytes().decode()


DAY: Final = date(2026, 11, 25)


@cache
def catalog() -> Catalog:
    return load(RULESETS)


def house(version: str, headers: Sequence[str]) -> Judgement:
    """A released version of the house rules, asked under these headers."""
    found = catalog().resolve(f"house@{version}", DAY, datetime.now(UTC))
    return Judgement.of(RULESETS, found, Wanted().asking(headers), None, DAY)


@dataclass(frozen=True)
class Begin:
    """An invented judge to send: ends its own process when it sees the row `stop` for the first time.

    What it has judged it writes into the folder, one file for each row.
    """

    folder: Path
    stop: int | None = None

    def __call__(self) -> Judge:
        return self.judge

    def judge(self, row: Row) -> Judged:
        number = int(row["n"])
        flag = self.folder / "stopped"
        if number == self.stop and not flag.exists():
            flag.touch()
            os.kill(os.getpid(), signal.SIGKILL)
        (self.folder / f"{number}.judged").touch()
        return Judged("ask" if number % 3 else "set_aside", None, [f"floor: {number % 2}"], ["?"], [])


def refusing() -> Judge:
    raise TableError("the rules are others here")
