"""The frozen tables that a rule set becomes: all that judging needs, and nothing it has to work out again."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from gradefloor.rules.facts import Case, Issuer, Measure
from gradefloor.rules.format import Between, LookBand, Range
from gradefloor.trade.grades import Scale

ChangedTo = str | float | bool | list[str] | None

# How a verdict weighs: a note never changes it, and silence is no complaint.
SEVERITY: Final = {"silent": 0, "pass": 0, "note": 0, "ask": 1, "fail": 2}


@dataclass(frozen=True, slots=True)
class Stamp:
    """What of a rule stands in every finding it makes."""

    rule: str
    topic: str
    because: str
    source: str
    disagreement: str


@dataclass(frozen=True, slots=True)
class Change:
    """One member of a request set to another value; None takes it out."""

    field: str
    value: ChangedTo


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a guard says of one combination of facts."""

    verdict: str
    observed: str | None
    reason: str
    remedy: str | None = None
    changes: tuple[Change, ...] = ()
    asks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Band:
    """Carat band of a floor in points, and its two limits as ranks on the scale."""

    from_points: int
    below_points: int | None
    on_paper: int
    if_seen: int


@dataclass(frozen=True, slots=True)
class CompiledFloor:
    stamp: Stamp
    scale: Scale
    bands: tuple[Band, ...]

    def band(self, points: int) -> Band:
        for band in self.bands:
            if band.below_points is None or points < band.below_points:
                return band
        raise AssertionError("the last band of a compiled floor is open")


@dataclass(frozen=True, slots=True)
class CompiledSide:
    says: str
    ask: str
    settled_by: tuple[tuple[Callable[[Case], str], frozenset[str]], ...]

    def settled(self, case: Case) -> bool:
        return any(read(case) in values for read, values in self.settled_by)


@dataclass(frozen=True, slots=True)
class CompiledWindow:
    stamp: Stamp
    measure: Measure
    unstated: str
    threshold: str
    comfort: Between
    tolerated: Between
    low: CompiledSide
    high: CompiledSide


@dataclass(frozen=True, slots=True)
class CompiledLook:
    stamp: Stamp
    bands: tuple[LookBand, ...]

    def band(self, ratio: Decimal) -> LookBand:
        return next(band for band in self.bands if ratio in band)


@dataclass(frozen=True, slots=True)
class CompiledGuard:
    stamp: Stamp
    threshold: str | None
    ratio: Range | None
    reads: tuple[Callable[[Case], str], ...]
    quotes: tuple[Callable[[Case], str | None], ...]
    cells: Mapping[tuple[str, ...], Outcome]


@dataclass(frozen=True, slots=True)
class Floors:
    """The floors of one shape in one position and of one origin; color by tone of the head."""

    clarity: CompiledFloor
    color: Mapping[str, CompiledFloor]


@dataclass(frozen=True, slots=True)
class ShapeRules:
    """Everything that can apply to one shape.

    Floors by position and origin, windows by material, guards by material and position.
    """

    floors: Mapping[tuple[str, str], Floors]
    windows: Mapping[str, tuple[CompiledWindow, ...]]
    look: CompiledLook | None
    guards: Mapping[tuple[str, str], tuple[CompiledGuard, ...]]


@dataclass(frozen=True, slots=True)
class CompiledRules:
    """One version as the judge uses it."""

    name: str
    version: str
    effective: str
    digest: str
    shapes: Mapping[str, ShapeRules]
    questions: Mapping[str, str]
    issuers: Mapping[str, Issuer]
