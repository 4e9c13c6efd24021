"""Stones side by side, or shapes at one weight before there is a stone. Nothing here says which is better."""

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from itertools import combinations
from typing import Annotated, Final, NamedTuple, NotRequired

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.judge.advice_findings import ShapeAdvice
from gradefloor.judge.differences import Difference, Side, differences
from gradefloor.judge.findings import Measures, Question
from gradefloor.judge.wishes import Advising
from gradefloor.rules.findings import Finding
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.shapes import CIRCULAR, SHAPES, ShapeName
from gradefloor.trade.stones import Context
from gradefloor.trade.wishes import Wish

_TENTH: Final = Decimal("0.1")
_CENT: Final = Decimal("0.01")

# What somebody has to care about for a difference to decide, in the words of one who asks.
_CARES: Final = {
    "spread": "what it shows from above counts most",
    "color": "whiteness counts most",
    "clarity": "a clean stone counts most",
    "bow_tie": "an even middle counts",
    "windowing": "depth of light counts",
    "haze": "a bright stone counts",
    "tint": "a stone without tint counts",
    "hidden_weight": "weight that is paid for is to be seen",
    "polish": "the finish on the report counts",
    "symmetry": "the finish on the report counts",
    "cut_grade": "brightness counts most",
    "certainty": "nothing is to be left open",
    "floor": "the rules are to be kept",
    "price": "the lower price counts most",
    "length": "it is to look long on the finger",
}


class Compared(TypedDict):
    """One difference between two of the stones."""

    about: Annotated[
        str,
        Field(description="spread, ratio, color, clarity, carat, hidden_weight, polish and others."),
    ]
    between: Annotated[list[int], Field(description="Places of the two in the request, from 0.")]
    values: Annotated[list[str], Field(description="What each has, in the same order.")]
    says: Annotated[str, Field(description="What one sees of it, or does not.")]
    rule: Annotated[str | None, Field(description="Id of the rule about what can be seen apart, if any.")]


class PriceSteps(TypedDict):
    """What the dearer of two costs more, for each step it is ahead, as if that were all that is paid for.

    Letters and grades are told only where the other of the two is the same.
    """

    between: Annotated[list[int], Field(description="Places of the cheaper and the dearer.")]
    difference: Annotated[float, Field(description="Difference of price, in the currency of the request.")]
    per_letter: Annotated[NotRequired[float], Field(description="For each letter of color it is whiter.")]
    per_grade: Annotated[NotRequired[float], Field(description="For each grade of clarity it is cleaner.")]
    per_mm2: Annotated[NotRequired[float], Field(description="For each mm² that it shows more.")]


class Preference(TypedDict):
    """What would have to be true to prefer this stone."""

    about: Annotated[str, Field(description="Difference that decides.")]
    says: Annotated[str, Field(description="The condition in words.")]


class ComparedStone(TypedDict):
    """One of the stones."""

    place: Annotated[
        int, Field(description="Place in the request, or among the shapes that are advised about, from 0.")
    ]
    stone_id: Annotated[str | None, Field(description="Your reference, repeated.")]
    shape: Annotated[str, Field(description="Shape.")]
    verdict: Annotated[str, Field(description="pass, ask or fail, as an evaluation gives it.")]
    telling: Annotated[list[Finding], Field(description="Findings that ask or fail.")]
    questions: Annotated[list[Question], Field(description="What to learn about it.")]
    measures: Measures
    hidden_carat: Annotated[
        NotRequired[float],
        Field(description="Weight beyond that of a usual stone which faces up as large, in carat."),
    ]
    prefer_if: Annotated[list[Preference], Field(description="What would have to be true to prefer it.")]


class Note(TypedDict):
    """Something about the whole comparison."""

    about: Annotated[str, Field(description="length, or unsaid.")]
    says: Annotated[str, Field(description="The note.")]


class Comparison(TypedDict):
    """Stones side by side."""

    visible: Annotated[list[Compared], Field(description="Differences that an eye can see, face up.")]
    on_paper: Annotated[list[Compared], Field(description="Differences that only a report or a lens shows.")]
    largest: Annotated[
        list[int], Field(description="Places by face-up area, computed from millimetres, the largest first.")
    ]
    price_steps: Annotated[
        list[PriceSteps], Field(description="For each two with prices, what the dearer costs more a step.")
    ]
    stones: Annotated[list[ComparedStone], Field(description="Each stone, in the order of the request.")]
    notes: Annotated[list[Note], Field(description="What else is worth saying.")]


class Usual(NamedTuple):
    """For each shape that the rules advise about the stone to look for, judged, and what is advised of it."""

    sides: list[Side]
    shapes: list[ShapeAdvice]


def usual_stones(
    rules: CompiledRules, shapes: Sequence[ShapeName], carat: float, context: Context | None, as_of: date
) -> Usual:
    """Shapes at one weight before there is a stone, in their order."""
    usual = Usual([], [])
    for shape in shapes:
        wish = Wish(shapes=[shape], carat=[carat, carat], metal=context and context.metal)
        advising = Advising(rules, wish, as_of)
        usual.shapes.extend(advising.each_shape(settings=False))
        usual.sides.extend(Side(found.stone, found.evaluation) for found in advising.specimens)
    return usual


