"""What to order beside a center: for each side shape, millimetres that the rules have nothing against."""

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import ROUND_DOWN, ROUND_HALF_UP, ROUND_UP, Decimal
from typing import Final, NamedTuple

from gradefloor.judge.bill import side_letters
from gradefloor.judge.ring_findings import Refused, SideStoneWindow
from gradefloor.judge.rings import judge_ring
from gradefloor.rules.ring_tables import CompiledSideWindow
from gradefloor.rules.said import SEVERITY, Said
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.assembly import FLAT_ENDED, Ring, faceting
from gradefloor.trade.settings import FacetStyle, SideStone
from gradefloor.trade.shapes import CIRCULAR, ShapeName
from gradefloor.trade.weights import side_estimate

MOST: Final = 5
# Two stones of a pair may differ by so much at most; half of it is better: from memory.
PAIR_TOLERANCE_MM: Final = Decimal("0.10")
_HUNDREDTH: Final = Decimal("0.01")
# A remedy may uncover another one, but each only ever makes the stones smaller.
_ROUNDS: Final = 4

Window = tuple[Decimal, Decimal]


class _Offer(NamedTuple):
    place: int
    said: list[Said]
    window: SideStoneWindow

    @property
    def rank(self) -> tuple[int, int]:
        return SEVERITY[self.window["verdict"]], self.place


def windows(
    rules: CompiledRules, ring: Ring, wanted: Sequence[ShapeName] | None, as_of: date
) -> tuple[list[SideStoneWindow], list[Refused]]:
    """Windows to order, best first, and the shapes for which there is nothing to order.

    Without wishes the shapes that suit the center best are tried, in order, until five fit. Nothing is
    offered beside a center whose length and width are not known.
    """
    if ring.measures_mm is None:
        return [], []
    companions = rules.rings.centers[ring.center.shape].companions
    best = companions.best if companions else ()
    offers: list[_Offer] = []
    refused: list[Refused] = []
    for place, shape in enumerate(wanted or best):
        found = _offer(rules, ring, shape, place, as_of)
        if isinstance(found, str):
            refused.append({"shape": shape, "reason": found})
        else:
            offers.append(found)
        if len(offers) == MOST:
            break
    ordered = sorted(offers, key=lambda offer: offer.rank)
    return [offer.window for offer in ordered], refused


def _offer(rules: CompiledRules, ring: Ring, shape: str, place: int, as_of: date) -> _Offer | str:
    """The better of both facetings, or why there is none."""
    window = rules.rings.side_windows.get(shape)
    if window is None:
        return "No rule says how large this shape should be beside a center."
    tried = [_fit(rules, ring, window, _stone(shape, family), place, as_of) for family in _families(shape)]
    offers = [found for found in tried if isinstance(found, _Offer)]
    if not offers:
        return next(found for found in tried if isinstance(found, str))
    return min(offers, key=lambda offer: offer.rank)


def _families(shape: str) -> tuple[FacetStyle, ...]:
    known = faceting(SideStone.model_validate({"shape": shape}))
    return ("step", "brilliant") if known is None else (known,)


def _stone(shape: str, family: FacetStyle) -> SideStone:
    return SideStone.model_validate({"shape": shape, "facet_family": family})


