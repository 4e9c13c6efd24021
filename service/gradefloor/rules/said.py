"""What one rule says of one request, on its way into answers. Made at load wherever it can be."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import orjson

from gradefloor.rules.findings import Changed, Finding

# How a verdict weighs: a note never changes it, and silence is no complaint.
SEVERITY: Final = {"silent": 0, "pass": 0, "note": 0, "ask": 1, "fail": 2}

# Worst finding first; among equals safety speaks before consistency, floors, proportions and taste.
TOPIC_ORDER: Final = {
    topic: rank
    for rank, topic in enumerate((
        "durability", "setting", "wear", "material", "consistency", "report", "cut", "clarity", "color",
        "metal", "fluorescence", "proportions", "sides", "halo", "band", "wording", "ratio", "advice",
    ))
}  # fmt: skip
VERDICT_ORDER: Final = {"fail": 0, "ask": 1, "note": 2, "pass": 3}


@dataclass(frozen=True, slots=True)
class Stamp:
    """What of a rule stands in every finding it makes; `place` orders findings of one verdict."""

    rule: str
    topic: str
    because: str
    source: str
    disagreement: str
    place: int


# What is observed repeats from stone to stone: a laboratory, an age, a table. With all its words some 1 KB.
_KEPT: Final = 1024


class Said:
    """One finding on its way into answers: where it comes among others, and what it asks about.

    Most are made once, at load or when they are first needed, and stand in many answers; so their bytes are
    kept, and nobody may change a finding that is shared.
    """

    __slots__ = ("_written", "asks", "finding", "place", "verdict")

    def __init__(self, place: int, finding: Finding, asks: tuple[str, ...]) -> None:
        self.place = place
        self.verdict = finding["verdict"]
        self.asks = asks
        self.finding = finding
        self._written = b""

    @property
    def written(self) -> bytes:
        """The finding as JSON."""
        if not self._written:
            self._written = orjson.dumps(self.finding)
        return self._written

    def observing(self, observed: str) -> "Said":
        """The same said of something else that was observed, where no other word of it follows from that."""
        return _observing(self, observed)

    def changed(self, changes: Iterable[Changed]) -> "Said":
        """The same with other changes as data."""
        return Said(self.place, {**self.finding, "change": list(changes)}, self.asks)


@lru_cache(_KEPT)
def _observing(said: Said, observed: str) -> Said:
    return Said(said.place, {**said.finding, "observed": observed}, said.asks)


_PLACES: Final = 100_000


def say(  # noqa: PLR0913, PLR0917 - one argument for each member that differs, in the order of the wire
    stamp: Stamp,
    verdict: str,
    observed: str | None,
    threshold: str | None,
    reason: str,
    remedy: str | None = None,
    change: Iterable[Changed] = (),
    asks: tuple[str, ...] = (),
) -> Said:
    """One finding of one rule."""
    finding: Finding = {
        "rule": stamp.rule,
        "topic": stamp.topic,
        "verdict": verdict,
        "observed": observed,
        "threshold": threshold,
        "reason": reason,
        "remedy": remedy,
        "change": list(change),
        "source": stamp.source,
        "disagreement": stamp.disagreement,
    }
    return Said(VERDICT_ORDER[verdict] * _PLACES + stamp.place, finding, asks)
