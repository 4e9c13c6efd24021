"""Answers of released versions come out byte for byte as they were kept, `service_version` apart.

The stones are invented. Run as a program, it keeps answers of versions that have none yet; what is kept
once is never written again.
"""

from datetime import date
from pathlib import Path
from typing import Any, Final

import orjson
import pytest

from gradefloor.judge.stones import evaluate
from gradefloor.judge.wording import audit
from gradefloor.rules.catalog import Release
from gradefloor.trade.listings import WordingText
from gradefloor.trade.stones import Context, Stone
from samples import committed_catalog

KEPT: Final = Path(__file__).parent / "data" / "kept_answers.jsonl"
DAY: Final = "2026-11-26"

STONES: Final[list[dict[str, Any]]] = [
    {
        "stone": {
            "id": "tray-1", "shape": "emerald", "material": "diamond", "origin": "natural", "carat": 1.46,
            "color": "I", "clarity": "VS2", "length_mm": 7.69, "width_mm": 5.65, "depth_mm": 3.73,
            "table_pct": 66, "report": {"issuer": "GIA", "comments": ["Additional clouds are not shown."]},
        },
        "context": {"metal": "platinum"},
    },
    {
        "stone": {
            "shape": "pear", "origin": "laboratory_grown", "carat": 1.5, "color": "F-G", "clarity": "VS1",
            "length_mm": 9.1, "width_mm": 6.0, "depth_pct": 61, "girdle_min": "very_thin",
            "observations": {"bow_tie": "slight", "eye_clean": True},
        },
        "context": {"metal": "rose_gold", "protection": "claws", "wear": "active"},
    },
    {"stone": {"shape": "oval"}, "context": None},
]  # fmt: skip
TEXTS: Final[list[dict[str, Any]]] = [
    {"text": "Perfect 1/2 ct blue-white diamond", "market": "US", "origin": "natural", "material": "diamond"},
    {"text": "Lab diamond ring", "market": "ISO", "origin": "laboratory_grown", "material": "diamond"},
]


def asked(release: Release) -> list[dict[str, Any]]:
    return STONES if release.rules.subject == "stones" else TEXTS


def answer(release: Release, request: dict[str, Any]) -> str:
    """What this version answers, as bytes of the wire."""
    day = date.fromisoformat(DAY)
    found: Any
    if "stone" in request:
        context = request["context"] and Context.model_validate(request["context"])
        found = evaluate(release.compiled, Stone.model_validate(request["stone"]), context, day)
        found = {**found, "service_version": "any"}
    else:
        found = audit(release.compiled, WordingText.model_validate(request), day)
    return orjson.dumps(found).decode()


def kept() -> list[dict[str, Any]]:
    return [orjson.loads(line) for line in KEPT.read_text().splitlines()]


CATALOG: Final = committed_catalog(drafts=False)


@pytest.mark.parametrize("one", kept(), ids=lambda one: one["version"])
def test_a_kept_answer_comes_out_as_it_was(one: dict[str, Any]) -> None:
    name, _, version = one["version"].partition("@")
    release = CATALOG.find(name, version)
    assert release is not None
    assert answer(release, one["request"]) == one["answer"]


def test_every_released_version_has_kept_answers() -> None:
    versions = {one["version"] for one in kept()}
    assert {f"{release.name}@{release.version}" for release in CATALOG} == versions


def keep_answers() -> None:
    """Append answers of the versions that have none yet."""
    there = {one["version"] for one in kept()} if KEPT.exists() else set()
    with KEPT.open("ab") as stream:
        for release in CATALOG:
            version = f"{release.name}@{release.version}"
            if version in there:
                continue
            for request in asked(release):
                line = {"version": version, "request": request, "answer": answer(release, request)}
                stream.write(orjson.dumps(line) + b"\n")


if __name__ == "__main__":
    keep_answers()
