"""How two stones differ: what an eye can see apart, face up, and what only paper shows."""

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from functools import cached_property
from typing import Final, NamedTuple

from gradefloor.judge.findings import Evaluation
from gradefloor.judge.stones import evaluate
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.figures import length_and_width, ratio
from gradefloor.trade.grades import CLARITY, COLOR, FINISH, FLUORESCENCE, Scale, Span
from gradefloor.trade.outlines import face_up_mm2
from gradefloor.trade.stones import METAL_TONES, Context, Stone
from gradefloor.trade.weights import exact, faces_like_carat
from gradefloor.trade.wishes import PricedStone

_TENTH: Final = Decimal("0.1")

# What somebody saw is told apart by whoever looks.
_OBSERVED: Final = ("bow_tie", "windowing", "haze", "tint")
_ON_PAPER: Final[dict[str, Scale]] = {
    "polish": FINISH, "symmetry": FINISH, "cut_grade": FINISH, "fluorescence": FLUORESCENCE,
}  # fmt: skip
_KINDS: Final = {
    "material": "Weight, fire and hardness differ: compare them by millimetres, and side by side in hand.",
    "origin": "No eye tells them apart; a laboratory does, and they are worth different sums.",
}


@dataclass(frozen=True)
class Side:
    """One of the stones compared, judged, with what follows from it."""

    stone: Stone
    evaluation: Evaluation
    price: Decimal | None = None

    @cached_property
    def sides_mm(self) -> tuple[Decimal, Decimal] | None:
        return length_and_width(self.stone)

    @cached_property
    def face_up_mm2(self) -> Decimal | None:
        if self.sides_mm is None:
            return None
        corner = None if self.stone.corner_mm is None else exact(self.stone.corner_mm)
        # What rounds to nothing is a slip of the pen, and no size.
        return face_up_mm2(self.stone.shape, *self.sides_mm, corner) or None

    @cached_property
    def ratio(self) -> Decimal | None:
        return ratio(self.stone)

    @property
    def material(self) -> str:
        return self.stone.material or "diamond"

    @cached_property
    def carat(self) -> Decimal | None:
        return None if self.stone.carat is None else exact(self.stone.carat)

    @cached_property
    def hidden_carat(self) -> Decimal | None:
        """Weight that does not show: stated less that of a usual stone that faces up as large."""
        if self.carat is None or self.sides_mm is None or self.material != "diamond":
            return None
        like = faces_like_carat(self.stone.shape, *self.sides_mm)
        return None if like is None else self.carat - like

    def span(self, scale: Scale) -> Span | None:
        text = self.stone.color if scale is COLOR else self.stone.clarity
        return None if text is None else scale.span(text)

    def verdict_on(self, topic: str) -> str | None:
        """Worst verdict among the findings about a topic."""
        return next((f["verdict"] for f in self.evaluation["findings"] if f["topic"] == topic), None)

    @property
    def fails(self) -> int:
        return sum(finding["verdict"] == "fail" for finding in self.evaluation["findings"])

    @property
    def asks(self) -> int:
        return sum(finding["verdict"] == "ask" for finding in self.evaluation["findings"])


def judge_side(rules: CompiledRules, stone: PricedStone, context: Context | None, as_of: date) -> Side:
    """A stone with its price, judged."""
    price = None if stone.price is None else exact(stone.price)
    return Side(stone, evaluate(rules, stone, context, as_of), price)


class Difference(NamedTuple):
    """One thing in which two stones differ. `better` is 0 or 1, whichever most would prefer; None: taste."""

    about: str
    values: tuple[str, str]
    visible: bool
    says: str
    rule: str | None
    better: int | None
    steps: Decimal | None = None


def differences(rules: CompiledRules, one: Side, other: Side, context: Context | None) -> list[Difference]:
    """Everything stated of both in which they differ, the most visible things first."""
    found = [
        *(_kind(name, one, other) for name in _KINDS),
        _area(rules, one, other),
        _ratio(rules, one, other),
        _color(rules, one, other, context),
        _clarity(rules, one, other),
        *(_observed(name, one, other) for name in _OBSERVED),
        _weight(one, other),
        _depth(one, other),
        *(_paper(name, scale, one, other) for name, scale in _ON_PAPER.items()),
        _verdicts(one, other),
    ]
    return sorted((part for part in found if part is not None), key=lambda d: not d.visible)


