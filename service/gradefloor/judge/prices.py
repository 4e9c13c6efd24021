"""Prices of one list placed against each other: a robust log-linear fit on weight, grades and shape.

Within one origin, material and report issuer the logarithm of the price is a straight line in the logarithm
of the weight, with a step for each letter, grade and shape (the usual hedonic form). Huber's estimator keeps
single slips of the pen from bending it (Huber 1964, Ann. Math. Stat. 35, 73). It knows no other prices.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context
from math import ceil, exp, expm1, log, sqrt
from statistics import NormalDist
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from gradefloor.judge.price_findings import (
    PRICE_NOTICE,
    PriceFit,
    PriceGroup,
    PriceLine,
    PricePlace,
)
from gradefloor.judge.robust import (
    SHARE_TOLD,
    SMALLEST_SPREAD,
    Columns,
    Estimate,
    Floats,
    huber,
    independent,
)
from gradefloor.trade.grades import CLARITY, COLOR, Scale
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.stones import Stone
from gradefloor.trade.weights import exact

# House limits, no source: fewer stones tell nothing, a level met less often is not told, and a line that
# leaves more open places nobody. Spreads are standard deviations of ln price: 0.20 is some 22 %.
FEWEST_STONES: Final = 30
FEWEST_OF_A_LEVEL: Final = 5
STONES_PER_COLUMN: Final = 5
LARGEST_SPREAD: Final = 0.20
LEAST_R2: Final = 0.70
# A column of 0 and 1 that is no sum of others keeps a length of some 0.5 at least; one that is keeps 1e-13.
_LEVEL_TOLD: Final = 0.1
# A stone with more leverage makes its own expectation (Huber 1981: to be avoided above 0.5, from memory); an
# expectation so many times outside the prices of the list is beyond what it can tell (house, no source).
_MOST_LEVERAGE: Final = 0.5
_FARTHEST: Final = log(10)
# A step of more than a thousandfold, or a power as high, comes of too little weight: house limit, no source.
_MOST_TOLD: Final = log(1000)

# The interval holds nine of ten. Prices have longer tails than normal errors (those of Laplace reach 1.36
# times as far at that level); one more than twice as wide is stretched by slips of the pen (house limit, no
# source).
LEVEL: Final = 0.90
_NORMAL: Final = NormalDist().inv_cdf(0.5 + LEVEL / 2)
_WIDEST: Final = 2.0


# Why a stone is not placed; those of the second table hold for all stones of a group.
_UNPLACED: Final = {
    "no_price": "No price is stated.",
    "no_carat": "No weight is stated.",
    "no_color": "No color is stated.",
    "no_clarity": "No clarity is stated.",
    "color_range": "A range of colors has no step of its own.",
    "clarity_range": "A range of clarities has no step of its own.",
    "rare_color": f"Fewer than {FEWEST_OF_A_LEVEL} stones of the group have this color.",
    "rare_clarity": f"Fewer than {FEWEST_OF_A_LEVEL} stones of the group have this clarity.",
    "rare_shape": f"Fewer than {FEWEST_OF_A_LEVEL} stones of the group have this shape.",
    "unlike_the_rest": "The group holds too little like it: it would be compared with itself.",
}
DECLINED: Final = {
    "too_few": (
        f"Fewer than {FEWEST_STONES} stones of this origin, material and issuer have a weight, a price and a "
        "color, clarity and shape that occur often enough."
    ),
    "too_many_levels": (
        f"Too many colors, clarities and shapes for so few stones: {STONES_PER_COLUMN} are needed for each."
    ),
    "wide_spread": (
        f"Like stones differ too much in price: the spread is over {expm1(LARGEST_SPREAD) * 100:.0f} %."
    ),
    "little_explained": (
        "Weight, color, clarity and shape explain too little of these prices: "
        f"less than {LEAST_R2 * 100:.0f} % of their variation."
    ),
}
REASONS: Final[Mapping[str, str]] = {**_UNPLACED, **DECLINED}

Kind = Literal["color", "clarity", "shape"]
Level = tuple[Kind, str]
_KINDS: Final[tuple[Kind, ...]] = ("color", "clarity", "shape")


@dataclass(frozen=True, slots=True)
class Priced:
    """One stone of a list; `index` is its place there, `price` is above 0, in the list's currency."""

    index: int
    stone: Stone
    price: float | None


