"""A stone as a report and an observer describe it. These models are also the contract of the wire."""

from contextlib import suppress
from datetime import date
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from gradefloor.trade.grades import CLARITY, COLOR
from gradefloor.trade.shapes import ShapeName

Material = Literal[
    "diamond", "moissanite", "cubic_zirconia", "white_sapphire", "white_topaz", "quartz", "spinel",
    "zircon", "yag", "ggg", "strontium_titanate", "synthetic_rutile",
]  # fmt: skip
Origin = Literal["natural", "laboratory_grown"]
Finish = Literal["excellent", "very_good", "good", "fair", "poor"]
Fluorescence = Literal["none", "faint", "medium", "strong", "very_strong"]
Girdle = Literal[
    "extremely_thin", "very_thin", "thin", "medium",
    "slightly_thick", "thick", "very_thick", "extremely_thick",
]  # fmt: skip
Culet = Literal[
    "none", "very_small", "small", "medium", "slightly_large", "large", "very_large", "extremely_large"
]
Treatment = Literal["laser_drilled", "fracture_filled", "coated", "irradiated", "annealed", "hpht", "other"]
Metal = Literal["platinum", "palladium", "white_gold", "yellow_gold", "rose_gold", "silver"]
Tone = Literal["white", "warm"]
Wear = Literal["everyday", "active", "occasional"]

# The head's own color decides what the eye compares the stone with: common practice, no source.
METAL_TONES: Final[dict[str, Tone]] = {
    "platinum": "white",
    "palladium": "white",
    "white_gold": "white",
    "silver": "white",
    "yellow_gold": "warm",
    "rose_gold": "warm",
}


def _calendar_date(value: Any) -> Any:
    """Refuse everything but `YYYY-MM-DD`: readers of dates take weeks, compact forms and seconds, too."""
    # Of the ten-character forms that readers take, only this one has its dashes here.
    if isinstance(value, str) and len(value) == 10 and value[4] == value[7] == "-":  # noqa: PLR2004
        with suppress(ValueError):
            return date.fromisoformat(value)
    raise ValueError("a day of the calendar, written YYYY-MM-DD")


CalendarDate = Annotated[date, BeforeValidator(_calendar_date, json_schema_input_type=date)]

# Nothing is measured finer than a thousandth of a carat or of a millimetre; the upper bounds lie above
# any stone ever cut and keep every quotient finite.
Carat = Annotated[float, Field(strict=True, ge=0.001, le=1000, examples=[1.46])]
Millimetres = Annotated[float, Field(strict=True, ge=0.001, le=200, examples=[7.69])]
Percent = Annotated[float, Field(strict=True, ge=0.01, le=100, examples=[66])]


def _whole(value: Any) -> Any:
    """2.0 is a whole number in JSON: JSON Schema 2020-12, core 6.3."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


WHOLE: Final = BeforeValidator(_whole)


class Wire(BaseModel):
    """What every request model shares: unknown fields are refused, values never change."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Report(Wire):
    """What the grading report says about itself."""

    issuer: str | None = Field(None, min_length=1, max_length=60, description="Laboratory that issued it.")
    number: str | None = Field(None, min_length=1, max_length=40, description="Report number, as text.")
    date: CalendarDate | None = Field(None, description="Date of issue, YYYY-MM-DD.")
    comments: list[Annotated[str, Field(min_length=1, max_length=300)]] | None = Field(
        None, max_length=20, description="Comment lines, as printed."
    )
    assessment: Literal["premium", "standard"] | None = Field(
        None, description="Quality class given to a laboratory-grown diamond in place of letter grades."
    )


class Inclusion(Wire):
    """The inclusion that matters most."""

    type: (
        Literal[
            "crystal", "dark_crystal", "cloud", "pinpoint", "needle", "feather", "open_feather",
            "twinning_wisp", "graining", "knot", "cavity", "chip", "bruise", "indented_natural",
            "laser_drill_hole", "bearding",
        ]
        | None
    ) = Field(None, description="Kind of inclusion; an open feather reaches the surface.")  # fmt: skip
    place: Literal["table_center", "table_edge", "crown", "pavilion", "girdle", "point"] | None = Field(
        None, description="Where it lies, seen face up; `point` is a tip or a corner."
    )
    relief: Literal["low", "medium", "high"] | None = Field(
        None,
        description="How far it stands out from the stone around it; no rule of house or strict asks yet.",
    )
    size_mm: Millimetres | None = Field(None, description="Longest extent in mm.")