def compare(rules: CompiledRules, sides: Sequence[Side], context: Context | None) -> Comparison:
    """All differences between any two of the stones, told by whether an eye can see them."""
    pairs = {
        (a, b): differences(rules, sides[a], sides[b], context) for a, b in combinations(range(len(sides)), 2)
    }
    told = [(place, d) for place, found in pairs.items() for d in found]
    return {
        "visible": [_told(place, d) for place, d in told if d.visible],
        "on_paper": [_told(place, d) for place, d in told if not d.visible],
        "largest": _largest(sides),
        "price_steps": list(_price_steps(sides, pairs)),
        "stones": [_stone(place, sides, pairs) for place in range(len(sides))],
        "notes": list(_notes(sides)),
    }


def _told(place: tuple[int, int], difference: Difference) -> Compared:
    return {
        "about": difference.about,
        "between": list(place),
        "values": list(difference.values),
        "says": difference.says,
        "rule": difference.rule,
    }


def _largest(sides: Sequence[Side]) -> list[int]:
    known = [place for place, side in enumerate(sides) if side.face_up_mm2 is not None]
    return sorted(known, key=lambda place: -(sides[place].face_up_mm2 or 0))


def _price_steps(
    sides: Sequence[Side], pairs: dict[tuple[int, int], list[Difference]]
) -> Iterator[PriceSteps]:
    for (a, b), found in pairs.items():
        one, other = sides[a].price, sides[b].price
        if one is None or other is None or one == other:
            continue
        cheap, dear = (a, b) if one < other else (b, a)
        gap = abs(one - other)
        steps: PriceSteps = {"between": [cheap, dear], "difference": float(gap)}
        ahead = {
            d.about: d.steps for d in found if d.steps and d.better is not None and (a, b)[d.better] == dear
        }
        graded = [d.about for d in found if d.about in {"color", "clarity"}]
        if graded == ["color"] and (color := ahead.get("color")):
            steps["per_letter"] = _money(gap / color)
        if graded == ["clarity"] and (clarity := ahead.get("clarity")):
            steps["per_grade"] = _money(gap / clarity)
        if spread := ahead.get("spread"):
            steps["per_mm2"] = _money(gap / spread)
        yield steps


def _money(amount: Decimal) -> float:
    return float(amount.quantize(_CENT, ROUND_HALF_UP))


def _stone(
    place: int, sides: Sequence[Side], pairs: dict[tuple[int, int], list[Difference]]
) -> ComparedStone:
    side = sides[place]
    answer = side.evaluation
    told: ComparedStone = {
        "place": place,
        "stone_id": side.stone.id,
        "shape": side.stone.shape,
        "verdict": answer["verdict"],
        "telling": [f for f in answer["findings"] if f["verdict"] in {"ask", "fail"}],
        "questions": answer["questions"],
        "measures": answer["measures"],
        "prefer_if": list(_prefer(place, sides, pairs)),
    }
    if side.hidden_carat is not None:
        told["hidden_carat"] = float(side.hidden_carat)
    return told


def _prefer(
    place: int, sides: Sequence[Side], pairs: dict[tuple[int, int], list[Difference]]
) -> Iterator[Preference]:
    """Everything in which no other is better than this one and at least one is worse."""
    won: dict[str, bool] = {}
    for between, found in pairs.items():
        if place in between:
            for difference in found:
                if difference.better is not None:
                    ahead = between[difference.better] == place
                    won[difference.about] = won.get(difference.about, True) and ahead
    prices = [side.price for side in sides if side.price is not None]
    if len(prices) == len(sides) and len(set(prices)) > 1:
        won["price"] = sides[place].price == min(prices)
    lengths = [side.sides_mm[0] for side in sides if side.sides_mm is not None]
    outlined = any(side.stone.shape not in CIRCULAR for side in sides)
    if outlined and len(lengths) == len(sides) and lengths.count(max(lengths)) == 1:
        won["length"] = lengths[place] == max(lengths)
    for about, ahead in won.items():
        if ahead and about in _CARES:
            yield {"about": about, "says": f"If {_CARES[about]}."}


def _notes(sides: Sequence[Side]) -> Iterator[Note]:
    largest = _largest(sides)
    if len(largest) < len(sides):
        yield {
            "about": "unsaid",
            "says": "Of some stones the spread is not compared: millimetres or outline are not known.",
        }
    if len(largest) < 2:  # noqa: PLR2004 - it takes two to compare
        return
    longest = max(largest, key=lambda place: (sides[place].sides_mm or (Decimal(0),))[0])
    first = largest[0]
    if longest == first or sides[longest].stone.shape in CIRCULAR:
        return
    a, b = sides[longest], sides[first]
    yield {
        "about": "length",
        "says": (
            f"The {SHAPES[a.stone.shape].title} shows {_mm2(a)} against {_mm2(b)} of the "
            f"{SHAPES[b.stone.shape].title}, so it is not the larger; but it is {_length(a)} long against "
            f"{_length(b)}, and the eye takes length along the finger for size, so it can still look longer."
        ),
    }


def _mm2(side: Side) -> str:
    return f"{(side.face_up_mm2 or Decimal(0)).quantize(_TENTH, ROUND_HALF_UP)} mm²"


def _length(side: Side) -> str:
    return "" if side.sides_mm is None else f"{side.sides_mm[0]} mm"