def place_prices(listed: Sequence[Priced]) -> tuple[PriceFit, dict[int, PricePlace]]:
    """Every group fitted or declined, and the place of each price that has one, by its index.

    Nothing but the choice of indices depends on the order of the list.
    """
    unplaced: Counter[str] = Counter()
    groups: dict[_Group, list[_Row]] = {}
    for one in listed:
        members = groups.setdefault(_group_of(one.stone), [])
        row = _read(one)
        if isinstance(row, str):
            unplaced[row] += 1
        else:
            members.append(row)
    told: list[PriceGroup] = []
    places: dict[int, PricePlace] = {}
    for group, members in groups.items():
        # Sums of floats depend on their order, so the order is the stones' own.
        rows = _without_rare(sorted(members, key=_content), unplaced)
        answer: PriceGroup = {
            "origin": group.origin, "material": group.material, "issuer": group.issuer, "n": len(rows),
        }  # fmt: skip
        line = _line(rows)
        if isinstance(line, str):
            answer["declined"] = {"reason": line, "says": DECLINED[line]}
            unplaced[line] += len(rows)
        else:
            found = _places(line, rows)
            answer["line"] = _told(line, found.values())
            unplaced["unlike_the_rest"] += len(rows) - len(found)
            places |= found
        told.append(answer)
    told.sort(key=lambda g: (-g["n"], g["origin"] or "", g["material"], g["issuer"] or ""))
    counts = {reason: count for reason, count in sorted(unplaced.items()) if count}
    fit: PriceFit = {
        "groups": told,
        "unplaced": counts,
        "unplaced_says": {reason: REASONS[reason] for reason in counts},
        "notice": PRICE_NOTICE,
    }
    return fit, places


# Rows


class _Group(NamedTuple):
    origin: str | None
    material: str
    issuer: str | None


@dataclass(frozen=True, slots=True)
class _Row:
    index: int
    carat: float
    price: float
    levels: tuple[Level, Level, Level]


def _group_of(stone: Stone) -> _Group:
    issuer = stone.report.issuer if stone.report else None
    return _Group(
        stone.origin, stone.material or "diamond", " ".join((issuer or "").casefold().split()) or None
    )


def _read(one: Priced) -> "_Row | str":
    """The stone as a row of the fit, or why it cannot be one."""
    stone = one.stone
    if one.price is None:
        return "no_price"
    if stone.carat is None:
        return "no_carat"
    color, clarity = _single(COLOR, stone.color), _single(CLARITY, stone.clarity)
    if color is None or clarity is None:
        name, grade = ("color", stone.color) if color is None else ("clarity", stone.clarity)
        return f"no_{name}" if grade is None else f"{name}_range"
    return _Row(
        one.index, stone.carat, one.price, (("color", color), ("clarity", clarity), ("shape", stone.shape))
    )


def _single(scale: Scale, text: str | None) -> str | None:
    """The grade, also where it is written as a range from itself to itself; None for more than one."""
    if text is None:
        return None
    span = scale.span(text)
    return scale.grades[span.best] if span.best == span.worst else None


def _content(row: _Row) -> tuple[object, ...]:
    return row.levels, row.carat, row.price


def _without_rare(rows: list[_Row], unplaced: Counter[str]) -> list[_Row]:
    """Stones whose levels all occur often enough among what is kept."""
    while True:
        counts = Counter(level for row in rows for level in row.levels)
        rare = [
            next((kind for kind, v in row.levels if counts[kind, v] < FEWEST_OF_A_LEVEL), None)
            for row in rows
        ]
        if not any(rare):
            return rows
        unplaced.update(f"rare_{kind}" for kind in rare if kind)
        rows = [row for row, kind in zip(rows, rare, strict=True) if kind is None]


# One group


@dataclass(frozen=True, slots=True)
class _Line:
    levels: tuple[tuple[Level, str, int], ...]  # level, the one it is held against, how many
    columns: Columns
    estimate: Estimate
    target: Floats
    spread: float
    r2: float | None


def _line(rows: Sequence[_Row]) -> "_Line | str":
    """The fit of one group, or why there is none."""
    n = len(rows)
    if n < FEWEST_STONES:
        return "too_few"
    members: dict[Level, list[int]] = {}
    for place, row in enumerate(rows):
        for level in row.levels:
            members.setdefault(level, []).append(place)
    against = {kind: _most_frequent(kind, members) for kind in _KINDS}
    levels = sorted(
        (level for level in members if level[1] != against[level[0]]),
        key=lambda level: (_KINDS.index(level[0]), _rank(level)),
    )
    matrix = np.zeros((n, len(levels) + 2))
    matrix[:, 0] = 1.0
    for place, level in enumerate(levels, 1):
        matrix[members[level], place] = 1.0
    carats = np.log(np.array([row.carat for row in rows]))
    matrix[:, -1] = carats - carats.mean()
    columns = independent(matrix, [_LEVEL_TOLD] * (len(levels) + 1) + [SHARE_TOLD * sqrt(n)])
    p = len(columns.kept)
    if n < STONES_PER_COLUMN * p:
        return "too_many_levels"
    target = np.log(np.array([row.price for row in rows]))
    estimate = huber(columns.basis, target)
    # The line was fitted to these very prices, so they lie closer to it than others will.
    spread = estimate.scale * sqrt(n / (n - p))
    if spread > LARGEST_SPREAD:
        return "wide_spread"
    r2, whole = _explained(estimate, target)
    # Where the prices differ by no more than a line may leave open there is nothing to explain.
    if r2 is not None and r2 < LEAST_R2 and whole > LARGEST_SPREAD:
        return "little_explained"
    counted = tuple((level, against[level[0]], len(members[level])) for level in levels)
    return _Line(counted, columns, estimate, target, spread, r2)


