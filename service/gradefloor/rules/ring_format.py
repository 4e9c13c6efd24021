"""The kinds of rule that speak of a whole ring: pairings, companions, side windows and styles."""

from typing import Annotated, Final, Literal

from pydantic import Field, model_validator

from gradefloor.rules.entries import (
    Between,
    Kept,
    Number,
    Range,
    Row,
    Rule,
    Sentence,
    Text,
    Topic,
    Word,
    only_values_of,
    refuse,
    token,
)
from gradefloor.rules.ring_facts import RING_FACTS
from gradefloor.rules.ring_measures import RING_MEASURES
from gradefloor.trade.settings import Head, Orientation, Shank, Shoulders
from gradefloor.trade.shapes import ShapeName
from gradefloor.trade.stones import Material

RingFactName = Annotated[
    str,
    Field(strict=True, json_schema_extra={"enum": list(RING_FACTS)}),
    token("fact of a ring", list(RING_FACTS)),
]
RingMeasureName = Annotated[
    str,
    Field(strict=True, json_schema_extra={"enum": list(RING_MEASURES)}),
    token("measure of a ring", list(RING_MEASURES)),
]
_TERMS: Final = [*RING_FACTS, *RING_MEASURES]
TermName = Annotated[
    str,
    Field(strict=True, json_schema_extra={"enum": _TERMS}),
    token("fact or measure of a ring", _TERMS),
]


class PairingRow(Row):
    """One row: when a ring has these facts and measures, this is said. The row that names more wins."""

    when: dict[RingFactName, Annotated[list[str], Field(min_length=1)]] = Field(
        default_factory=dict, description="Facts and the values each may have."
    )
    measured: dict[RingMeasureName, Range] = Field(
        default_factory=dict, description="Measures, all of them known, and the range each lies in."
    )

    @model_validator(mode="after")
    def _names_values(self) -> "PairingRow":
        for name, values in self.when.items():
            only_values_of(RING_FACTS[name].domain, values, name)
        return self


class Pairing(Rule):
    """A table over facts and measures of a ring; `shapes` are shapes of the center. Proved like a guard."""

    topic: Topic = Field(description="Topic under which its findings are shown.")
    materials: list[Material] | None = Field(
        None, min_length=1, description="Materials of the center; absent: every material."
    )
    threshold: Text | None = Field(None, description="What passes, in words.")
    remedied_by: list[TermName] = Field(
        default_factory=list, description="Terms whose change turns an ask or a fail, cheapest first."
    )
    rows: list[PairingRow] = Field(min_length=1, description="One answer for every combination.")


class Clash(Kept):
    """A side shape that looks wrong, or contested, beside these centers."""

    side_shapes: list[ShapeName] = Field(
        min_length=1, description="Side shapes that clash with these centers; none that is among `best`."
    )
    verdict: Literal["note", "ask"] = Field(description="`note`: a matter of taste; `ask`: seldom right.")
    says: Sentence = Field(description="What is wrong with it, or who thinks so.")


class Companions(Rule):
    """Side shapes for the centers named in `shapes`, best first."""

    best: list[ShapeName] = Field(min_length=1, description="Side shapes to order, the best first.")
    clashes: list[Clash] = Field(default_factory=list, description="Side shapes that clash.")
    ask: str = Field(strict=True, description="`about` of the entry in `questions` that a clash asks.")

    @model_validator(mode="after")
    def _once(self) -> "Companions":
        named = [*self.best, *(shape for clash in self.clashes for shape in clash.side_shapes)]
        again = next((shape for index, shape in enumerate(named) if shape in named[:index]), None)
        if again is not None:
            refuse(f"{again} again", "each side shape once", "best")
        return self


class SideWindow(Rule):
    """How large side stones of `shapes` are beside a center, in % of the center."""

    of: Literal["along", "across"] = Field(
        description="Extent of the center along or across the finger, to compare the side's length with."
    )
    comfort: Between = Field(
        description="Side's length in % of that extent, as it looks best; outside is a note."
    )
    tolerated: Between = Field(description="The same, as far as it still looks meant; outside asks.")
    reach: Between = Field(description="Side's width, away from the center, in % of its own length.")
    depth_pct: Number = Field(description="Usual depth in % of the narrower measure, to estimate weight.")
    says_low: Sentence = Field(description="What a shorter one looks like.")
    says_high: Sentence = Field(description="What a longer one looks like.")
    ask: str = Field(
        strict=True, description="`about` of the entry in `questions` to ask beyond the tolerated range."
    )

    @model_validator(mode="after")
    def _nested(self) -> "SideWindow":
        if self.comfort.from_ < self.tolerated.from_ or self.comfort.to > self.tolerated.to:
            refuse(self.comfort.write(), f"a range inside tolerated ({self.tolerated.write()})", "comfort")
        return self


class StyleSetting(Kept):
    """Parts of a setting that make a style."""

    heads: list[Head] = Field(min_length=1, description="Heads to choose from; the one judged best is taken.")
    shank: Shank = Field(description="What goes around the finger.")
    halo: Literal["none", "visible", "hidden"] = Field("none", description="Melee around the center.")
    shoulders: Shoulders | None = Field(None, description="How the shank meets the head.")
    orientation: Orientation | None = Field(None, description="How the center lies.")


class Style(Rule):
    """A setting by the name the trade gives it; `shapes` are the centers it fits best."""

    name: Word = Field(description="What the trade calls it, as one word.")
    setting: StyleSetting = Field(description="Parts of a setting that make it.")
    elsewhere: Sentence = Field(description="What is said of it for a center it does not fit best.")
