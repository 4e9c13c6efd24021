"""The frozen tables that a rule set becomes: all that judging needs, and nothing it has to work out again."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from gradefloor.rules.advice_tables import Advice
from gradefloor.rules.entries import Between, Range
from gradefloor.rules.facts import Case, Issuer
from gradefloor.rules.findings import Said, Stamp
from gradefloor.rules.format import LookBand
from gradefloor.rules.listing_compile import Captions
from gradefloor.rules.measures import Measure
from gradefloor.rules.ring_tables import RingTables
from gradefloor.rules.wording_tables import Wording
from gradefloor.trade.grades import Scale


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
    """What is said of every combination of the facts it reads; None where it is silent."""

    ratio: Range | None
    reads: tuple[Callable[[Case], str], ...]
    quotes: tuple[Callable[[Case], str | None], ...]
    cells: Mapping[tuple[str, ...], Said | None]


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
    """One version as the judge uses it. One that is about wording has no shapes."""

    name: str
    version: str
    effective: str
    digest: str
    rules: frozenset[str]
    shapes: Mapping[str, ShapeRules] = field(repr=False)
    questions: Mapping[str, str]
    issuers: Mapping[str, Issuer]
    rings: RingTables = field(repr=False)
    advice: Advice = field(repr=False)
    captions: Captions = field(repr=False)
    wording: Wording = field(repr=False)
