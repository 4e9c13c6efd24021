"""What a budget leaves for the stone, and which change to the wish saves most by the rows that were sent."""

from collections.abc import Iterator, Sequence
from decimal import ROUND_DOWN, Decimal
from typing import Final, NamedTuple

from gradefloor.judge.advice_findings import BudgetAdvice, Conflict, Lever, RowsLeft, ShapeAdvice, TakenOff
from gradefloor.judge.matches import Listed
from gradefloor.judge.specimens import Bounds
from gradefloor.trade.weights import exact
from gradefloor.trade.wishes import Budget

_CENT: Final = Decimal("0.01")
# How far under the weight wished a stone may lie and still look the same: common practice, no source.
_JUST_UNDER: Final = Decimal("0.10")
MOST_LEVERS: Final = 2

# What a budget pays beside the stone, by what it covers.
_COSTS: Final[dict[str, tuple[str, ...]]] = {
    "stone": (),
    "ring": ("setting_cost", "side_stones_cost"),
    "set": ("setting_cost", "side_stones_cost", "wedding_band_cost"),
}
# Costs without which nothing can be taken off; side stones are there only if somebody says so.
_NEEDED: Final = frozenset({"setting_cost", "wedding_band_cost"})


class Reckoned(NamedTuple):
    """What is left for the stone, before tax; `settled` says that nothing is open."""

    left: Bounds
    settled: bool
    taken_off: list[TakenOff]
    open: list[str]


def reckon(budget: Budget) -> Reckoned:
    """The amounts less tax and less everything else they cover, as far as it is stated."""
    low, high = exact(min(budget.amount)), exact(max(budget.amount))
    if len(budget.amount) == 1:
        low = Decimal(0)
    taken: list[TakenOff] = []
    waiting = [name for name in ("currency", "covers", "tax_included") if getattr(budget, name) is None]
    if budget.tax_included:
        if budget.tax_pct is None:
            waiting.append("tax_pct")
        else:
            rate = 1 + exact(budget.tax_pct) / 100
            # The rest is rounded, and the tax is what is left: together they are the amount, to the cent.
            rest = (high / rate).quantize(_CENT, ROUND_DOWN)
            taken.append(_taken("tax", high - rest))
            low, high = low / rate, rest
    for name in _COSTS.get(budget.covers or "", ()):
        cost = getattr(budget, name)
        if cost is None:
            waiting += [name] if name in _NEEDED else []
            continue
        taken.append(_taken(name.removesuffix("_cost"), exact(cost)))
        low, high = low - exact(cost), high - exact(cost)
    low, high = (max(Decimal(0), part).quantize(_CENT, ROUND_DOWN) for part in (low, high))
    return Reckoned(Bounds(low, high), not waiting, taken, [f"wish.budget.{name}" for name in waiting])


def _taken(what: str, amount: Decimal) -> TakenOff:
    return {"what": what, "amount": float(amount.quantize(_CENT))}


def advise(budget: Budget, rows: Sequence[Listed]) -> tuple[BudgetAdvice, Conflict | None]:
    """What the budget covers, the levers that save most, and whether nothing of the list fits into it."""
    reckoned = reckon(budget)
    left = reckoned.left
    advice: BudgetAdvice = {
        "currency": budget.currency,
        "covers": budget.covers,
        "for_stone": [float(left.low), float(left.high)] if reckoned.settled else None,
        "at_most": float(left.high),
        "taken_off": reckoned.taken_off,
        "open": reckoned.open,
        "levers": _best_levers(rows),
    }
    return advice, _conflict(left, rows)


