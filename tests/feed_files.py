"""Small files of invented rows, an invented judgement of them, and what is written."""

from pathlib import Path
from typing import Any

from gradefloor.feeds.annotate import annotate
from gradefloor.feeds.rows import Judged, Row
from gradefloor.feeds.summary import Summary


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
