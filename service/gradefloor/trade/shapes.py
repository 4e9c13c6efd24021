"""Shapes of cut stones, what their outlines are like, and the groups that rules speak of."""

from dataclasses import dataclass
from typing import Final, Literal, get_args

ShapeName = Literal[
    "round", "princess", "radiant", "cushion", "cushion_brilliant", "cushion_modified",
    "oval", "pear", "marquise", "heart", "trillion",
    "emerald", "asscher", "carre", "french_square", "hexagon", "octagon", "step_marquise", "portrait",
    "mixed_cut", "old_european", "circular_brilliant", "old_mine", "rose", "single_cut",
    "baguette", "tapered_baguette", "trapezoid", "half_moon", "shield", "bullet", "kite", "lozenge",
    "epaulette", "cadillac",
]  # fmt: skip

FacetFamily = Literal["brilliant", "modified_brilliant", "step", "mixed", "old", "rose", "step_or_brilliant"]
Corners = Literal["none", "rounded", "cut", "points"]
Role = Literal["center", "side", "melee"]


@dataclass(frozen=True, slots=True)
class Shape:
    """One shape.

    `points` counts sharp tips that can chip; `length_is_axis` says that the length lies along the
    shape's axis and may be the smaller number, so it is never turned.
    """

    name: ShapeName
    title: str
    facet_family: FacetFamily
    outline: str
    corners: Corners
    points: int = 0
    length_is_axis: bool = False
    role: Role = "center"


# Canonical shapes, families and corners: common practice, no source; the report strings behind them
# are from memory. `radiant` is one shape: the ratio tells a square one from a long one.
_SHAPES: Final = (
    Shape("round", "round brilliant", "brilliant", "circle", "none"),
    Shape("princess", "princess", "modified_brilliant", "square", "points", 4),
    Shape("radiant", "radiant", "modified_brilliant", "square or rectangle", "cut"),
    Shape("cushion", "cushion of unstated kind", "brilliant", "square or rectangle, bowed", "rounded"),
    Shape("cushion_brilliant", "cushion brilliant", "brilliant", "square or rectangle, bowed", "rounded"),
    Shape(
        "cushion_modified", "cushion modified brilliant", "modified_brilliant",
        "square or rectangle, bowed", "rounded",
    ),
    Shape("oval", "oval", "brilliant", "ellipse", "none"),
    Shape("pear", "pear", "brilliant", "teardrop", "points", 1),
    Shape("marquise", "marquise", "brilliant", "navette", "points", 2),
    Shape("heart", "heart", "brilliant", "heart", "points", 1, length_is_axis=True),
    Shape("trillion", "trillion", "brilliant", "triangle", "points", 3, length_is_axis=True),
    Shape("emerald", "emerald cut", "step", "rectangle", "cut"),
    Shape("asscher", "asscher", "step", "square", "cut"),
    Shape("carre", "carré", "step", "square", "points", 4),
    Shape("french_square", "french square", "mixed", "square", "points", 4),
    Shape("hexagon", "hexagon step cut", "step", "hexagon", "points", 6),
    Shape("octagon", "octagon step cut", "step", "octagon", "cut"),
    Shape("step_marquise", "step-cut marquise", "step", "navette", "points", 2),
    Shape("portrait", "portrait cut", "step", "flat plate", "points"),
    Shape("mixed_cut", "mixed cut", "mixed", "any", "none"),
    Shape("old_european", "old European cut", "old", "circle", "none"),
    Shape("circular_brilliant", "circular brilliant", "old", "circle", "none"),
    Shape("old_mine", "old mine cut", "old", "square or rectangle, bowed", "rounded"),
    Shape("rose", "rose cut", "rose", "circle, pear or oval", "none"),
    Shape("single_cut", "single cut", "brilliant", "circle", "none", role="melee"),
    Shape("baguette", "baguette", "step", "rectangle", "points", 4, role="side"),
    Shape("tapered_baguette", "tapered baguette", "step", "taper", "points", 4, True, "side"),
    Shape("trapezoid", "trapezoid", "step_or_brilliant", "trapezoid", "points", 4, True, "side"),
    Shape("half_moon", "half moon", "step_or_brilliant", "half circle", "points", 2, True, "side"),
    Shape("shield", "shield", "step_or_brilliant", "shield", "points", 3, True, "side"),
    Shape("bullet", "bullet", "step_or_brilliant", "bullet", "points", 3, True, "side"),
    Shape("kite", "kite", "step_or_brilliant", "kite", "points", 4, True, "side"),
    Shape("lozenge", "lozenge", "step_or_brilliant", "lozenge", "points", 4, role="side"),
    Shape("epaulette", "epaulette", "step_or_brilliant", "epaulette", "points", 5, True, "side"),
    Shape("cadillac", "cadillac", "step_or_brilliant", "cadillac", "points", 5, True, "side"),
)  # fmt: skip

SHAPES: Final[dict[str, Shape]] = {shape.name: shape for shape in _SHAPES}
CIRCULAR: Final = frozenset({"round", "old_european", "circular_brilliant", "single_cut"})


def _where(**facts: object) -> frozenset[str]:
    return frozenset(
        name
        for name, shape in SHAPES.items()
        if all(getattr(shape, fact) == value for fact, value in facts.items())
    )


GROUPS: Final[dict[str, frozenset[str]]] = {
    "all": frozenset(SHAPES),
    # An open pavilion that shows what is in it. Mixed cuts count here: one half of them is a step cut.
    "steps": _where(facet_family="step") | _where(facet_family="mixed"),
    "crushed_ice": frozenset({"radiant", "cushion_modified"}),
    "cushions": frozenset({"cushion", "cushion_brilliant", "cushion_modified"}),
    "tipped": frozenset({"pear", "marquise", "heart", "trillion"}),
    "elongated_brilliants": frozenset({"oval", "pear", "marquise", "heart"}),
    "old_cuts": _where(facet_family="old") | _where(facet_family="rose"),
    "circular": CIRCULAR,
    "fancies": frozenset(SHAPES) - {"round"},
    "brilliants": _where(facet_family="brilliant") | _where(facet_family="modified_brilliant"),
    "modern": frozenset(SHAPES) - _where(facet_family="old") - _where(facet_family="rose"),
    # Cuts with a pavilion one should not be able to look through; seeing through is a rose cut's style.
    "pavilioned": frozenset(SHAPES) - {"rose", "portrait"},
    "pointed": _where(corners="points"),
    "cut_corners": _where(corners="cut"),
    "unpointed": _where(corners="none") | _where(corners="rounded"),
    "step_or_brilliant": _where(facet_family="step_or_brilliant"),
    "side_shapes": _where(role="side"),
}

if set(SHAPES) != set(get_args(ShapeName)):  # the Literal is the contract, the table is the meaning
    raise AssertionError("every shape name needs one row, and every row a name")
