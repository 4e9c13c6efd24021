"""Two to four stones with different roles out of many. Additive and open: every term is in the answer."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from statistics import median
from typing import Final

from gradefloor.judge import clashes
from gradefloor.judge.advice_findings import Conflict
from gradefloor.judge.budgets import reckon
from gradefloor.judge.differences import Difference, Side, differences, judge_side
from gradefloor.judge.matches import Listed
from gradefloor.judge.price_findings import PricePlace
from gradefloor.judge.shortlist_findings import NearMiss, Pick, Shortlist, Tradeoff
from gradefloor.judge.specimens import Candidate, choose, context_of, nearest_character
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.grades import CLARITY, COLOR
from gradefloor.trade.stones import Context
from gradefloor.trade.wishes import PricedStone, Wish

# A stone is only worth another role if an eye or a purse would notice: common practice, no source.
_LARGER: Final = Decimal("1.03")
_CHEAPER: Final = Decimal("0.95")
MOST_NEAR: Final = 5


@dataclass(frozen=True, slots=True)
class Judged:
    """A stone of the list as it was read, its place and its evaluation."""

    index: int
    stone: PricedStone
    side: Side


def judge(rules: CompiledRules, index: int, stone: PricedStone, wish: Wish, as_of: date) -> Judged:
    """One stone of a list, judged as the center that is wished."""
    return Judged(index, stone, judge_side(rules, stone, context_of(wish), as_of))


def hold_against(rules: CompiledRules, wish: Wish, judged: Sequence[Judged]) -> list[Listed]:
    """Stones of shapes that the rules advise about, held against the wish; in the order of their content."""
    budget = None if wish.budget is None else reckon(wish.budget).left
    prices = [one.side.price for one in judged if one.side.price is not None]
    middle = median(sorted(prices)) if prices else None
    candidates: dict[tuple[str, object, object], Candidate] = {}
    rows: list[Listed] = []
    for one in judged:
        stone = one.stone
        shape, material = nearest_character(rules, stone.shape), stone.material or "diamond"
        if shape is None:
            continue
        key = (shape, material, stone.origin)
        if key not in candidates:
            character = rules.advice.characters[shape]
            candidates[key] = Candidate(rules, wish, shape, material, stone.origin, *character)
        rows.append(Listed(one.index, stone, one.side, candidates[key], wish, budget, middle))
    return sorted(rows, key=lambda row: row.key)


def shortlist(
    rules: CompiledRules, wish: Wish, judged: Sequence[Judged], unreadable: int, currency: str
) -> Shortlist:
    """Stones with different roles, what each gains and gives up, and everything that was left out.

    `currency` is that of the prices; a budget in another one is told as a conflict and not held against them.
    """
    mixed: list[Conflict] = []
    if wish.budget is not None and wish.budget.currency not in {None, currency}:
        mixed.append(clashes.of_currency())
        wish = wish.model_copy(update={"budget": None})
    rows = hold_against(rules, wish, judged)
    context = context_of(wish)
    # Arrays take a sixth of the memory of a process that only judges stones: nobody else loads them.
    from gradefloor.judge.prices import Priced, place_prices  # noqa: PLC0415

    fit, places = place_prices([Priced(one.index, one.stone, one.stone.price) for one in judged])
    sound = [row for row in rows if row.sound]
    met = [row for row in sound if not row.misses]
    bending = [row for row in sound if row.misses and not row.ruled_out]
    kept = _kept(met)
    chosen = _choose_roles(kept, bending)
    first = chosen[0][1] if chosen else None
    picks = [
        _pick(rules, role, also, row, first, context, places)
        for role, row, also in chosen
        if first is not None
    ]
    taken = {row.index for _, row, _ in chosen}
    left = [row for row in bending if row.index not in taken]
    return {
        "picks": picks,
        "near_misses": _near_misses(rows, left),
        "conflicts": clashes.joined([*mixed, *clashes.of_candidates(rules, wish, choose(rules, wish))]),
        "dropped": {
            "unreadable": unreadable,
            "below_floor": sum(bool(row.fails) for row in rows),
            "not_advised": len(judged) - len(rows),
            "beside_the_wish": sum(row.ruled_out for row in sound),
            "bends_one": len(left),
            "dominated": len(met) - len(kept),
            "not_picked": sum(row.index not in taken for row in kept),
        },
        "price_fit": fit,
    }


# Dominance


def _kept(rows: Sequence[Listed]) -> list[Listed]:
    """Stones that no other of their kind beats in everything. One with an unknown value is never compared."""
    kinds: dict[tuple[object, ...], list[Listed]] = {}
    kept: list[Listed] = []
    for row in rows:
        if _point(row) is None:
            kept.append(row)
            continue
        report = row.stone.report
        issuer = report.issuer.casefold() if report and report.issuer else None
        kind = (row.stone.shape, row.side.material, row.stone.origin, issuer)
        kinds.setdefault(kind, []).append(row)
    for members in kinds.values():
        from gradefloor.judge.dominance import undominated  # noqa: PLC0415 - as above

        beaten = undominated([_point(row) or () for row in members])
        kept += [row for row, by in zip(members, beaten, strict=True) if by is None]
    return kept


def _point(row: Listed) -> tuple[float, ...] | None:
    """Price, spread, color, clarity, certainty and points, each better when larger."""
    side = row.side
    color, clarity = side.span(COLOR), side.span(CLARITY)
    if side.price is None or side.face_up_mm2 is None or color is None or clarity is None:
        return None
    return (
        -float(side.price), float(side.face_up_mm2), -color.worst, -clarity.worst, -side.asks,
        _fit_of(row),
    )  # fmt: skip


def _fit_of(row: Listed) -> float:
    """Points for what is taste and not money: a stone that meets the wish better is not beaten."""
    return sum(
        term["points"] for term in row.terms if term["merit"] in {"shape", "size", "look", "proportions"}
    )


# Roles

_Chosen = tuple[str, Listed, list[str]]


def _choose_roles(met: Sequence[Listed], bending: Sequence[Listed]) -> list[_Chosen]:
    """The closest first; then each other role, if a stone fills it that was not chosen yet.

    Where no stone meets the wish, the closest is the one that misses it by least. All are of the origin of
    the first: mined and made are never shown in one list.
    """
    pool = sorted(met, key=Listed.ranked) or sorted(bending, key=_by_miss)
    if not pool:
        return []
    first = pool[0]
    met, bending, pool = ([row for row in rows if _alike(row, first)] for rows in (met, bending, pool))
    chosen: list[_Chosen] = [("closest", first, [])]
    for role, found in (
        ("most_spread", _most_spread(met)),
        ("most_for_money", _most_for_money(met)),
    ):
        if found is None:
            continue
        same = next((also for _, row, also in chosen if row.index == found.index), None)
        if same is not None:
            same.append(role)
        elif _worth_it(role, first, found):
            chosen.append((role, found, []))
    if (bent := _bends([row for _, row, _ in chosen], bending)) is not None:
        chosen.append(("bends_a_wish", bent, []))
    if len(chosen) == 1 and len(pool) > 1:
        chosen.append(("runner_up", pool[1], []))
    return chosen


def _by_miss(row: Listed) -> tuple[Decimal, tuple[float, bool, Decimal, bytes]]:
    return row.misses[0].off, row.ranked()


def _alike(row: Listed, first: Listed) -> bool:
    """Of one material and origin."""
    return (row.side.material, row.stone.origin) == (first.side.material, first.stone.origin)


def _worth_it(role: str, first: Listed, found: Listed) -> bool:
    if role == "most_spread":
        a, b = first.side.face_up_mm2, found.side.face_up_mm2
        return a is None or (b is not None and b >= a * _LARGER)
    one, other = _mm2_for_money(first), _mm2_for_money(found)
    return one is None or (other is not None and other > one)


def _most_spread(rows: Sequence[Listed]) -> Listed | None:
    known = [row for row in rows if row.side.face_up_mm2 is not None]
    return min(known, key=lambda row: (-(row.side.face_up_mm2 or 0), row.ranked()), default=None)


def _most_for_money(rows: Sequence[Listed]) -> Listed | None:
    known = [row for row in rows if _mm2_for_money(row) is not None]
    return min(known, key=lambda row: (-(_mm2_for_money(row) or 0), row.ranked()), default=None)


def _mm2_for_money(row: Listed) -> Decimal | None:
    area, price = row.side.face_up_mm2, row.side.price
    return None if area is None or not price else area / price


def _bends(chosen: Sequence[Listed], bending: Sequence[Listed]) -> Listed | None:
    """The best of those that miss one part of the wish and are clearly larger or cheaper than any pick."""
    picked = {row.index for row in chosen}
    worth = [
        row for row in bending
        if row.index not in picked and all(_gains_by_bending(pick, row) for pick in chosen)
    ]  # fmt: skip
    return min(worth, key=Listed.ranked, default=None)


def _gains_by_bending(first: Listed, row: Listed) -> bool:
    a, b = first.side, row.side
    larger = a.face_up_mm2 and b.face_up_mm2 and b.face_up_mm2 >= a.face_up_mm2 * _LARGER
    cheaper = a.price and b.price and b.price <= a.price * _CHEAPER
    return bool(larger or cheaper)


# What stands in the answer


def _pick(  # noqa: PLR0913, PLR0917 - a pick is told against the first and beside the prices
    rules: CompiledRules,
    role: str,
    also: list[str],
    row: Listed,
    first: Listed,
    context: Context,
    places: dict[int, PricePlace],
) -> Pick:
    found = [] if row is first else differences(rules, first.side, row.side, context)
    gains = [_tradeoff(d) for d in found if d.better == 1]
    gives_up = [_tradeoff(d) for d in found if d.better == 0]
    if row is not first and (money := _price_tradeoff(first, row)) is not None:
        (gains if money[0] else gives_up).append(money[1])
    pick: Pick = {
        "role": role,
        "also": also,
        "index": row.index,
        "stone_id": row.stone.id,
        "verdict": row.side.evaluation["verdict"],
        "questions": row.side.evaluation["questions"],
        "price": row.stone.price,
        "measures": row.side.evaluation["measures"],
        "gains": gains,
        "gives_up": gives_up,
        "differs": [_tradeoff(d) for d in found if d.better is None],
        "bends": [miss.says for miss in row.misses],
        "points": row.points,
        "terms": row.terms,
    }
    if row.index in places:
        pick["price_place"] = places[row.index]
    return pick


def _tradeoff(difference: Difference) -> Tradeoff:
    one, other = difference.values
    says = f"{other} against {one}. {difference.says}"
    return {"about": difference.about, "says": says, "visible": difference.visible}


def _price_tradeoff(first: Listed, row: Listed) -> tuple[bool, Tradeoff] | None:
    a, b = first.side.price, row.side.price
    if a is None or b is None or a == b:
        return None
    gap, less = abs(a - b).normalize(), "less" if b < a else "more"
    says = f"{gap:f} {less}: {b.normalize():f} against {a.normalize():f}."
    return b < a, {"about": "price", "says": says, "visible": False}


def _near_misses(rows: Sequence[Listed], bending: Sequence[Listed]) -> list[NearMiss]:
    """One failing rule and nothing else, or one part of the wish; the smallest step first."""
    found = [(Decimal(len(row.fails)), row) for row in rows if len(row.fails) == 1 and not row.misses]
    found += [(row.misses[0].off, row) for row in bending]
    found.sort(key=lambda near: (near[0], near[1].ranked()))
    return [_near(row) for _, row in found[:MOST_NEAR]]


_LET_GO: Final = {
    "shapes": "Take another shape than the one wished.",
    "tastes": "Let that taste go.",
    "carat": "Take this weight instead of the one wished.",
    "length_mm": "Take this length instead of the one wished.",
    "look": "Take this length to width instead of the one wished.",
    "color": "Take this color instead of the one wished.",
    "clarity": "Take this clarity instead of the one wished.",
    "origins": "Ask for its origin.",
    "budget": "Let the budget go so far.",
}


def _near(row: Listed) -> NearMiss:
    if row.fails:
        finding = row.fails[0]
        because, remedy = finding["reason"], finding["remedy"] or ""
        rule, change = finding["rule"], finding["change"]
    else:
        miss = row.misses[0]
        because, remedy, rule, change = f"It is {miss.says}.", _LET_GO[miss.part], None, []
    return {
        "index": row.index,
        "stone_id": row.stone.id,
        "because": because,
        "rule": rule,
        "remedy": remedy,
        "change": change,
    }