def _smaller(one: Decimal, other: Decimal) -> int:
    return 0 if one < other else 1


def _area(rules: CompiledRules, one: Side, other: Side) -> Difference | None:
    a, b = one.face_up_mm2, other.face_up_mm2
    if a is None or b is None or a == b:
        return None
    rule, least = _perceived(rules, one, other, "area_pct")
    pct = (abs(a - b) * 100 / min(a, b)).quantize(_TENTH, ROUND_HALF_UP)
    visible = pct >= least
    says = f"{pct} % more face-up area: {'seen' if visible else 'hardly seen'} side by side."
    values = (f"{a.quantize(_TENTH, ROUND_HALF_UP)} mm²", f"{b.quantize(_TENTH, ROUND_HALF_UP)} mm²")
    return Difference("spread", values, visible, says, rule, 1 - _smaller(a, b), abs(a - b))


def _perceived(rules: CompiledRules, one: Side, other: Side, member: str) -> tuple[str, Decimal]:
    """The rule whose threshold decides: of two shapes, the larger one."""
    found = [rules.advice.perceptions[side.stone.shape] for side in (one, other)]
    least, rule = max((Decimal(getattr(perception, member)), stamp.rule) for stamp, perception in found)
    return rule, least


def _ratio(rules: CompiledRules, one: Side, other: Side) -> Difference | None:
    a, b = one.ratio, other.ratio
    if a is None or b is None or a == b:
        return None
    rule, least = _perceived(rules, one, other, "ratio")
    visible = abs(a - b) >= least
    seen = "and seen" if visible else "hardly seen"
    says = f"Length to width differs by {abs(a - b)}: a matter of taste, {seen}."
    return Difference("ratio", (str(a), str(b)), visible, says, rule, None)


def _color(rules: CompiledRules, one: Side, other: Side, context: Context | None) -> Difference | None:
    """Letters weighed by how many of them show in each shape: three in steps are fewer than in a radiant."""
    a, b = one.span(COLOR), other.span(COLOR)
    if a is None or b is None or sum(a) == sum(b):
        return None  # the same, or one within the other: nobody can say which is whiter
    warm = context is not None and context.metal is not None and METAL_TONES[context.metal] == "warm"
    shades = [
        [Fraction(rank, _letters(rules, side, warm=warm)) for rank in span]
        for side, span in ((one, a), (other, b))
    ]
    (best, worst), (best_other, worst_other) = shades
    visible = max(best_other - worst, best - worst_other) >= 1
    ends = [sum(shade) for shade in shades]
    whiter = None if ends[0] == ends[1] else 0 if ends[0] < ends[1] else 1
    letters = abs(Decimal(sum(a) - sum(b)) / 2)
    says = f"{letters.normalize():f} letter{'' if letters == 1 else 's'} of color: "
    says += "seen face up side by side." if visible else "close face up; the report tells them apart."
    rule = max(rules.advice.perceptions[side.stone.shape][0].rule for side in (one, other))
    # A letter has a price only where the one that looks whiter is so on paper, too.
    higher = 0 if sum(a) < sum(b) else 1
    steps = letters if whiter == higher else None
    return Difference("color", (COLOR.write(a), COLOR.write(b)), visible, says, rule, whiter, steps)


def _letters(rules: CompiledRules, side: Side, *, warm: bool) -> int:
    perception = rules.advice.perceptions[side.stone.shape][1]
    return perception.color_letters + (perception.warm_head_adds if warm else 0)


