"""What somebody wishes for, before there is a stone. These models are also the contract of the wire."""

from typing import Annotated, Final, Literal, get_args

from pydantic import Field

from gradefloor.trade.grades import CLARITY, COLOR
from gradefloor.trade.settings import Finger, WeddingBand
from gradefloor.trade.shapes import ShapeName
from gradefloor.trade.stones import Carat, Material, Metal, Millimetres, Origin, Stone, Wear, Wire

Taste = Literal[
    "broad_flashes", "lively_sparkle", "calm", "showy", "long", "broad", "soft", "crisp", "antique"
]
Warmth = Literal["welcome", "accepted", "unwelcome"]
Priority = Literal["size", "color", "clarity", "character", "price"]
StyleName = Literal[
    "solitaire", "pave", "halo", "hidden_halo", "three_stone", "cathedral", "channel", "split_shank",
    "multi_row", "bezel", "half_bezel",
]  # fmt: skip
Height = Literal["low", "standard", "high"]
Covers = Literal["stone", "ring", "set"]
Look = Annotated[str, Field(pattern=r"^[a-z][a-z_]{0,39}$", examples=["usual"])]

TASTES: Final[tuple[str, ...]] = get_args(Taste)

# Money is a number of the currency's main unit; the upper bound keeps every sum finite.
Money = Annotated[float, Field(strict=True, ge=0.01, le=1e9, examples=[9500])]
Currency = Annotated[str, Field(pattern="^[A-Z]{3}$", examples=["EUR"])]

# Words that mean the same thing from two ends: wishing both is a wish to talk about.
OPPOSITES: Final[tuple[tuple[Taste, Taste], ...]] = (
    ("broad_flashes", "lively_sparkle"),
    ("calm", "showy"),
    ("long", "broad"),
    ("soft", "crisp"),
)


class Budget(Wire):
    """Money, and what it is meant to pay for. What is not stated is never assumed."""

    amount: list[Money] = Field(
        min_length=1, max_length=2, description="One number: at most that; two: from and to."
    )
    currency: Currency | None = Field(None, description="ISO 4217 code.")
    covers: Covers | None = Field(
        None, description="The stone alone, the finished ring, or ring and wedding band."
    )
    tax_included: bool | None = Field(None, strict=True, description="Whether the amount holds the tax.")
    tax_pct: float | None = Field(
        None, strict=True, ge=0, le=100, description="Tax on the whole in % of the price before it."
    )
    setting_cost: Money | None = Field(None, description="Setting with making, before tax.")
    side_stones_cost: Money | None = Field(None, description="Side stones and melee, before tax.")
    wedding_band_cost: Money | None = Field(None, description="Wedding band, before tax.")


class SettingWish(Wire):
    """How the stone is to be held, as far as somebody has a wish."""

    style: StyleName | None = Field(None, description="Setting by the name the trade gives it.")
    height: Height | None = Field(
        None, description="How high the table stands: low under 5.0 mm, high over 6.5 mm."
    )
    side_shape: ShapeName | None = Field(None, description="Shape of a pair of side stones.")


class Wish(Wire):
    """A wish. Everything may be left out; what is left out is advised about, not taken for granted."""

    shapes: list[ShapeName] | None = Field(None, min_length=1, max_length=8, description="Shapes wanted.")
    refused_shapes: list[ShapeName] | None = Field(None, max_length=35, description="Shapes not wanted.")
    tastes: list[Taste] | None = Field(
        None,
        max_length=9,
        description="broad_flashes or lively_sparkle; calm or showy; long or broad outline; soft or crisp "
        "lines; antique.",
    )
    look: Look | None = Field(
        None, description="Look of the outline as the rules name it: usual, long, square and others."
    )
    carat: list[Carat] | None = Field(
        None, min_length=1, max_length=2, description="One number: about that; two: from and to; in ct."
    )
    length_mm: list[Millimetres] | None = Field(
        None, min_length=1, max_length=2, description="One number: about that; two: from and to; in mm."
    )
    color: str | None = Field(None, pattern=f"^({'|'.join(COLOR.grades)})$", description="No lower than.")
    clarity: str | None = Field(None, pattern=f"^({'|'.join(CLARITY.grades)})$", description="No lower than.")
    warmth: Warmth | None = Field(
        None, description="Whether warmth of color is welcome, accepted, or not to be seen."
    )
    metal: Metal | None = Field(None, description="Metal of the head that holds the stone.")
    setting: SettingWish | None = Field(None, description="How it is to be held.")
    wedding_band: WeddingBand | None = Field(
        None, description="Band to be worn beside it; `accepts_gap` false: it is to lie flush."
    )
    finger: Finger | None = Field(None, description="Finger it is for.")
    wear: Wear | None = Field(None, description="How it will be worn.")
    avoids: list[Literal["nickel"]] | None = Field(
        None, max_length=1, description="What must not touch the skin."
    )
    priorities: list[Priority] | None = Field(
        None, max_length=5, description="What matters, the most important first."
    )
    materials: list[Material] | None = Field(
        None, min_length=1, max_length=4, description="Read as diamond if absent."
    )
    origins: list[Origin] | None = Field(
        None, min_length=1, max_length=2, description="Mined, made, or both; absent: still open."
    )
    budget: Budget | None = Field(None, description="Money, and what it is to pay for.")


class PricedStone(Stone):
    """One stone of a list, with its price."""

    price: Money | None = Field(
        None, description="Price of the stone before tax, in the currency of the request."
    )
