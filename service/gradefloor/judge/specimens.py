"""From a wish to the shapes that serve it, and for each the stone to look for: its ratio, size and grades."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property
from typing import Final, NamedTuple

from gradefloor.judge.findings import Evaluation
from gradefloor.judge.stones import evaluate
from gradefloor.rules.advice_format import Character
from gradefloor.rules.findings import Finding
from gradefloor.rules.format import LookBand
from gradefloor.rules.said import Stamp
from gradefloor.rules.tables import Band, CompiledFloor, CompiledRules
from gradefloor.trade.grades import CLARITY, COLOR, FINISH, Scale
from gradefloor.trade.shapes import CIRCULAR, SHAPES
from gradefloor.trade.stones import METAL_TONES, Context, Material, Origin, Stone
from gradefloor.trade.weights import Size, exact, faces_like_carat, laboratory_points, usual_size
from gradefloor.trade.wishes import Taste, Wish

_HUNDREDTH: Final = Decimal("0.01")

# How far a ratio runs where a look has no other end, and a weight or length where only one was named:
# common practice, no source.
OPEN_RATIO: Final = Decimal("0.15")
ABOUT: Final = Decimal("0.05")
# What is shown where no size is wished: one carat, because everybody can picture it.
NO_SIZE_CARAT: Final = Decimal(1)
# What a stone can weigh at all, in carat, where a wish is beyond it.
LIGHTEST: Final = Decimal("0.01")
HEAVIEST: Final = Decimal(1000)
# More shapes than this are a catalogue and no advice.
MOST_SHAPES: Final = 6


class Bounds(NamedTuple):
    """From and to, both inside."""

    low: Decimal
    high: Decimal

    @property
    def middle(self) -> Decimal:
        return ((self.low + self.high) / 2).quantize(_HUNDREDTH, ROUND_HALF_UP)


def bounds(numbers: list[float] | None) -> Bounds | None:
    """One number is about that; two are from and to, whichever way round."""
    if not numbers:
        return None
    low, high = exact(min(numbers)), exact(max(numbers))
    if len(numbers) == 1:
        low, high = low * (1 - ABOUT), high * (1 + ABOUT)
    return Bounds(low, high)


def context_of(wish: Wish) -> Context:
    """What a stone is judged for: where no warmth is to be seen, as in a white head whatever the metal."""
    metal = wish.metal
    if wish.warmth == "unwelcome" and (metal is None or METAL_TONES[metal] == "warm"):
        metal = "platinum"  # any white one; the conflict says what a warm head does
    return Context(jewelry="ring", position="center", metal=metal, wear=wish.wear)


@dataclass(frozen=True)
class Candidate:
    """One shape of one material and origin, held against a wish."""

    rules: CompiledRules
    wish: Wish
    shape: str
    material: Material
    origin: Origin | None
    stamp: Stamp
    character: Character

    @cached_property
    def tastes(self) -> dict[Taste, int]:
        """How well the shape serves each taste wished."""
        return {taste: self.character.serves.get(taste, 0) for taste in self.wish.tastes or ()}

    @cached_property
    def suits(self) -> int:
        return sum(self.tastes.values())

    @cached_property
    def looks(self) -> list[str]:
        """Looks of the outline to choose from."""
        known = {band.look for band in self._look_bands}
        if self.wish.look in known:
            return [str(self.wish.look)]
        for taste, looks in (("long", self.character.long_looks), ("broad", self.character.broad_looks)):
            if taste in (self.wish.tastes or ()) and looks:
                return list(looks)
        return list(self.character.looks)

    @property
    def _look_bands(self) -> list[LookBand]:
        look = self.rules.shapes[self.shape].look
        return [] if look is None else list(look.bands)

    @cached_property
    def _look_ends(self) -> tuple[Decimal | None, Decimal | None]:
        """First ratio inside the looks and first one above them; None where they have no end."""
        chosen = [band for band in self._look_bands if band.look in self.looks]
        return chosen[0].from_, chosen[-1].below

    @cached_property
    def ratio(self) -> Bounds:
        """Length to width to look for."""
        low, high = self._look_ends
        if low is None:
            axis = SHAPES[self.shape].length_is_axis and high is not None
            low = high - OPEN_RATIO if axis and high is not None else Decimal(1)
        return Bounds(low, low + OPEN_RATIO if high is None else high - _HUNDREDTH)

    def ratio_off(self, ratio: Decimal) -> Decimal:
        """How far a ratio lies outside the looks; an open look has no end."""
        low, below = self._look_ends
        under = Decimal(0) if low is None else low - ratio
        over = Decimal(0) if below is None else ratio - (below - _HUNDREDTH)
        return max(Decimal(0), under, over)

    @cached_property
    def middle_ratio(self) -> Decimal:
        return Decimal(1) if self.shape in CIRCULAR else self.ratio.middle

    @cached_property
    def carat(self) -> Bounds | None:
        """Weight wished, or the weight that faces up as long as is wished."""
        wished, length = bounds(self.wish.carat), bounds(self.wish.length_mm)
        if wished is None and length is not None:
            found = [faces_like_carat(self.shape, mm, mm / self.middle_ratio) for mm in length]
            wished = Bounds(*(NO_SIZE_CARAT if carat is None else carat for carat in found))
        return wished and Bounds(*(min(max(carat, LIGHTEST), HEAVIEST) for carat in wished))

    @cached_property
    def size_is_assumed(self) -> bool:
        return self.carat is None

    @cached_property
    def middle_carat(self) -> Decimal:
        return NO_SIZE_CARAT if self.carat is None else self.carat.middle

    @cached_property
    def depth_pct(self) -> Decimal | None:
        """Middle of the depth that looks best."""
        return self._middle_of("depth_pct")

    def _middle_of(self, measure: str) -> Decimal | None:
        for window in self.rules.shapes[self.shape].windows[self.material]:
            if window.measure.name == measure:
                return (window.comfort.from_ + window.comfort.to) / 2
        return None

    @cached_property
    def size(self) -> Size | None:
        """Millimetres to expect in the middle of everything; of a substitute, the nearest calibrated size."""
        usual = self.size_at(self.middle_carat)
        if usual is None or not self.calibrated_mm:
            return usual
        length, width = self.calibrated_mm[0]
        return Size(
            length, width, (usual.depth_mm * width / usual.width_mm).quantize(_HUNDREDTH, ROUND_HALF_UP)
        )

    def size_at(self, carat: Decimal) -> Size | None:
        """Millimetres of a weight at the middle ratio and depth.

        Of a substitute, too, the weight is that of a diamond that looks as large: nobody wishes one by its
        own weight.
        """
        return usual_size(self.shape, carat, self.middle_ratio, self.depth_pct)

    @cached_property
    def calibrated_mm(self) -> list[tuple[Decimal, Decimal]]:
        """Sizes in which a substitute is sold, the nearest to the size wished first."""
        found = self.rules.advice.assortments.get((self.material, self.shape))
        if found is None:
            return []
        middle = self.middle_carat

        def far(mm: tuple[Decimal, Decimal]) -> tuple[bool, Decimal, tuple[Decimal, Decimal]]:
            like = faces_like_carat(self.shape, *mm) or middle
            return self.ratio_off(mm[0] / mm[1]) > 0, abs(like - middle), mm

        return sorted(((length, width) for length, width in found[1].sizes_mm), key=far)

    # Grades

    @property
    def tone(self) -> str | None:
        """Color of the head to judge by."""
        metal = self.context.metal
        return METAL_TONES[metal] if metal else None

    def floors(self) -> Iterator[tuple[str | None, CompiledFloor, Band]]:
        """Every floor with each of its bands that the weight may fall into; color by tone of the head."""
        if self.material != "diamond":
            return
        floors = self.rules.shapes[self.shape].floors["center", self.origin or "natural"]
        tones = (self.tone,) if self.tone else tuple(floors.color)
        for tone, floor in ((None, floors.clarity), *((tone, floors.color[tone]) for tone in tones)):
            for band in floor.bands:
                if self._may_fall_into(band):
                    yield tone, floor, band

    def _may_fall_into(self, band: Band) -> bool:
        if self.carat is None:
            return True
        low, high = (laboratory_points(float(carat)) for carat in self.carat)
        return band.from_points <= high and (band.below_points is None or low < band.below_points)

    def grade(self, scale: Scale) -> str:
        """Lowest grade that is good enough on paper in the whole of the wish, or the one wished if better."""
        wished = self.wish.color if scale is COLOR else self.wish.clarity
        points = laboratory_points(float(self.middle_carat))
        ranks = [
            (floor.band(points) if self.size_is_assumed else band).on_paper
            for _, floor, band in self.floors()
            if floor.scale is scale
        ]
        ranks += [scale.rank(wished)] if wished else []
        return scale.grades[min(ranks)]

    @cached_property
    def stone(self) -> Stone:
        """The stone to look for, as a request would state it."""
        members: dict[str, object] = {"shape": self.shape, "material": self.material}
        if self.size is not None:
            length, width, depth = self.size
            members |= {"length_mm": float(length), "width_mm": float(width), "depth_mm": float(depth)}
        if (table := self._middle_of("table_pct")) is not None:
            members["table_pct"] = float(table)
        members |= {"girdle_min": "medium", "girdle_max": "slightly_thick", "treatments": []}
        if self.material == "diamond":
            members |= {
                "origin": self.origin or "natural",
                "carat": float(self.middle_carat),
                "color": self.grade(COLOR),
                "clarity": self.grade(CLARITY),
                "polish": FINISH.grades[0],
                "symmetry": FINISH.grades[0],
                "fluorescence": "none",
            }
            if self.shape == "round":
                members["cut_grade"] = FINISH.grades[0]
        return Stone.model_validate(members)

    @property
    def context(self) -> Context:
        return context_of(self.wish)


class Condition(NamedTuple):
    """Something about the stone to look for that only a look can tell, and the finding that hangs on it."""

    field: str
    value: object
    finding: Finding


@dataclass(frozen=True)
class Specimen:
    """A candidate judged like any stone: what has to be seen, and what is left after that."""

    candidate: Candidate
    conditions: tuple[Condition, ...]
    stone: Stone
    evaluation: Evaluation


def judge_specimen(candidate: Candidate, as_of: date) -> Specimen:
    """The stone to look for, evaluated; what only a look can tell becomes a condition, well answered."""
    stone, conditions = candidate.stone, list[Condition]()
    while True:
        answer = evaluate(candidate.rules, stone, candidate.context, as_of)
        found = [
            Condition(change["field"], change["value"], finding)
            for finding in answer["findings"]
            for change in finding["change"]
            if finding["verdict"] == "ask" and change["field"].startswith("stone.observations.")
        ]
        fresh = [one for one in found if one.field not in {known.field for known in conditions}]
        if not fresh:
            return Specimen(candidate, tuple(conditions), stone, answer)
        conditions += fresh[:1]
        stone = _observed(candidate.stone, conditions)


def _observed(stone: Stone, conditions: list[Condition]) -> Stone:
    seen = {one.field.removeprefix("stone.observations."): one.value for one in conditions}
    return Stone.model_validate({**stone.model_dump(exclude_none=True), "observations": seen})


# The shapes


def choose(rules: CompiledRules, wish: Wish) -> list[Candidate]:
    """Shapes that serve the wish, best first: those wished, else all that its tastes do not speak against."""
    refused = meant(wish.refused_shapes or ())
    wished = [shape for shape in meant(wish.shapes or ()) if shape in rules.advice.characters]
    named = wished if wish.shapes else list(rules.advice.characters)
    shapes = [shape for shape in named if shape not in refused]
    variants = [
        (material, origin)
        for material in dict.fromkeys(wish.materials or ("diamond",))
        for origin in (dict.fromkeys(wish.origins or ("natural",)) if material == "diamond" else (None,))
    ]
    found = [
        Candidate(rules, wish, shape, material, origin, *rules.advice.characters[shape])
        for shape in shapes
        for material, origin in variants
        if material == "diamond" or (material, shape) in rules.advice.assortments
    ]
    if not wish.shapes:
        found = [candidate for candidate in found if not wish.tastes or candidate.suits > 0]
    order = {shape: place for place, shape in enumerate(rules.advice.characters)}
    found.sort(key=lambda c: (-c.suits, shapes.index(c.shape) if wished else order[c.shape]))
    kept = list(dict.fromkeys(candidate.shape for candidate in found))[:MOST_SHAPES]
    return [candidate for candidate in found if candidate.shape in kept]


# Shapes named less closely than the rules speak of them, and what they may mean; the first is looked for.
_KINDS: Final = {"cushion": ("cushion_brilliant", "cushion_modified"), "octagon": ("asscher",)}


def meant(shapes: Iterable[str]) -> list[str]:
    """The shapes themselves, and the kinds of those that are named less closely."""
    return list(dict.fromkeys(kind for shape in shapes for kind in (shape, *_KINDS.get(shape, ()))))


def nearest_character(rules: CompiledRules, shape: str) -> str | None:
    """The shape itself, or the nearest that has a character."""
    return next((kind for kind in meant([shape]) if kind in rules.advice.characters), None)
