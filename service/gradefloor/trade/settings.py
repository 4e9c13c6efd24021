"""A ring by its parts: setting, side stones, wedding band, finger and wearer.

These models are also the contract of the wire. Nothing here computes or judges.
"""

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, ValidationInfo, field_validator

from gradefloor.trade.grades import COLOR
from gradefloor.trade.melee import MELEE_MM
from gradefloor.trade.rings import TABLES, SizeSystem, inner_diameter_mm
from gradefloor.trade.stones import WHOLE, Metal, Millimetres, Stone, Wear, Wire

Head = Literal["claw", "double_claw", "v_claw", "half_bezel", "bezel", "tension", "invisible"]
Shank = Literal["plain", "pave", "channel", "split", "multi_row"]
Shoulders = Literal["straight", "cathedral", "tapered"]
Orientation = Literal["along", "across"]
FacetStyle = Literal["step", "brilliant"]
BandShape = Literal["straight", "contour", "notched"]

# Metal sections of a ring: anything outside is a slip of the pen, not a ring.
Section = Annotated[float, Field(strict=True, ge=0.1, le=30, examples=[1.8])]
HaloRows = Annotated[int, Field(strict=True, ge=1, le=3), WHOLE]
ClawCount = Annotated[int, Field(strict=True, ge=1, le=24), WHOLE]
ShankRows = Annotated[int, Field(strict=True, ge=1, le=7), WHOLE]
Melee = Annotated[float, Field(strict=True, ge=float(MELEE_MM[0]), le=float(MELEE_MM[1]), examples=[1.3])]


class Halo(Wire):
    """Rows of melee around the center."""

    rows: HaloRows | None = Field(None, description="Rows of melee; read as 1 if absent.")
    hidden: bool | None = Field(
        None, strict=True, description="Under the girdle, seen from the side only; read as false if absent."
    )
    melee_mm: Melee | None = Field(None, description="Diameter of the melee in mm.")
    bottom_mm: Section | None = Field(
        None, description="Height of a hidden halo's underside above the finger in mm."
    )


class Claws(Wire):
    """Claws of the head."""

    count: ClawCount | None = Field(None, description="How many; a double claw is two.")
    wire_mm: Section | None = Field(None, description="Thickness of one claw in mm.")


class Gallery(Wire):
    """Rail or bridge under the center that a band may meet before it meets the stone."""

    bottom_mm: Section = Field(description="Height of its underside above the finger in mm.")
    half_extent_mm: Section | None = Field(
        None, description="From the middle of the ring to its edge, along the finger, in mm."
    )


class Clearance(Wire):
    """One measurement of a workshop's own head."""

    height_mm: float = Field(strict=True, ge=0, le=40, description="Height above the finger in mm.")
    half_extent_mm: float = Field(
        strict=True,
        ge=0,
        le=100,
        description="From the middle to the widest there, along the finger, in mm.",
    )


class Setting(Wire):
    """What holds the center: any combination of head, shank, halo and shoulders."""

    head: Head | None = Field(None, description="What holds the center's edge.")
    shank: Shank | None = Field(None, description="What goes around the finger.")
    halo: Halo | None = Field(None, description="Melee around the center; absent: none.")
    shoulders: Shoulders | None = Field(None, description="How the shank meets the head.")
    metal: Metal | None = Field(None, description="Metal of the head.")
    shank_metal: Metal | None = Field(None, description="Metal of the shank; read as the head's if absent.")
    orientation: Orientation | None = Field(
        None,
        description="How the center's length lies to the finger; read as along if absent.",
    )
    claws: Claws | None = Field(None, description="Claws of the head.")
    bezel_wall_mm: Section | None = Field(None, description="Thickness of a bezel's wall in mm.")
    shank_width_mm: Section | None = Field(
        None, description="Width of the shank at the head, along the finger, in mm."
    )
    shank_thickness_mm: Section | None = Field(
        None, description="Thickness of the shank, away from the finger, in mm."
    )
    shank_melee_mm: Melee | None = Field(None, description="Diameter of melee in the shank in mm.")
    shank_rows: ShankRows | None = Field(None, description="Rows of melee in the shank; read as 1 if absent.")
    split_leg_mm: Section | None = Field(None, description="Width of one leg of a split shank in mm.")
    melee_color: str | None = Field(
        None, pattern=COLOR.pattern, description="Color of the melee, one grade or a range.", examples=["G-H"]
    )
    culet_height_mm: Millimetres | None = Field(
        None, description="Height of the center's culet above the finger in mm."
    )
    basket_wire_mm: Section | None = Field(None, description="Thickness of the basket's wire in mm.")
    claw_overhang_mm: Section | None = Field(
        None, description="How far the claws stand out beyond the center's girdle in mm."
    )
    gallery: Gallery | None = Field(None, description="Rail or bridge under the center; absent: none.")
    measured_clearance: list[Clearance] | None = Field(
        None,
        min_length=1,
        max_length=50,
        description="Profile of the finished head, all that stands on the ring included, as the workshop "
        "measured it; outranks every computed obstacle.",
    )


