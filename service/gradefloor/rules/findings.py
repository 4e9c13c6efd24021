"""What one rule says of one request, as it stands in an answer. Made at load wherever it can be."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Any, Final

import orjson
from pydantic import Field
from typing_extensions import TypedDict

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


class Changed(TypedDict):
    """One member of the request set to another value."""

    field: Annotated[str, Field(description="Dotted path in the request.", examples=["stone.clarity"])]
    value: Annotated[
        str | float | bool | list[str] | None, Field(description="Value to set; null takes the member out.")
    ]


class Finding(TypedDict):
    """What one rule says about one request."""

    rule: Annotated[str, Field(description="Id of the rule in its rule set.", examples=["clarity.steps"])]
    topic: Annotated[str, Field(description="What it is about.", examples=["clarity"])]
    verdict: Annotated[
        str, Field(description="pass, note, ask or fail; a note never changes the verdict.", examples=["ask"])
    ]
    observed: Annotated[str | None, Field(description="What the request states, in words; null if nothing.")]
    threshold: Annotated[str | None, Field(description="What the rule asks for, in words.")]
    reason: Annotated[str, Field(description="Why, as a jeweller would say it.")]
    remedy: Annotated[
        str | None, Field(description="Smallest change that would turn an ask or a fail, in words.")
    ]
    change: Annotated[
        list[Changed],
        Field(
            description="The same change as data: what would have to be different in the stone, the setting "
            "or what is known. Never something to write into a report of this stone. Empty where only "
            "something unsaid has to be said."
        ),
    ]
    source: Annotated[str, Field(description="Where the rule comes from and when that was last checked.")]
    disagreement: Annotated[str, Field(description="How far practitioners differ: low, medium or high.")]


@dataclass(frozen=True, slots=True)
class Stamp:
    """What of a rule stands in every finding it makes; `place` orders findings of one verdict."""

    rule: str
    topic: str
    because: str
    source: str
    disagreement: str
    place: int


_BEFORE_OBSERVED: Final = b'"observed":'


class Said:
    """One finding on its way into answers: where it comes among others, and what it asks about.

    Most are made once, at load or when they are first needed, and stand in many answers; so their bytes are
    kept, and nobody may change a finding that is shared.
    """

    __slots__ = ("asks", "finding", "halves", "place", "verdict", "written")

    finding: Finding
    # The finding as JSON, and its parts before and after what was observed.
    written: bytes
    halves: tuple[bytes, bytes]

    def __init__(self, place: int, finding: Finding, asks: tuple[str, ...]) -> None:
        self.place = place
        self.verdict = finding["verdict"]
        self.asks = asks
        self.finding = finding

    def __getattr__(self, name: str) -> Any:
        """Made when first asked for; then it stands in its slot."""
        made: Any
        if name == "written":
            made = orjson.dumps(self.finding)
        elif name == "halves":
            # What comes before it are ids of the rule set, which hold no quotation marks.
            head, at, rest = self.written.partition(_BEFORE_OBSERVED)
            made = head + at, rest[len(orjson.dumps(self.finding["observed"])) :]
        else:
            raise AttributeError(name)
        setattr(self, name, made)
        return made

    def observing(self, observed: str) -> "Said":
        """The same said of something else that was observed, where no other word of it follows from that."""
        return _Observing(self, observed)

    def changed(self, changes: Iterable[Changed]) -> "Said":
        """The same with other changes as data."""
        return Said(self.place, {**self.finding, "change": list(changes)}, self.asks)


class _Observing(Said):
    """A finding that is known but for what was observed; put together in the form that is asked for."""

    __slots__ = ("observed", "of")

    def __init__(self, of: Said, observed: str) -> None:
        # The rest is made when asked for.
        self.of = of
        self.observed = observed
        self.place = of.place
        self.verdict = of.verdict
        self.asks = of.asks

    def __getattr__(self, name: str) -> Any:
        if name == "written":
            head, tail = self.of.halves
            return head + orjson.dumps(self.observed) + tail
        if name == "finding":
            return {**self.of.finding, "observed": self.observed}
        return super().__getattr__(name)


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
