"""What advice is made of. These shapes are the contract of the wire; nothing here decides."""

from typing import Annotated, Any, Final, NotRequired

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.judge.ring_findings import RankedSetting


class FloorAdvice(TypedDict):
    """Lowest grade to look for in one carat band."""

    grade: Annotated[str, Field(description="clarity or color.")]
    head: Annotated[
        str | None, Field(description="white or warm: color of the head it holds for; null for clarity.")
    ]
    from_carat: Annotated[float, Field(description="First weight of the band in carat.")]
    below_carat: Annotated[float | None, Field(description="First weight above it; null: no end.")]
    on_paper: Annotated[str, Field(description="Lowest grade good enough from the report alone.")]
    if_seen: Annotated[
        str | None, Field(description="Lowest once somebody has looked; null: nothing lower is.")
    ]
    rule: Annotated[str, Field(description="Id of the rule.")]


class RatioAdvice(TypedDict):
    """Length to width to look for: a matter of taste."""

    looks: Annotated[list[str], Field(description="Looks it comes from.")]
    at_least: Annotated[float, Field(description="Smallest ratio, two decimals.")]
    at_most: Annotated[float, Field(description="Largest ratio, two decimals.")]
    rule: Annotated[str, Field(description="Id of the rule about looks.")]


class WindowAdvice(TypedDict):
    """A measured value to look for."""

    measure: Annotated[str, Field(description="depth_pct, table_pct and others, in %.")]
    comfort: Annotated[list[float], Field(description="Range that looks best, both ends inside.")]
    tolerated: Annotated[list[float], Field(description="Range beyond which one asks.")]
    rule: Annotated[str, Field(description="Id of the rule.")]


class Expected(TypedDict):
    """Millimetres to expect at the weight wished, and weights at the length wished."""

    carat: Annotated[list[float], Field(description="From and to, in carat.")]
    length_mm: Annotated[list[float], Field(description="At those weights and the middle ratio, in mm.")]
    width_mm: Annotated[list[float], Field(description="The same for the width, in mm.")]
    depth_mm: Annotated[list[float], Field(description="The same for the depth, in mm.")]
    assumed: Annotated[bool, Field(description="Whether the weight is an assumption, since none is wished.")]


class FaceUp(TypedDict):
    """Area seen from above."""

    mm2: Annotated[float, Field(description="Area in mm² in the middle of the weights.")]
    of_round_pct: Annotated[
        float,
        Field(description="The same in % of a usual round of the same weight, by computed millimetres."),
    ]


class Taste(TypedDict):
    """One term of how well a shape serves the wish."""

    taste: Annotated[str, Field(description="Taste wished.")]
    points: Annotated[int, Field(description="From -3, the opposite, to 3.")]


class Given(TypedDict):
    """Something that may be given up."""

    what: Annotated[str, Field(description="color, clarity, carat, look and others.")]
    says: Annotated[str, Field(description="How far, and what it costs the eye.")]


class SpareAdvice(TypedDict):
    """Where the money that such a shape saves is well spent."""

    forgives: Annotated[str, Field(description="color or clarity: what the shape forgives.")]
    spend_on: Annotated[str, Field(description="What it needs instead.")]
    says: Annotated[str, Field(description="Why.")]


class ConditionAdvice(TypedDict):
    """Something to see before buying, which no report tells."""

    about: Annotated[str, Field(description="Dotted path in an evaluation that states it.")]
    ask: Annotated[str, Field(description="The question, as one would ask it.")]
    rule: Annotated[str, Field(description="Id of the rule that asks.")]


class Calibrated(TypedDict):
    """Sizes and classes in which a substitute is sold."""

    sizes_mm: Annotated[
        list[list[float]], Field(description="Length and width in mm, the nearest to the wish first.")
    ]
    color_classes: Annotated[list[str], Field(description="Color classes, the whitest first.")]
    rule: Annotated[str, Field(description="Id of the rule.")]


class RowsLeft(TypedDict):
    """What of the rows that were sent is within floors and budget."""

    count: Annotated[int, Field(description="How many, whatever their size.")]
    carat: Annotated[list[float], Field(description="Smallest and largest weight, in carat; empty if none.")]
    cheapest: Annotated[float | None, Field(description="Lowest price among them.")]