def _fit(  # noqa: PLR0913, PLR0917 - a candidate and all it is held against
    rules: CompiledRules, ring: Ring, window: CompiledSideWindow, kind: SideStone, place: int, as_of: date
) -> _Offer | str:
    """The largest window whose corners the rules have nothing against."""
    lengths, widths = _wanted(ring, window, kind)
    if lengths[0] > lengths[1]:
        return f"The center's straight side, {ring.flank_mm} mm, is too short for it."
    small, large = _pair(ring, kind, lengths[0], widths[0]), _pair(ring, kind, lengths[1], widths[1])
    large = _settle(rules, large, as_of)
    stone = large.side_stones[0]
    most = _sizes(stone)
    if most[0] < lengths[0] or most[1] < widths[0]:
        against = _of_sides(judge_ring(rules, small, as_of))
        worst = next((one for one in against if SEVERITY[one.verdict]), None)
        return worst.finding["reason"] if worst else "It finds no room beside this center on this finger."
    middle = [(low + high) / 2 for low, high in zip((lengths[0], widths[0]), most, strict=True)]
    length, width = (size.quantize(_HUNDREDTH, ROUND_HALF_UP) for size in middle)
    pair = _pair(ring, kind, length, width)
    said = _of_sides(judge_ring(rules, pair, as_of))
    worst_finding = said[0].finding
    verdict = worst_finding["verdict"]
    if verdict == "fail":
        return worst_finding["reason"]
    told = [one.finding for one in said if one.verdict != "pass"]
    suits = {window.stamp.rule, *_companion_rule(rules, ring)}
    told = told or [one.finding for one in said if one.finding["rule"] in suits]
    found: SideStoneWindow = {
        "shape": kind.shape,
        "facet_family": str(kind.facet_family),
        "length_mm": [float(lengths[0]), float(most[0])],
        "width_mm": [float(widths[0]), float(most[1])],
        "pair_tolerance_mm": float(PAIR_TOLERANCE_MM),
        "verdict": "pass" if SEVERITY[verdict] == 0 else verdict,
        "reason": " ".join(dict.fromkeys(finding["reason"] for finding in told)),
        "rules": list(dict.fromkeys((window.stamp.rule, *(finding["rule"] for finding in told)))),
    }
    depth = min(length, width) * window.rule.depth_pct / 100
    carat = side_estimate(kind.shape, str(kind.facet_family), length, width, depth)
    if carat is not None:
        found["carat_each"] = float(carat)
    if (letters := side_letters(rules, pair)) is not None:
        found["color"] = letters
    return _Offer(place, said, found)


def _wanted(ring: Ring, window: CompiledSideWindow, kind: SideStone) -> tuple[Window, Window]:
    """Length and width as the rule likes them, the length no longer than a straight flank."""
    assert ring.measures_mm is not None  # noqa: S101 - the request has length and width
    rule = window.rule
    extent = ring.measures_mm[0 if rule.of == "along" else 1]
    low = (extent * rule.comfort.from_ / 100).quantize(_HUNDREDTH, ROUND_UP)
    high = (extent * rule.comfort.to / 100).quantize(_HUNDREDTH, ROUND_DOWN)
    if kind.shape in FLAT_ENDED and ring.flank_mm is not None:
        high = min(high, ring.flank_mm)
    middle = (low + high) / 2
    reach = (
        (middle * rule.reach.from_ / 100).quantize(_HUNDREDTH, ROUND_UP),
        (middle * rule.reach.to / 100).quantize(_HUNDREDTH, ROUND_DOWN),
    )
    # A circle has one size only.
    return ((low, high), (low, high)) if rule.reach.from_ == rule.reach.to else ((low, high), reach)


def _pair(ring: Ring, kind: SideStone, length: Decimal, width: Decimal) -> Ring:
    stone = kind.model_copy(update={"length_mm": float(length), "width_mm": float(width)})
    return ring.but(side_stones=(stone, stone))


def _sizes(stone: SideStone) -> tuple[Decimal, Decimal]:
    return Decimal(repr(stone.length_mm)), Decimal(repr(stone.width_mm))


def _settle(rules: CompiledRules, ring: Ring, as_of: date) -> Ring:
    """The same pair, made smaller as far as the rules' own remedies say."""
    for _ in range(_ROUNDS):
        changes = list(_shrinking(ring, judge_ring(rules, ring, as_of)))
        if not changes:
            break
        stone = ring.side_stones[0]
        sizes = {name: min(value for field, value in changes if field == name) for name, _ in changes}
        if stone.shape in CIRCULAR:
            sizes = dict.fromkeys(("length_mm", "width_mm"), min(sizes.values()))
        smaller = stone.model_copy(update=sizes)
        ring = ring.but(side_stones=(smaller, smaller))
    return ring


def _shrinking(ring: Ring, said: Sequence[Said]) -> Iterator[tuple[str, float]]:
    stone = ring.side_stones[0]
    for one in said:
        for change in one.finding["change"]:
            name = change["field"].rpartition(".")[2]
            value = change["value"]
            if change["field"].startswith("side_stones.") and name in {"length_mm", "width_mm"}:
                now = getattr(stone, name)
                if isinstance(value, int | float) and value < now:
                    yield name, float(value)


def _companion_rule(rules: CompiledRules, ring: Ring) -> tuple[str, ...]:
    companions = rules.rings.centers[ring.center.shape].companions
    return () if companions is None else (companions.stamp.rule,)


def _of_sides(said: Sequence[Said]) -> list[Said]:
    return [one for one in said if one.finding["topic"] == "sides"]