def _most_frequent(kind: Kind, members: Mapping[Level, Sequence[int]]) -> str:
    """Level that the others of its kind are held against; of equally frequent ones the first on its scale."""
    found = (level for level in members if level[0] == kind)
    return min(found, key=lambda level: (-len(members[level]), _rank(level)))[1]


_SHAPE_RANKS: Final = {shape: rank for rank, shape in enumerate(SHAPES)}


def _rank(level: Level) -> int:
    kind, value = level
    if kind == "shape":
        return _SHAPE_RANKS[value]
    return (COLOR if kind == "color" else CLARITY).rank(value)


def _explained(estimate: Estimate, target: Floats) -> tuple[float | None, float]:
    """Share explained and standard deviation of ln price, both with the weights that the fit gave.

    The share is None where the prices do not differ at all.
    """
    weights = estimate.weights
    total = float(weights.sum())
    middle = target - float(weights @ target) / total
    whole = sqrt(float(weights @ middle**2) / total)
    if whole < SMALLEST_SPREAD:
        return None, whole
    left = float(weights @ (target - estimate.fitted) ** 2) / total
    return 1 - left / whole**2, whole


def _unlike(line: _Line) -> NDArray[np.bool_]:
    """Stones that the others tell too little about; no exponential of the others overflows."""
    fitted = line.estimate.fitted
    beyond = np.maximum(fitted - line.target.max(), line.target.min() - fitted) > _FARTHEST
    unlike: NDArray[np.bool_] = beyond | (line.estimate.leverage > _MOST_LEVERAGE)
    return unlike


# Answers

_DIGITS: Final = 5
_SHOWN: Final = Context(prec=_DIGITS, rounding=ROUND_HALF_EVEN)


def _places(line: _Line, rows: Sequence[_Row]) -> dict[int, PricePlace]:
    """Each price against the interval for a new price of a like stone: its own spread and the line's."""
    unlike = _unlike(line)
    halves = _half_width(line, unlike) * np.sqrt(1 + line.estimate.leverage)
    columns = (line.estimate.fitted.tolist(), halves.tolist(), unlike.tolist())
    found: dict[int, PricePlace] = {}
    for row, middle, half, alone in zip(rows, *columns, strict=True):
        if alone:
            continue
        low = _SHOWN.create_decimal_from_float(exp(middle - half))
        high = _SHOWN.create_decimal_from_float(exp(middle + half))
        price = exact(row.price)
        found[row.index] = {
            "place": "below" if price < low else "above" if price > high else "within",
            "expected": float(_SHOWN.create_decimal_from_float(exp(middle))),
            "low": float(low),
            "high": float(high),
            "gap_pct": _pct(log(row.price) - middle),
        }
    return found


def _half_width(line: _Line, unlike: NDArray[np.bool_]) -> float:
    """Half the interval in ln price, for a stone without leverage: what nine of ten like stones keep to.

    A residual is less than the error of a new price by its leverage; so it is made longer first.
    """
    estimate = line.estimate
    like = ~unlike
    errors = np.abs(line.target - estimate.fitted)[like] / np.sqrt(1 - estimate.leverage[like])
    # As many of one more stone: the rank at which a new error is no longer than this with that probability.
    rank = min(ceil(LEVEL * (errors.size + 1)), errors.size)
    kept = float(np.sort(errors)[rank - 1])
    return min(max(kept, _NORMAL * SMALLEST_SPREAD), _WIDEST * _NORMAL * line.spread)


def _told(line: _Line, places: Iterable[PricePlace]) -> PriceLine:
    columns = line.columns
    found = columns.to_coefficients @ line.estimate.coordinates
    told = {
        place: float(value)
        for place, value in zip(columns.kept, found, strict=True)
        if place in columns.told and abs(value) <= _MOST_TOLD
    }
    elasticity = told.get(len(line.levels) + 1)
    return {
        "elasticity": None if elasticity is None else round(elasticity, 3),
        "ten_pct_heavier_pct": None if elasticity is None else _pct(elasticity * log(1.1)),
        "steps": [
            {
                "of": kind, "value": value, "against": against, "n": count,
                "pct": _pct(told[place]) if place in told else None,
            }
            for place, ((kind, value), against, count) in enumerate(line.levels, 1)
        ],
        "spread_pct": _pct(line.spread),
        "r2": None if line.r2 is None else round(line.r2, 3),
        "outside": sum(place["place"] != "within" for place in places),
    }  # fmt: skip


def _pct(logarithm: float) -> float:
    """A difference of logarithms in %, to one decimal."""
    return round(expm1(logarithm) * 100, 1)
