"""What an answer about a ring is made of. These shapes are the contract of the wire; nothing here decides."""

from typing import Annotated, Final, NotRequired

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.rules.findings import Changed


class FingerSize(TypedDict):
    """One size label."""

    system: Annotated[str, Field(description="us, uk, uk_older, iso, japan or swiss.")]
    size: Annotated[str, Field(description="Nearest size of that system, as it is written.")]
    table: Annotated[str, Field(description="Table or formula that the label comes from.")]
    off_mm: Annotated[
        float, Field(description="Circumference of the labelled size less the finger's, in mm.")
    ]


class FingerGeometry(TypedDict):
    """The finger in millimetres first, labels second."""

    inner_diameter_mm: Annotated[float, Field(description="Inner diameter of the ring in mm.")]
    circumference_mm: Annotated[float, Field(description="Inner circumference in mm (ISO 8653 size).")]
    sizes: Annotated[list[FingerSize], Field(description="The same finger in every system that reaches it.")]
    disagreement: Annotated[
        NotRequired[str], Field(description="Where tables of one country differ for this finger.")
    ]
    allowance: Annotated[NotRequired[str], Field(description="What a wide band adds to the size: try it on.")]


class MeleeRow(TypedDict):
    """Melee in one row."""

    melee_mm: Annotated[float, Field(description="Diameter of one stone in mm.")]
    fits: Annotated[int, Field(description="Most stones that have the room they want.")]
    count: Annotated[int, Field(description="Stones to order: even, so that both halves are alike.")]
    spacing_mm: Annotated[float, Field(description="Room between two stones with that count, in mm.")]
    carat_each: Annotated[float, Field(description="Weight of one stone in carat, by the trade's chart.")]
    carat_total: Annotated[float, Field(description="Weight of all of them in carat.")]
    center_line_mm: Annotated[
        NotRequired[float], Field(description="Length of the line that the stones' centers lie on, in mm.")
    ]
    next_melee_mm: Annotated[
        NotRequired[float], Field(description="Size in mm that would sit closer, where gaps are wide.")
    ]


class HaloGeometry(TypedDict):
    """Melee around the center."""

    rows: Annotated[list[MeleeRow], Field(description="Rows, from the inside out.")]
    count: Annotated[int, Field(description="Stones in all rows.")]
    carat_total: Annotated[float, Field(description="Weight of all rows in carat.")]


class EternityGeometry(MeleeRow):
    """Melee around the wedding band, counted by chords at the girdle plane."""

    radius_mm: Annotated[float, Field(description="Radius of the girdle plane in mm.")]
    resizable: Annotated[bool, Field(description="Whether the band can be resized at all.")]


class Geometry(TypedDict, total=False):
    """Lengths that follow from the request; one that cannot be worked out is left out."""

    total_height_mm: Annotated[float, Field(description="From the finger to the table of the center, in mm.")]
    culet_clearance_mm: Annotated[float, Field(description="From the finger to the culet, in mm.")]
    band_gap_mm: Annotated[
        float, Field(description="Between ring and wedding band, along the finger, on one side, in mm.")
    ]
    flush: Annotated[bool, Field(description="Whether the wedding band lies against the shank.")]
    clearance_mm: Annotated[
        float,
        Field(description="Least room between band and head, upwards or sideways, in mm."),
    ]
    band_obstacle: Annotated[str, Field(description="What decides about the band.")]
    contour_mm: Annotated[
        float,
        Field(description="How far a contour band has to give way, along the finger, in mm."),
    ]
    flank_mm: Annotated[
        float, Field(description="Straight side of the center that a side stone lies against, in mm.")
    ]
    outer_along_mm: Annotated[float, Field(description="Center with its halo, along the finger, in mm.")]
    outer_across_mm: Annotated[float, Field(description="Center with its halo, across the finger, in mm.")]
    span_mm: Annotated[
        float, Field(description="All stones across the finger, end to end, without metal, in mm.")
    ]
    span_pct: Annotated[float, Field(description="The span in % of the inner diameter.")]
    coverage_pct: Annotated[
        float, Field(description="Center with its halo across the finger in % of the inner diameter.")
    ]
    finger: FingerGeometry
    halo: HaloGeometry
    pave: Annotated[MeleeRow, Field(description="Melee along half of the shank, all rows together.")]
    eternity: EternityGeometry
    measured: Annotated[
        dict[str, str], Field(description="For each length above, what it was measured along.")
    ]