class Observations(Wire):
    """What somebody saw who looked at the stone. A report cannot tell these."""

    eye_clean: bool | None = Field(None, strict=True, description="No inclusion seen face up without a lens.")
    bow_tie: Literal["none", "slight", "moderate", "severe"] | None = Field(
        None, description="Dark band across the middle of an elongated stone."
    )
    windowing: Literal["none", "slight", "prominent"] | None = Field(
        None, description="How much one sees straight through the stone, face up."
    )
    haze: Literal["none", "slight", "strong"] | None = Field(
        None, description="Loss of transparency, judged in daylight."
    )
    tint: Literal["none", "yellow", "brown", "green", "gray"] | None = Field(
        None, description="Tint noticed face up beside the metal."
    )
    inclusion: Inclusion | None = Field(None, description="The inclusion that matters most.")
    seen_on: CalendarDate | None = Field(None, description="When it was looked at, YYYY-MM-DD.")
    seen_by: Literal["shop", "supplier", "setter", "customer"] | None = Field(None, description="Who looked.")
    seen_in: Literal["hand", "video", "photograph"] | None = Field(None, description="How it was looked at.")
    distance_mm: float | None = Field(
        None, strict=True, ge=50, le=2000, description="Viewing distance in mm."
    )
    light: Literal["daylight", "office", "spotlight"] | None = Field(None, description="In what light.")


class Stone(Wire):
    """One polished stone. Only the shape must be known; what is missing is asked for where it matters."""

    id: str | None = Field(None, min_length=1, max_length=64, description="Your own reference; repeated.")
    material: Material | None = Field(None, description="What it is made of; read as diamond if absent.")
    origin: Origin | None = Field(None, description="Mined or made.")
    shape: ShapeName = Field(description="Shape and facet style.")
    carat: Carat | None = Field(None, description="Weight in carat.")
    color: str | None = Field(
        None, pattern=COLOR.pattern, description="Color grade D to Z, or a range.", examples=["G", "G-H"]
    )
    clarity: str | None = Field(
        None, pattern=CLARITY.pattern, description="Clarity grade or a range.", examples=["VS2", "VS1-VS2"]
    )
    length_mm: Millimetres | None = Field(None, description="Length in mm; for a round, one diameter.")
    width_mm: Millimetres | None = Field(None, description="Width in mm; for a round, the other diameter.")
    depth_mm: Millimetres | None = Field(None, description="Depth from table to culet in mm.")
    table_pct: Percent | None = Field(None, description="Table in % of width (round: of mean diameter).")
    depth_pct: float | None = Field(
        None, strict=True, ge=0.1, le=200, description="Depth in % of width (round: of mean diameter)."
    )
    crown_height_pct: Percent | None = Field(None, description="Crown height in % of width.")
    girdle_pct: Percent | None = Field(None, description="Girdle thickness in % of width.")
    corner_mm: Millimetres | None = Field(None, description="Leg of a cut corner in mm.")
    polish: Finish | None = Field(None, description="Polish grade.")
    symmetry: Finish | None = Field(None, description="Symmetry grade.")
    cut_grade: Finish | None = Field(None, description="Cut grade, where a report states one.")
    fluorescence: Fluorescence | None = Field(None, description="Strength; absent is not the same as none.")
    girdle_min: Girdle | None = Field(None, description="Girdle at its thinnest.")
    girdle_max: Girdle | None = Field(None, description="Girdle at its thickest.")
    culet: Culet | None = Field(None, description="Size of the culet facet.")
    treatments: list[Treatment] | None = Field(None, max_length=7, description="Known treatments.")
    report: Report | None = Field(None, description="The grading report.")
    observations: Observations | None = Field(None, description="What somebody saw.")


class Context(Wire):
    """What the stone is meant for."""

    metal: Metal | None = Field(None, description="Metal of the head that holds the stone.")
    position: Literal["center", "side", "melee"] | None = Field(
        None, description="Place in the jewel; read as center if absent."
    )
    jewelry: Literal["ring", "earring", "pendant"] | None = Field(None, description="Kind of jewel.")
    wear: Wear | None = Field(None, description="How it is worn; active: sport, gloves, work with the hands.")
    protection: Literal["claws", "v_claws", "bezel"] | None = Field(
        None, description="What holds the edge; V claws cover every point and corner."
    )
