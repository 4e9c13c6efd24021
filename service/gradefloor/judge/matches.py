"""A priced stone held against a wish: where it misses, by how much, and how many points it earns."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Final, NamedTuple

import orjson

from gradefloor.judge.differences import Side
from gradefloor.judge.sentences import with_article
from gradefloor.judge.shortlist_findings import Term
from gradefloor.judge.specimens import Bounds, Candidate, bounds, meant
from gradefloor.rules.findings import Finding
from gradefloor.trade.grades import CLARITY, COLOR, Scale
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.weights import faces_like_carat, laboratory_points
from gradefloor.trade.wishes import PricedStone, Wish

# How far a miss goes before a stone earns no point for what it misses: common practice, no source.
_SIZE_REACH: Final = Decimal("0.25")  # of the weight or length wished
_RATIO_REACH: Final = Decimal("0.15")
# What is further off than this is no longer the wish with one part bent: house limit, no source.
MOST_BENT: Final = Decimal("0.25")
# Facing up a fifth larger than usual earns all points, a fifth smaller none.
_SPREAD_REACH: Final = Decimal("0.20")
# A grade at the floor earns this much; each grade above it, and each below, so much more or less.
_AT_FLOOR: Final = Decimal("0.7")
_EACH_GRADE: Final = Decimal("0.1")
# A priority makes its merits count for more: the first most.
_FACTORS: Final = (Decimal(2), Decimal("1.5"), Decimal("1.25"))

_ZERO: Final = Decimal(0)
_ONE: Final = Decimal(1)


class Miss(NamedTuple):
    """A part of the wish that a stone does not meet; `off` is how far, as a share of what was wished.

    What is `final` was ruled out, and is never bent.
    """

    part: str
    says: str
    off: Decimal
    final: bool = False


@dataclass(frozen=True)
class Listed:
    """One stone of a list, judged, and the candidate that its shape makes under the wish."""

    index: int
    stone: PricedStone
    side: Side
    candidate: Candidate
    wish: Wish
    budget: Bounds | None
    median_price: Decimal | None

    @cached_property
    def key(self) -> bytes:
        """The stone's own content, so that nothing depends on where it stood in the list."""
        return orjson.dumps(self.stone.model_dump(exclude_none=True), option=orjson.OPT_SORT_KEYS)

    @cached_property
    def findings(self) -> list[Finding]:
        return self.side.evaluation["findings"]

    @cached_property
    def fails(self) -> list[Finding]:
        return [finding for finding in self.findings if finding["verdict"] == "fail"]

    @property
    def sound(self) -> bool:
        """Whether no rule fails it."""
        return not self.fails

    # Misses

    @cached_property
    def misses(self) -> list[Miss]:
        found = [
            self._shape(), *self._sizes(), self._look(), self._grade(COLOR, self.wish.color),
            self._grade(CLARITY, self.wish.clarity), self._origin(), self._price(),
        ]  # fmt: skip
        return [miss for miss in found if miss is not None]

    def _shape(self) -> Miss | None:
        wish, shape = self.wish, self.stone.shape
        if shape in meant(wish.refused_shapes or ()):
            return Miss("refused_shapes", f"{self._title}, which is not wanted", _ONE, final=True)
        if wish.shapes and shape not in meant(wish.shapes) and self.candidate.shape not in meant(wish.shapes):
            return Miss("shapes", f"{self._title} instead", MOST_BENT)
        if not wish.shapes and wish.tastes and self.candidate.suits <= 0:
            return Miss("tastes", f"{self._title}, which does not serve the tastes", MOST_BENT)
        return None

    @property
    def _title(self) -> str:
        return with_article(SHAPES[self.stone.shape].title)

    def _sizes(self) -> Iterator[Miss]:
        """Weight and length, whichever are wished: a stone may be heavy enough and too short."""
        for part, unit, wished, value in self._measured:
            if value is not None and (off := _off(wished, value)):
                yield Miss(part, f"{value} {unit}", off)

    @property
    def _measured(self) -> Iterator[tuple[str, str, Bounds, Decimal | None]]:
        length = None if self.side.sides_mm is None else self.side.sides_mm[0]
        for part, unit, value in (("carat", "ct", self._looks_like), ("length_mm", "mm long", length)):
            if (wished := bounds(getattr(self.wish, part))) is not None:
                yield part, unit, wished, value

    @property
    def _looks_like(self) -> Decimal | None:
        """Weight of a diamond; of a substitute, that of a diamond which looks as large."""
        if self.side.material == "diamond" or self.side.sides_mm is None:
            return self.side.carat
        return faces_like_carat(self.stone.shape, *self.side.sides_mm)

    @cached_property
    def size_off(self) -> Decimal | None:
        """How far outside the sizes wished, as a share of the nearer end; None where it cannot be told."""
        found = [_off(wished, value) for _, _, wished, value in self._measured if value is not None]
        return max(found, default=None)

    def _look(self) -> Miss | None:
        off = self.ratio_off
        outlined = self.wish.look or {"long", "broad"} & set(self.wish.tastes or ())
        if not outlined or not off:
            return None
        return Miss("look", f"length to width {self.side.ratio}", off)

    @cached_property
    def ratio_off(self) -> Decimal | None:
        return None if self.side.ratio is None else self.candidate.ratio_off(self.side.ratio)

    def _grade(self, scale: Scale, wished: str | None) -> Miss | None:
        span = self.side.span(scale)
        if wished is None or span is None or span.worst <= scale.rank(wished):
            return None
        grades = span.worst - scale.rank(wished)
        return Miss(scale.name, f"{scale.name} {scale.write(span)}", grades * _EACH_GRADE)

    def _origin(self) -> Miss | None:
        stone = self.stone
        if self.side.material not in (self.wish.materials or ("diamond",)):
            return Miss("materials", self.side.material.replace("_", " "), _ONE, final=True)
        if not self.wish.origins or stone.origin in self.wish.origins:
            return None
        if stone.origin is None:
            return Miss("origins", "of an origin that is not stated", _ZERO)
        return Miss("origins", stone.origin.replace("_", "-"), _ONE, final=True)

    def _price(self) -> Miss | None:
        if self.budget is None or self.side.price is None or self.side.price <= self.budget.high:
            return None
        off = self.side.price / self.budget.high - 1 if self.budget.high else _ONE
        price, left = self.side.price.normalize(), self.budget.high.normalize()
        return Miss("budget", f"{price:f} where {left:f} is left for the stone", off)

    @property
    def ruled_out(self) -> bool:
        """Whether it misses more than one part, or one that nobody bends, or one by too much."""
        return len(self.misses) > 1 or any(miss.final or miss.off > MOST_BENT for miss in self.misses)

    # Points

    @cached_property
    def terms(self) -> list[Term]:
        """Every merit that can be told of this stone; what nobody stated earns nothing and costs nothing."""
        hits = {
            "shape": self._shape_hit(),
            "size": None if self.size_off is None else _ONE - self.size_off / _SIZE_REACH,
            "look": None if self.ratio_off is None else _ONE - self.ratio_off / _RATIO_REACH,
            "color": self._grade_hit(COLOR, self.wish.color),
            "clarity": self._grade_hit(CLARITY, self.wish.clarity),
            "certainty": _ONE - Decimal(self.side.asks) / 3,
            "spread": self._spread_hit(),
            "proportions": self._proportions_hit(),
            "price": self._price_hit(),
        }
        counted = self.candidate.rules.advice.merits
        return [self._term(merit, hit) for merit, hit in hits.items() if hit is not None and merit in counted]

    def _term(self, merit: str, hit: Decimal) -> Term:
        stamp, rule = self.candidate.rules.advice.merits[merit]
        of = rule.points * self._factor(rule.priority)
        return {
            "merit": merit,
            "points": round(float(of * min(max(hit, _ZERO), _ONE)), 2),
            "of": round(float(of), 2),
            "rule": stamp.rule,
        }

    def _factor(self, priority: str | None) -> Decimal:
        place = next((i for i, p in enumerate(self.wish.priorities or ()) if p == priority), len(_FACTORS))
        return _FACTORS[place] if place < len(_FACTORS) else _ONE

    @cached_property
    def points(self) -> float:
        return round(sum(term["points"] for term in self.terms), 2)

    def _shape_hit(self) -> Decimal:
        tastes = self.candidate.tastes
        if not tastes:
            return _ONE if self._shape() is None else _ZERO
        return Decimal(self.candidate.suits) / (3 * len(tastes)) if self._shape() is None else _ZERO

    def _grade_hit(self, scale: Scale, wished: str | None) -> Decimal | None:
        span, points = self.side.span(scale), self._points
        if span is None or points is None or self.side.material != "diamond":
            return None
        floors = [floor for _, floor, _ in self.candidate.floors() if floor.scale is scale]
        ranks = [floor.band(points).on_paper for floor in floors] + ([scale.rank(wished)] if wished else [])
        return _AT_FLOOR + _EACH_GRADE * (min(ranks) - span.worst) if ranks else None

    @cached_property
    def _points(self) -> int | None:
        return None if self.stone.carat is None else laboratory_points(self.stone.carat)

    def _spread_hit(self) -> Decimal | None:
        if self.side.carat is None or self.side.sides_mm is None:
            return None
        like = faces_like_carat(self.stone.shape, *self.side.sides_mm)
        if like is None or self.side.material != "diamond":
            return None
        return (like / self.side.carat - _ONE) / (2 * _SPREAD_REACH) + _ONE / 2

    def _proportions_hit(self) -> Decimal | None:
        stated = [f["verdict"] for f in self.findings if f["topic"] == "proportions" and f["observed"]]
        return Decimal(stated.count("pass")) / len(stated) if stated else None

    def _price_hit(self) -> Decimal | None:
        """What is left of the budget; without one, if price matters, how far below twice the usual."""
        price, limit = self.side.price, None
        if self.budget is not None:
            limit = self.budget.high
        elif "price" in (self.wish.priorities or ()) and self.median_price is not None:
            limit = 2 * self.median_price
        return None if price is None or not limit else _ONE - price / limit

    def ranked(self) -> tuple[float, bool, Decimal, bytes]:
        """Sort key: most points, then the lower price, an unknown one last, then the content."""
        return -self.points, self.side.price is None, self.side.price or _ZERO, self.key


def _off(wished: Bounds, value: Decimal) -> Decimal:
    """How far outside, as a share of the nearer end."""
    return max(_ZERO, (wished.low - value) / wished.low, (value - wished.high) / wished.high)