def _conflict(left: Bounds, rows: Sequence[Listed]) -> Conflict | None:
    """The budget leaves nothing, or no row that meets the wish fits into it."""
    says = None
    if left.high <= 0:
        says = "What the budget has to pay beside the stone leaves nothing for it."
    elif rows and not any(row.sound and not row.misses for row in rows):
        without = [r for r in rows if r.sound and [m.part for m in r.misses] == ["budget"]]
        affordable = any(r.sound and "budget" not in {m.part for m in r.misses} for r in rows)
        if without:
            says = "No stone of the list that meets the wish is within the budget."
        elif not affordable:
            says = "No stone of the list is within the budget."
    if says is None:
        return None
    return {
        "conflict": "budget",
        "between": ["wish.budget"],
        "shapes": [],
        "says": says,
        "ways_out": [
            "A smaller stone, or one just under the weight.",
            "Another shape or origin.",
            "A plainer setting, or side stones or a halo instead of a larger center.",
            "A larger budget, or the setting later.",
        ],
    }


def tell_rows(shapes: Sequence[ShapeAdvice], rows: Sequence[Listed]) -> None:
    """Tells each shape advised what of a list is left for it."""
    for advice in shapes:
        advice["rows"] = _rows_left(rows, advice["shape"], advice["material"], advice["origin"])


def _rows_left(rows: Sequence[Listed], shape: str, material: str, origin: str | None) -> RowsLeft:
    """Rows of one kind within floors, wish and budget, whatever their size."""
    found = [
        row
        for row in rows
        if row.candidate.shape == shape
        and row.side.material == material
        and (material != "diamond" or (row.stone.origin or "natural") == (origin or "natural"))
        and row.sound
        and {miss.part for miss in row.misses} <= {"carat", "length_mm"}
    ]
    carats = [row.side.carat for row in found if row.side.carat is not None]
    prices = [row.side.price for row in found if row.side.price is not None]
    return {
        "count": len(found),
        "carat": [float(min(carats)), float(max(carats))] if carats else [],
        "cheapest": float(min(prices)) if prices else None,
    }


# Levers: a part of the wish that is let go, and how it is said.
_LETS_GO: Final[dict[str, tuple[frozenset[str], str]]] = {
    "color": (frozenset({"color"}), "A lower color than the one wished, but not below the floor."),
    "clarity": (frozenset({"clarity"}), "A lower clarity than the one wished, but not below the floor."),
    "look": (frozenset({"look"}), "Another length to width than the one wished."),
    "shape": (frozenset({"shapes", "tastes"}), "Another shape."),
    "origin": (frozenset({"origins"}), "The other origin."),
}


def _best_levers(rows: Sequence[Listed]) -> list[Lever]:
    """The changes that save most against the cheapest stone which meets the wish; money aside."""
    met = _cheapest(row for row in rows if row.sound and not _beside_money(row))
    found = list(_levers(rows, met))
    found.sort(key=lambda lever: (lever["cheapest"], lever["lever"]))
    return found[:MOST_LEVERS]


def _levers(rows: Sequence[Listed], met: Decimal | None) -> Iterator[Lever]:
    just_under = _cheapest(row for row in rows if row.sound and _only_just_under(row))
    offers = [("just_under", "A weight up to a tenth under the one wished.", just_under)]
    for name, (parts, says) in _LETS_GO.items():
        least = _cheapest(
            row for row in rows if row.sound and _beside_money(row) and _beside_money(row) <= parts
        )
        offers.append((name, says, least))
    for name, says, least in offers:
        if least is not None and (met is None or least < met):
            saves = None if met is None else float(met - least)
            yield {"lever": name, "says": says, "cheapest": float(least), "saves": saves}


def _beside_money(row: Listed) -> frozenset[str]:
    return frozenset(miss.part for miss in row.misses) - {"budget"}


def _only_just_under(row: Listed) -> bool:
    misses = [miss for miss in row.misses if miss.part != "budget"]
    if [miss.part for miss in misses] != ["carat"] or row.side.carat is None or row.candidate.carat is None:
        return False
    return row.side.carat < row.candidate.carat.low and misses[0].off <= _JUST_UNDER


def _cheapest(rows: Iterator[Listed]) -> Decimal | None:
    return min((row.side.price for row in rows if row.side.price is not None), default=None)
