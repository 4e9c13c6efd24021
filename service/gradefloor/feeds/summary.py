"""What a whole file amounted to, for the caller and for people."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

COMMONEST: Final = 10


@dataclass(frozen=True)
class Summary:
    """`about`, `encoding` and `delimiter` say what the source was found to be; `rows` counts all of it.

    `resumed` rows were taken over from an earlier run; `rows_per_second` is about the others.
    """

    source: Path
    target: Path
    about: str
    encoding: str | None
    delimiter: str | None
    headers_note: str
    rows: int
    resumed: int
    raised: int
    outcomes: Mapping[str, int]
    verdicts: Mapping[str, int]
    findings: tuple[tuple[str, int], ...]
    remarks: tuple[tuple[str, int], ...]
    seconds: float
    rows_per_second: float

    def counts(self) -> dict[str, Any]:
        """The counts that do not depend on which run they are of."""
        return {
            "rows": self.rows,
            "raised": self.raised,
            "outcomes": dict(self.outcomes),
            "verdicts": dict(self.verdicts),
        }

    @property
    def set_aside(self) -> int:
        return self.outcomes["set_aside"]


@dataclass(frozen=True, slots=True)
class Part:
    """What became of one file: its counts, or the fault for which it could not be used.

    `done_before` tells that an earlier run had written it by the same judgement.
    """

    name: str
    fault: str | None = None
    done_before: bool = False
    rows: int = 0
    raised: int = 0
    outcomes: Mapping[str, int] = field(default_factory=dict)
    verdicts: Mapping[str, int] = field(default_factory=dict)

    @property
    def set_aside(self) -> int:
        return self.outcomes.get("set_aside", 0)


def named(counter: Counter[str], names: Iterable[str]) -> dict[str, int]:
    """All of these, in this order, those that never came too."""
    return {name: counter[name] for name in names}


def commonest(counter: Counter[str]) -> tuple[tuple[str, int], ...]:
    """Equal numbers in the order of their texts: the same rows give the same table."""
    return tuple(sorted(counter.items(), key=lambda item: (-item[1], item[0]))[:COMMONEST])
