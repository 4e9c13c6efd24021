"""What a workshop knows of somebody who asks, without knowing who it is. Also the contract of the wire."""

from typing import Annotated, Literal

from pydantic import Field

from gradefloor.trade.stones import CalendarDate, Wire
from gradefloor.trade.wishes import Wish

Gem = Literal["emerald", "sapphire", "ruby"]
Heirloom = Literal["stone", "metal"]
Errand = Literal["valuation", "repair", "resale"]


class Lead(Wire):
    """A lead by what is wished. No names, no addresses: an opaque id is all that ties it to a person."""

    id: Annotated[str, Field(pattern="^[A-Za-z0-9_-]{1,64}$")] | None = Field(
        None, description="Your own opaque reference; repeated."
    )
    wish: Wish | None = Field(None, description="What is wished, as far as it is known in fields.")
    needed_by: CalendarDate | None = Field(None, description="Day it is needed, YYYY-MM-DD.")
    finger_guess: bool | None = Field(
        None, strict=True, description="Whether the finger size is only a guess."
    )
    surprise: bool | None = Field(None, strict=True, description="Whether the wearer must not know.")
    heirloom: Heirloom | None = Field(None, description="A stone or metal of their own is to be used.")
    comparing: bool | None = Field(None, strict=True, description="Whether another offer is at hand.")
    errand: Errand | None = Field(None, description="Something else than a new ring is wanted.")
    gem: Gem | None = Field(None, description="A colored gem is wanted as the center.")
    message: str | None = Field(
        None,
        min_length=1,
        max_length=4000,
        description="What was written, read for sizes, shapes, money and dates; never repeated nor logged.",
    )
    language: Annotated[str, Field(pattern="^[a-z]{2}$")] | None = Field(
        None, description="Language of the message, two letters (ISO 639-1); found out if absent."
    )
