"""Counting what was found, part by part."""

from collections import Counter
from dataclasses import dataclass, field, fields
from typing import Any, Final

import orjson

from gradefloor.feeds.rows import Judged

# Kinds of findings are few. Should somebody's headers make them many, those after so many are not told apart.
DISTINCT: Final = 10_000
# A row that was not judged, or of which nothing could be said.
NO_VERDICT: Final = "none"


@dataclass
class Tally:
    """What some rows amounted to. `raised` counts rows that the judge broke on."""

    rows: int = 0
    raised: int = 0
    outcomes: Counter[str] = field(default_factory=Counter)
    verdicts: Counter[str] = field(default_factory=Counter)
    findings: Counter[str] = field(default_factory=Counter)
    remarks: Counter[str] = field(default_factory=Counter)

    def add(self, judged: Judged) -> None:
        self.rows += 1
        self.outcomes[judged.outcome] += 1
        self.verdicts[judged.verdict or NO_VERDICT] += 1
        for text in judged.findings:
            _count(self.findings, text, 1)
        for text in judged.remarks:
            # What was seen differs from row to row; what it amounts to stands before the comma.
            _count(self.remarks, text.partition(", ")[0], 1)

    def merge(self, other: "Tally") -> None:
        self.rows += other.rows
        self.raised += other.raised
        for name in _COUNTERS:
            for text, number in getattr(other, name).items():
                _count(getattr(self, name), text, number)

    def as_json(self, size: int) -> bytes:
        return orjson.dumps({"size": size, **vars(self)}, option=orjson.OPT_SORT_KEYS)

    @classmethod
    def from_json(cls, content: bytes, *, size: int) -> "Tally | None":
        """None if these are not the counts of a part of this size."""
        try:
            found: Any = orjson.loads(content)
            if found.pop("size") != size:
                return None
            return cls(found["rows"], found["raised"], *(Counter(found[name]) for name in _COUNTERS))
        except (orjson.JSONDecodeError, AttributeError, KeyError, TypeError):
            return None


_COUNTERS: Final = tuple(item.name for item in fields(Tally) if item.default_factory is Counter)


def _count(counter: Counter[str], text: str, number: int) -> None:
    if text in counter or len(counter) < DISTINCT:
        counter[text] += number
