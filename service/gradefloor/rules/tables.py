"""The frozen tables that a rule set becomes: all that judging needs, and nothing it has to work out again."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from operator import itemgetter

from gradefloor.rules.advice_tables import Advice
from gradefloor.rules.entries import Between, Range
from gradefloor.rules.facts import Case, Issuer
from gradefloor.rules.format import LookBand
from gradefloor.rules.listing_compile import Captions
from gradefloor.rules.measures import Measure
from gradefloor.rules.ring_tables import RingTables
from gradefloor.rules.said import Said, Stamp
from gradefloor.rules.wording_tables import Wording
from gradefloor.trade.grades import Scale


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """Carat band of a floor in points, and its two limits as ranks on the scale."""

    from_points: int
    below_points: int | None
    on_paper: int
    if_seen: int


@dataclass(frozen=True, slots=True, eq=False)
class CompiledFloor:
    """Floors and their bands are told apart by what they are, not by what they hold: they key memos."""

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
    """One end of a window.

    `noted` is said beyond comfort, `cleared` beyond what is tolerated if whoever looked did not find it so,
    else `asked`; all without the value that is observed. What would bring some measures inside hangs on the
    request: their changes are added then.
    """

    edge: Decimal
    settled_by: tuple[tuple[Callable[[Case], str], frozenset[str]], ...]
    noted: Said
    cleared: Said
    asked: Said

    def settled(self, case: Case) -> bool:
        return any(read(case) in values for read, values in self.settled_by)


@dataclass(frozen=True, slots=True)
class CompiledWindow:
    """A window over a measure.

    `inside` is said in comfort, without the value observed; `unstated` where there is no value, if anything.
    """

    stamp: Stamp
    measure: Measure
    unstated: Said | None
    inside: Said
    comfort: Between
    tolerated: Between
    low: CompiledSide
    high: CompiledSide


@dataclass(frozen=True, slots=True, eq=False)
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

    @property
    def is_plain(self) -> bool:
        """Whether its cells are all it needs: it speaks of every ratio, and repeats nothing."""
        return self.ratio is None and not self.quotes


Pick = Callable[[tuple[str, ...]], tuple[str, ...]]


class Guards:
    """Guards that apply together, so that a fact that several of them read is read once.

    `reads` are the facts of all. Side by side, `picks` take the values of a guard's own facts from those, and
    `cells` are what it says of them. `conditional` are guards that speak of some ratios only, or that quote
    the request.
    """

    __slots__ = ("cells", "conditional", "every", "picks", "reads")

    def __init__(self, guards: Sequence[CompiledGuard]) -> None:
        self.every = tuple(guards)
        self.reads = tuple(dict.fromkeys(read for guard in guards for read in guard.reads))
        places = {read: place for place, read in enumerate(self.reads)}
        picked = [(_picking([places[read] for read in guard.reads]), guard) for guard in guards]
        self.picks = tuple(pick for pick, guard in picked if guard.is_plain)
        self.cells = tuple(guard.cells for guard in guards if guard.is_plain)
        self.conditional = tuple(pair for pair in picked if not pair[1].is_plain)


def _picking(places: Sequence[int]) -> Pick:
    """The values at these places, as a tuple whatever their number."""
    if len(places) > 1:
        return itemgetter(*places)
    return itemgetter(slice(places[0], places[0] + 1) if places else slice(0))


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
    guards: Mapping[tuple[str, str], Guards]


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
