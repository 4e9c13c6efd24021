"""Copy that sells a stone, and listings: what a shop's page says. These models are also the contract.

What a text is about is stated beside it, flat, in the words of a stone. Texts are read, never kept.
"""

from typing import Annotated, Final, Literal

from pydantic import Field

from gradefloor.trade.grades import CLARITY, COLOR
from gradefloor.trade.shapes import ShapeName
from gradefloor.trade.stones import (
    WHOLE,
    Carat,
    Context,
    Finish,
    Material,
    Observations,
    Origin,
    Report,
    Stone,
    Treatment,
    Wire,
)
from gradefloor.trade.wishes import Currency, Money

# Whose guidance a text is held to: four countries, the European Union and, of it, France; ISO stands for the
# international standard where no country's guidance is asked for.
Market = Literal["US", "UK", "EU", "FR", "IN", "CA", "ISO"]
Language = Literal["en", "fr"]

# The language in which a market's customers are written to where a request does not say.
LANGUAGES: Final[dict[str, Language]] = {"FR": "fr"}

MAX_TITLE: Final = 300
MAX_TEXT: Final = 5_000

Title = Annotated[str, Field(min_length=1, max_length=MAX_TITLE, examples=["Emerald cut diamond, 1.46 ct"])]
Copy = Annotated[str, Field(min_length=1, max_length=MAX_TEXT)]
Reference = Annotated[str, Field(min_length=1, max_length=64)]
FinenessPpt = Annotated[int, Field(strict=True, ge=1, le=1000, examples=[585]), WHOLE]
Facets = Annotated[int, Field(strict=True, ge=1, le=500, examples=[57]), WHOLE]


class Marked(Wire):
    """What a metal is and how it is marked, as far as a text may speak of it."""

    fineness_ppt: FinenessPpt | None = Field(None, description="Fineness in parts per thousand by mass.")
    plated: bool | None = Field(
        None, strict=True, description="Whether the precious metal is a layer on another metal."
    )


class WordingText(Marked):
    """One text and what it sells. What is not stated is asked about where a provision hangs on it."""

    id: Reference | None = Field(None, description="Your own reference; repeated.")
    title: Title | None = Field(None, description="Heading above the text.")
    text: Copy = Field(description="The text as the customer reads it.")
    market: Market = Field(description="Whose guidance it is held to; ISO: the international standard alone.")
    language: Language | None = Field(
        None, description="Language of the text; French in FR, else English if absent."
    )
    origin: Origin | None = Field(None, description="Mined or made.")
    material: Material | None = Field(None, description="What it is made of; read as diamond if absent.")
    shape: ShapeName | None = Field(None, description="Shape and facet style.")
    carat: Carat | None = Field(
        None, description="Weight in ct: two decimals as a report prints it, three as a balance reads it."
    )
    color: str | None = Field(
        None, pattern=COLOR.pattern, description="Color grade D to Z, or a range.", examples=["G", "G-H"]
    )
    clarity: str | None = Field(
        None, pattern=CLARITY.pattern, description="Clarity grade or a range.", examples=["VS2", "VS1-VS2"]
    )
    cut_grade: Finish | None = Field(None, description="Cut grade, where a report states one.")
    facets: Facets | None = Field(None, description="Number of polished facets.")
    treatments: list[Treatment] | None = Field(
        None, max_length=7, description="Known treatments; an empty list: known to have none."
    )
    report: Report | None = Field(None, description="The grading report.")
    observations: Observations | None = Field(None, description="What somebody saw.")

    @property
    def spoken(self) -> Language:
        """The language in which it is read."""
        return self.language or LANGUAGES.get(self.market, "en")


class Price(Wire):
    """What the listing asks."""

    amount: Money = Field(description="Price, in the currency's main unit.")
    currency: Currency = Field(description="ISO 4217 code.")


class Listing(Marked):
    """One stone as a shop's page offers it."""

    stone: Stone = Field(description="The stone.")
    context: Context | None = Field(None, description="What it is meant for, or set in.")
    title: Title | None = Field(None, description="Heading of the page.")
    description: Copy | None = Field(None, description="The shop's own text.")
    facets: Facets | None = Field(None, description="Number of polished facets.")
    price: Price | None = Field(None, description="What the listing asks.")
    url: str | None = Field(
        None, min_length=9, max_length=500, description="Address of the page; only https is repeated."
    )
    market: Market = Field(description="Whose guidance the texts are held to.")
    language: Language | None = Field(
        None, description="Language to answer in; French in FR, else English if absent."
    )

    @property
    def spoken(self) -> Language:
        """The language in which the page speaks."""
        return self.language or LANGUAGES.get(self.market, "en")