class SideStone(Stone):
    """One stone beside the center. Its length lies against the center, its width reaches away from it."""

    facet_family: FacetStyle | None = Field(
        None, description="How a shape that is cut either way is faceted; follows from the other shapes."
    )


class BandStones(Wire):
    """Melee all around a band, or around half of it."""

    melee_mm: Melee = Field(description="Diameter of the melee in mm.")
    extent: Literal["full", "half"] = Field(description="Around the whole finger, or half of it.")


class WeddingBand(Wire):
    """The band that is to be worn beside the ring."""

    shape: BandShape | None = Field(None, description="Read as straight if absent.")
    width_mm: Section | None = Field(None, description="Width along the finger in mm.")
    thickness_mm: Section | None = Field(None, description="Thickness away from the finger in mm.")
    accepts_gap: bool | None = Field(
        None, strict=True, description="Whether a gap between ring and band has been agreed to."
    )
    stones: BandStones | None = Field(None, description="Melee set around the band.")


def _sizes(schema: dict[str, Any]) -> None:
    """Lets the contract say which sizes each system has."""
    schema["allOf"] = [
        {
            "if": {"properties": {"system": {"const": system}}, "required": ["system"]},
            "then": {"properties": {"size": {"pattern": table.pattern}}},
        }
        for system, table in TABLES.items()
    ]


class Finger(Wire):
    """The finger that the ring is for, by a size of one system."""

    model_config = ConfigDict(json_schema_extra=_sizes)

    # Before the size, which is read by it.
    system: SizeSystem = Field(
        description="us (also Canada), uk (metric letters of 1987), uk_older (letters by the inch table), "
        "iso (inner circumference in mm), japan, swiss (also Italy, Spain: circumference less 40 mm)."
    )
    size: str = Field(min_length=1, max_length=8, description="Size as text.", examples=["6", "L½", "52"])

    @field_validator("size")
    @classmethod
    def _on_the_table(cls, size: str, info: ValidationInfo) -> str:
        system: SizeSystem | None = info.data.get("system")
        if system is not None:
            inner_diameter_mm(system, size)
        return size


class Wearer(Wire):
    """How the ring will be worn. Nothing here, or anywhere, asks who the wearer is."""

    wear: Wear | None = Field(None, description="How it is worn; active: sport, gloves, work with the hands.")
    avoids: list[Literal["nickel"]] | None = Field(
        None, max_length=1, description="What must not touch the skin."
    )


class RingParts(Wire):
    """A ring by all that is known of its parts. Only the center's shape must be."""

    center: Stone = Field(description="The stone in the middle.")
    setting: Setting | None = Field(None, description="What holds it.")
    side_stones: list[SideStone] | None = Field(
        None, min_length=1, max_length=8, description="Stones beside it, one entry each, both sides together."
    )
    wedding_band: WeddingBand | None = Field(None, description="Band to be worn beside it.")
    finger: Finger | None = Field(None, description="Finger it is for.")
    wearer: Wearer | None = Field(None, description="How it will be worn.")