class Assumption(TypedDict):
    """A value that was not stated and had to be assumed."""

    field: Annotated[str, Field(description="Dotted path in the request that would state it.")]
    value: Annotated[str, Field(description="Value with its unit.")]
    why: Annotated[str, Field(description="Where it comes from.")]


class LeverAnswer(TypedDict):
    """One change that does something about a gap, and what the band does after it."""

    lever: Annotated[
        str,
        Field(
            description="thinner_band, raise_center, turn_center, contour_band or agree_on_gap.",
            examples=["raise_center"],
        ),
    ]
    says: Annotated[str, Field(description="The change in words, with what it costs.")]
    change: Annotated[list[Changed], Field(description="The change as data.")]
    band_gap_mm: Annotated[float, Field(description="Gap after it, along the finger, on one side, in mm.")]
    flush: Annotated[bool, Field(description="Whether the band then lies against the shank.")]
    clearance_mm: Annotated[NotRequired[float], Field(description="Least room then left, in mm.")]
    total_height_mm: Annotated[NotRequired[float], Field(description="Height of the ring then, in mm.")]


class BillLine(TypedDict):
    """Stones of one kind to order."""

    role: Annotated[str, Field(description="center, sides, halo, pave or eternity.")]
    count: Annotated[int, Field(description="How many.")]
    shape: Annotated[str, Field(description="Shape.")]
    facet_family: Annotated[str | None, Field(description="step or brilliant; null while it is open.")]
    length_mm: Annotated[
        NotRequired[float], Field(description="Diameter, or length; of a side stone, against the center; mm.")
    ]
    width_mm: Annotated[
        NotRequired[float], Field(description="Width; of a side stone, away from the center; in mm.")
    ]
    carat_each: Annotated[
        NotRequired[float], Field(description="Weight of one in carat, stated or estimated.")
    ]
    carat_total: Annotated[NotRequired[float], Field(description="Weight of all in carat.")]
    estimated: Annotated[bool, Field(description="Whether the weight is an estimate.")]
    color: Annotated[NotRequired[str], Field(description="Letters that go with the center, the best first.")]


class Caution(TypedDict):
    """Something to be careful with, whatever the verdict."""

    about: Annotated[str, Field(description="setter, heat, skin, points, size or counts.")]
    text: Annotated[str, Field(description="The caution.")]


class RankedSetting(TypedDict):
    """A setting that could hold this center."""

    style: Annotated[str, Field(description="What the trade calls it.")]
    setting: Annotated[
        dict[str, object], Field(description="Members of `setting` that make it, to send for a full answer.")
    ]
    side_shape: Annotated[
        NotRequired[str], Field(description="Shape of the pair of side stones, wished or taken for best.")
    ]
    verdict: Annotated[str, Field(description="Worst verdict among its findings: pass, ask or fail.")]
    fits_best: Annotated[bool, Field(description="Whether the rules name this center for it.")]
    reasons: Annotated[list[str], Field(description="Why it stands here, most important first.")]
    rules: Annotated[list[str], Field(description="Ids of the rules that the reasons come from.")]


class SideStoneWindow(TypedDict):
    """What to order for both sides of the center: a pair."""

    shape: Annotated[str, Field(description="Shape of the side stones.")]
    facet_family: Annotated[str, Field(description="step or brilliant.")]
    length_mm: Annotated[
        list[float], Field(description="Least and most, measured along the center's side, in mm.")
    ]
    width_mm: Annotated[
        list[float], Field(description="Least and most, measured across the finger, away from it, in mm.")
    ]
    carat_each: Annotated[
        NotRequired[float],
        Field(description="Estimated weight of one in the middle of the windows, in ct."),
    ]
    pair_tolerance_mm: Annotated[float, Field(description="Most that the two may differ, in mm.")]
    color: Annotated[NotRequired[str], Field(description="Letters that go with the center, the best first.")]
    verdict: Annotated[str, Field(description="Verdict of a pair in the middle of the windows: pass or ask.")]
    reason: Annotated[str, Field(description="Why it stands here.")]
    rules: Annotated[list[str], Field(description="Ids of the rules it comes from.")]


class Refused(TypedDict):
    """A side shape for which there is nothing to order."""

    shape: Annotated[str, Field(description="Shape of the side stones.")]
    reason: Annotated[str, Field(description="What stands in the way.")]


RING_NOTICE: Final = (
    "Computed from stated and assumed measurements: a plan to discuss with the bench, not a drawing to make "
    "a ring from, not an appraisal, not legal advice. The setter decides with the stones in hand."
)