def _clarity(rules: CompiledRules, one: Side, other: Side) -> Difference | None:
    """A grade that is good enough looks like every better one; only a doubtful one may be seen."""
    a, b = one.span(CLARITY), other.span(CLARITY)
    if a is None or b is None or sum(a) == sum(b):
        return None
    cleaner = 0 if sum(a) < sum(b) else 1
    worse, better = (one, other) if cleaner else (other, one)
    grades = abs(Decimal(sum(a) - sum(b)) / 2)
    stamp, perception = rules.advice.perceptions[worse.stone.shape]
    observations = worse.stone.observations
    clean = observations.eye_clean if observations is not None else None
    safe = worse.verdict_on("clarity") == "pass"
    visible = clean is False or (clean is None and not safe and grades >= perception.clarity_grades)
    if visible and clean is None:
        word = CLARITY.write(worse.span(CLARITY) or a)
        says = (
            f"{word} may show without a lens where {CLARITY.write(better.span(CLARITY) or b)} does not: look."
        )
    elif visible:
        says = "Whoever looked saw something in the lower grade."
    else:
        says = "Both are clean to the eye by their grades, or were seen so; a lens tells them apart."
    return Difference(
        "clarity", (CLARITY.write(a), CLARITY.write(b)), visible, says, stamp.rule, cleaner, grades
    )


def _observed(name: str, one: Side, other: Side) -> Difference | None:
    a, b = (getattr(side.stone.observations, name, None) for side in (one, other))
    if a is None or b is None or a == b:
        return None
    return Difference(
        name, (a, b), visible=True, says="Somebody saw it.", rule=None, better=_none_first(a, b)
    )


def _none_first(a: str, b: str) -> int | None:
    order = ("none", "slight", "moderate", "prominent", "strong", "severe")
    if a in order and b in order:
        return 0 if order.index(a) < order.index(b) else 1
    return 0 if a == "none" else 1 if b == "none" else None


def _weight(one: Side, other: Side) -> Difference | None:
    a, b = one.carat, other.carat
    if a is None or b is None or a == b or one.material != other.material:
        return None
    says = f"{abs(a - b)} ct: a scale tells, an eye sees the millimetres."
    return Difference("carat", (f"{a} ct", f"{b} ct"), False, says, None, None)


def _depth(one: Side, other: Side) -> Difference | None:
    a, b = one.hidden_carat, other.hidden_carat
    if a is None or b is None or a == b:
        return None
    values = tuple(f"{'+' if hidden > 0 else ''}{hidden} ct" for hidden in (a, b))
    says = (
        "Weight beyond (+) or short of (-) that of a usual stone which faces up as large; what is beyond "
        "it is carried in depth or girdle, and not seen."
    )
    return Difference("hidden_weight", (values[0], values[1]), False, says, None, _smaller(a, b))


def _paper(name: str, scale: Scale, one: Side, other: Side) -> Difference | None:
    a, b = getattr(one.stone, name), getattr(other.stone, name)
    if a is None or b is None or a == b:
        return None
    says = {
        "fluorescence": "Seldom seen in daylight, and no fault of itself; ask about haze where it is strong.",
        "cut_grade": "Brightness is what shows of it: look at both in the same light.",
    }.get(name, "Told apart with a lens.")
    better = None if name == "fluorescence" else (0 if scale.rank(a) < scale.rank(b) else 1)
    return Difference(name, (a, b), False, says, None, better)


def _kind(name: str, one: Side, other: Side) -> Difference | None:
    """Material and origin; a material that is not stated is read as diamond, an origin is not read as any."""
    usual = "diamond" if name == "material" else "not_stated"
    a, b = (getattr(side.stone, name) or usual for side in (one, other))
    if a == b or (name == "origin" and one.material != other.material):
        return None
    values = (a.replace("_", " "), b.replace("_", " "))
    return Difference(name, values, name == "material", _KINDS[name], None, None)


def _verdicts(one: Side, other: Side) -> Difference | None:
    """Below a floor or not; else how much has to be learned."""
    a, b = one.fails, other.fails
    if bool(a) != bool(b):
        values = ("below a floor" if a else "above its floors", "below a floor" if b else "above its floors")
        says = "One of them is below a floor: its findings say which, and what would mend it."
        return Difference("floor", values, False, says, None, 1 if a else 0)
    if one.asks == other.asks:
        return None
    values = (f"{one.asks} open", f"{other.asks} open")
    says = "Of one of them more has to be learned before anybody can recommend it."
    return Difference("certainty", values, False, says, None, 0 if one.asks < other.asks else 1)