class ShapeAdvice(TypedDict):
    """One shape that serves the wish, and what to look for in it."""

    shape: Annotated[str, Field(description="Shape.")]
    title: Annotated[str, Field(description="The same in words.")]
    material: Annotated[str, Field(description="Material.")]
    origin: Annotated[str | None, Field(description="Origin whose floors these are; null for a substitute.")]
    suits: Annotated[int, Field(description="Sum of the tastes' points; the order of this list.")]
    tastes: Annotated[list[Taste], Field(description="Every term of that sum.")]
    floors: Annotated[list[FloorAdvice], Field(description="Lowest grades; empty for a substitute.")]
    ratio: RatioAdvice
    windows: Annotated[list[WindowAdvice], Field(description="Measured values to look for.")]
    expected_mm: Expected | None
    face_up_mm2: FaceUp | None
    spare: SpareAdvice | None
    give_up_first: Annotated[
        list[Given], Field(description="What may be given up, the first first; priorities come last.")
    ]
    never: Annotated[list[str], Field(description="What is never given up.")]
    calibrated: NotRequired[Calibrated]
    look_for: Annotated[
        dict[str, Any],
        Field(description="A stone that fits all this, to send to evaluations; an example, not an offer."),
    ]
    verdict: Annotated[
        str, Field(description="Verdict of that stone once every condition below holds.", examples=["pass"])
    ]
    conditions: Annotated[list[ConditionAdvice], Field(description="What has to be seen before buying.")]
    settings: Annotated[list[RankedSetting], Field(description="Settings that suit it, the best first.")]
    rows: NotRequired[RowsLeft]
    reasons: Annotated[list[str], Field(description="Why it stands here, most important first.")]
    rules: Annotated[list[str], Field(description="Ids of all rules that speak here.")]


class Conflict(TypedDict):
    """Parts of a wish that cannot both be had."""

    conflict: Annotated[
        str,
        Field(
            description="Id of the rule that says so, or shapes, materials, height or budget.",
            examples=["band.flush"],
        ),
    ]
    between: Annotated[list[str], Field(description="Dotted paths of the parts, in the request.")]
    shapes: Annotated[list[str], Field(description="Shapes it holds for; empty: for the wish as a whole.")]
    says: Annotated[str, Field(description="What cannot be had.")]
    ways_out: Annotated[list[str], Field(description="What may give way, the mildest first.")]


class TakenOff(TypedDict):
    """A part of the budget that is not for the stone."""

    what: Annotated[str, Field(description="tax, setting, side_stones or wedding_band.")]
    amount: Annotated[float, Field(description="Amount at the upper end of the budget.")]


class Lever(TypedDict):
    """A change to the wish that makes it cheaper, by the rows that were sent."""

    lever: Annotated[
        str, Field(description="just_under, color, clarity, look, shape or origin.", examples=["color"])
    ]
    says: Annotated[str, Field(description="The change in words.")]
    cheapest: Annotated[float, Field(description="Lowest price with it.")]
    saves: Annotated[
        float | None, Field(description="Less than the lowest price without it; null if there is none.")
    ]


class BudgetAdvice(TypedDict):
    """What the budget covers."""

    currency: Annotated[str | None, Field(description="ISO 4217 code; null while it is open.")]
    covers: Annotated[str | None, Field(description="stone, ring or set; null while it is open.")]
    for_stone: Annotated[
        list[float] | None, Field(description="From and to, before tax; null while something is open.")
    ]
    at_most: Annotated[float, Field(description="What the stone may cost at the very most, before tax.")]
    taken_off: Annotated[list[TakenOff], Field(description="What is not for the stone.")]
    open: Annotated[list[str], Field(description="Dotted paths of what has to be known first.")]
    levers: Annotated[
        list[Lever], Field(description="The two that save most, by the rows that were sent; else empty.")
    ]


ADVICE_NOTICE: Final = (
    "Advice by stated rules and usual measures: not an offer, not an appraisal, not legal advice. Sizes are "
    "what to expect, not what a stone has; the stone itself is judged when it is there, by people who see it."
)
