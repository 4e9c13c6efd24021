"""The rule-set format as strict models; `rulesets/schema.json` is made from them.

Checks each rule by itself. What rules say together (gaps, overlaps) is the compiler's business.
"""

from decimal import Decimal
from difflib import get_close_matches
from typing import Annotated, Final, Literal

from pydantic import Field, model_validator

from gradefloor.rules.advice_format import Assortment, Character, Clash, Merit, Perception, Tag, Urgency
from gradefloor.rules.entries import (
    Between,
    Kept,
    Positions,
    Range,
    Row,
    Rule,
    Sentence,
    ShapeOrGroup,
    Source,
    Text,
    Topic,
    Version,
    Word,
    only_values_of,
    refuse,
    token,
)
from gradefloor.rules.facts import FACTS
from gradefloor.rules.lexicon_format import Lexicon
from gradefloor.rules.listing_format import Caption, Glossary
from gradefloor.rules.measures import MEASURES
from gradefloor.rules.ring_format import Companions, Pairing, SideWindow, Style
from gradefloor.rules.wording_format import Filler, Naming, Phrasebook, Policy
from gradefloor.trade.grades import CLARITY, COLOR
from gradefloor.trade.stones import CalendarDate, Material, Origin, Tone

SCALES: Final = {"clarity": CLARITY, "color": COLOR}
FactName = Annotated[
    str, Field(strict=True, json_schema_extra={"enum": list(FACTS)}), token("fact", list(FACTS))
]


class QuestionWords(Kept):
    """What to ask when a verdict hangs on something nobody has said."""

    about: Annotated[str, Field(strict=True, pattern=r"^[a-z_]+(\.[a-z_]+)*$")] = Field(
        description="Place in the request that would settle it, or a word for a thing outside it."
    )
    ask: Sentence = Field(description="The question, as one would ask it of a supplier or a customer.")


class Offset(Kept):
    """How many grades lower than stated a grade of this laboratory is read: an interval."""

    at_least: int = Field(strict=True, ge=0, le=6, description="Grades lower at the least, 0 to 6.")
    at_most: int = Field(strict=True, ge=0, le=6, description="Grades lower at the most, 0 to 6.")

    @model_validator(mode="after")
    def _in_order(self) -> "Offset":
        if self.at_least > self.at_most:
            refuse(f"{self.at_least} to {self.at_most}", "at_least no more than at_most", "at_least")
        return self


class IssuerNote(Kept):
    """What a laboratory's reports do and do not state."""

    name: Annotated[str, Field(strict=True, min_length=2, max_length=60)] = Field(
        description="Its name, as its reports print it."
    )
    aliases: list[str] = Field(default_factory=list, description="Other spellings of it; case is ignored.")
    cut_grade_shapes: list[ShapeOrGroup] = Field(description="Shapes for which it states a cut grade.")
    laboratory_grown_letters_until: CalendarDate | None = Field(
        None, description="From this day its reports on laboratory-grown diamonds carry no letter grades."
    )
    color_offset: Offset | None = Field(None, description="How its color grades are read.")
    clarity_offset: Offset | None = Field(None, description="How its clarity grades are read.")
    source: Word = Field(description="Where this is known from: `id` of an entry in `sources`.")


class FloorBand(Kept):
    """One carat band of a floor."""

    carat: Range = Field(
        description="Weights in ct that the band holds for, in hundredths; empty: every weight."
    )
    on_paper: Annotated[str, Field(strict=True)] = Field(
        description="Lowest grade good enough from the report alone."
    )
    if_seen: Annotated[str, Field(strict=True)] | None = Field(
        None, description="Lowest grade good enough once somebody has looked; absent, nothing lower is."
    )


class Floor(Rule):
    """Lowest recommended grade by carat band, for diamonds."""

    grade: Literal["clarity", "color"] = Field(
        description="Which grade has the floor; its bands then name grades of this scale."
    )
    positions: Positions | None = None
    origins: list[Origin] | None = Field(
        None, min_length=1, description="Mined or made, as far as it holds for one only; absent: both."
    )
    tones: list[Tone] | None = Field(
        None, min_length=1, description="Color of the head's metal, for color floors only; absent: both."
    )
    bands: list[FloorBand] = Field(
        min_length=1, description="Bands of weight in ct, without gap, lightest first."
    )

    @model_validator(mode="after")
    def _whole(self) -> "Floor":
        scale = SCALES[self.grade]
        for index, band in enumerate(self.bands):
            for key, grade in (("on_paper", band.on_paper), ("if_seen", band.if_seen)):
                if grade is not None and grade not in scale:
                    near = get_close_matches(grade.upper(), scale.grades, n=1)
                    hint = f" (did you mean {near[0]}?)" if near else ""
                    allowed = f"one of {', '.join(scale.grades)}{hint}"
                    refuse(repr(grade), allowed, "bands", index, key)
            if band.if_seen is not None and scale.rank(band.if_seen) < scale.rank(band.on_paper):
                refuse(
                    f"{band.if_seen} above {band.on_paper}", "a grade no better", "bands", index, "if_seen"
                )
            for key, limit in (("from", band.carat.from_), ("below", band.carat.below)):
                if limit is not None and limit * 100 % 1:
                    refuse(str(limit), "a limit in hundredths of a carat", "bands", index, "carat", key)
        seamless([band.carat for band in self.bands], Decimal(0), "carat")
        if self.grade == "clarity" and self.tones is not None:
            refuse("tones on a clarity floor", "tones only where grade is color", "tones")
        return self


def seamless(ranges: list[Range], first: Decimal, key: str | None) -> None:
    """Refuse ranges that do not cover everything from `first` upwards exactly once."""
    edge: Decimal | None = first
    for index, part in enumerate(ranges):
        at: tuple[str | int, ...] = ("bands", index) if key is None else ("bands", index, key)
        if edge is None:
            refuse(f"a band after an open end ({part.write()})", "the open band last", *at)
        start = first if part.from_ is None else part.from_
        if start != edge:
            fault = "a gap" if start > edge else "an overlap"
            refuse(f"{fault}: {part.write()} after a band that ends at {edge}", f"from {edge}", *at)
        edge = part.below
    if edge is not None:
        refuse(f"a gap: nothing from {edge} upwards", "a last band without below", "bands", len(ranges) - 1)


class WindowSide(Kept):
    """What is said when a value leaves the window on this side."""

    says: Sentence = Field(description="What a value this far out may mean.")
    ask: str = Field(
        strict=True, description="`about` of the entry in `questions` to ask beyond the tolerated range."
    )
    settled_by: dict[FactName, list[str]] | None = Field(
        None, description="Facts and values which, once stated, make the ask a note."
    )


class Window(Rule):
    """Range of a measured value: outside comfort is a note, outside tolerated asks, neither fails."""

    topic: Topic = Field("proportions", description="Topic under which its findings are shown.")
    measure: Annotated[
        str,
        Field(strict=True, json_schema_extra={"enum": list(MEASURES)}),
        token("measure", list(MEASURES)),
    ] = Field(description="Number it is laid over, read from the stone or computed from it.")
    materials: list[Material] | None = Field(
        None, min_length=1, description="Materials it holds for; absent: diamonds."
    )
    unstated: Literal["note", "silent"] = Field(
        "note", description="What is said of a missing value: a note, or nothing."
    )
    comfort: Between = Field(
        description="Values that pass, in the measure's unit; both ends pass. Outside is a note."
    )
    tolerated: Between = Field(
        description="Values that at most get a note, in the measure's unit; both ends do. Outside asks."
    )
    low: WindowSide = Field(description="What is said and asked of a value under `comfort`.")
    high: WindowSide = Field(description="What is said and asked of a value over `comfort`.")

    @model_validator(mode="after")
    def _nested(self) -> "Window":
        if self.comfort.from_ < self.tolerated.from_ or self.comfort.to > self.tolerated.to:
            refuse(self.comfort.write(), f"a range inside tolerated ({self.tolerated.write()})", "comfort")
        return self


class LookBand(Range):
    """One band of length to width, half-open, on the ratio rounded to two decimals."""

    look: Word = Field(description="Style label: a matter of taste, never a fault.")


class Look(Rule):
    """Style labels of length-to-width bands."""

    bands: list[LookBand] = Field(
        min_length=1, description="Bands of the ratio, without gap, smallest first."
    )

    @model_validator(mode="after")
    def _whole(self) -> "Look":
        if self.bands[0].from_ is not None:
            refuse(f"a gap: nothing under {self.bands[0].from_}", "a first band without from", "bands", 0)
        seamless(list(self.bands), Decimal(0), None)
        return self


class GuardRow(Row):
    """One row: when these facts have these values, this is said. The row that names more facts wins."""

    when: dict[FactName, Annotated[list[str], Field(min_length=1)]] = Field(
        description="Facts and the values each may have; empty for every case that no other row names."
    )

    @model_validator(mode="after")
    def _names_values(self) -> "GuardRow":
        for name, values in self.when.items():
            only_values_of(FACTS[name].domain, values, name)
        return self


class Guard(Rule):
    """A table over facts. The compiler walks all their values and proves that one row answers each."""

    topic: Topic = Field(description="Topic under which its findings are shown.")
    materials: list[Material] | None = Field(
        None, min_length=1, description="Materials it holds for; absent: every material."
    )
    positions: Positions | None = None
    ratio: Range | None = Field(
        None, description="Only for stones whose length over width lies in this range."
    )
    threshold: Text | None = Field(None, description="What passes, in words.")
    remedied_by: list[FactName] = Field(
        default_factory=list, description="Facts whose change turns an ask or a fail, cheapest first."
    )
    rows: list[GuardRow] = Field(min_length=1, description="One answer for every combination of the facts.")


class RuleSet(Kept):
    """One version of one named body of judgement."""

    name: Word = Field(description="Name to ask for; also its folder.")
    version: Version = Field(description="Semantic version; also its folder.")
    effective: CalendarDate = Field(description="First day it is in force (UTC), YYYY-MM-DD.")
    title: Sentence = Field(description="What it calls itself.")
    about: Sentence = Field(description="Whose judgement it is and how it leans.")
    subject: Literal["stones", "wording"] = Field(
        "stones", description="What it judges. One of wording has no rules about stones."
    )
    extends: str | None = Field(
        None, strict=True, pattern=r"^[a-z][a-z0-9_]*@[0-9]+\.[0-9]+\.[0-9]+$",
        description="Exact version of another name whose rules hold unless overridden here.",
    )  # fmt: skip
    sources: list[Source] = Field(default_factory=list, description="Where its rules come from.")
    questions: list[QuestionWords] = Field(default_factory=list, description="How its rules ask.")
    issuers: list[IssuerNote] = Field(
        default_factory=list, description="What is known of laboratories' reports."
    )
    floors: list[Floor] = Field(default_factory=list, description="Lowest recommended grades.")
    windows: list[Window] = Field(default_factory=list, description="Ranges of measured values.")
    looks: list[Look] = Field(default_factory=list, description="Style labels of length-to-width bands.")
    guards: list[Guard] = Field(default_factory=list, description="Tables over facts of a stone.")
    pairings: list[Pairing] = Field(
        default_factory=list, description="Tables over facts and measures of a ring."
    )
    companions: list[Companions] = Field(
        default_factory=list, description="Side shapes for each center, best first."
    )
    side_windows: list[SideWindow] = Field(default_factory=list, description="Sizes of side stones.")
    styles: list[Style] = Field(default_factory=list, description="Settings that may be recommended.")
    characters: list[Character] = Field(default_factory=list, description="What each shape is like.")
    perceptions: list[Perception] = Field(
        default_factory=list, description="Differences that an eye can see apart."
    )
    assortments: list[Assortment] = Field(
        default_factory=list, description="Sizes and classes in which substitutes are sold."
    )
    clashes: list[Clash] = Field(
        default_factory=list, description="Parts of a wish that cannot be had together."
    )
    tags: list[Tag] = Field(default_factory=list, description="Words that a CRM puts on a lead.")
    merits: list[Merit] = Field(default_factory=list, description="Terms by which stones are ranked.")
    urgencies: list[Urgency] = Field(default_factory=list, description="How the priority is reckoned.")
    lexicons: list[Lexicon] = Field(default_factory=list, description="Words by which messages are read.")
    captions: list[Caption] = Field(default_factory=list, description="What is written beside a stone.")
    glossaries: list[Glossary] = Field(default_factory=list, description="Words to write it with.")
    phrasebooks: list[Phrasebook] = Field(
        default_factory=list, description="Words by which selling copy is read."
    )
    policies: list[Policy] = Field(default_factory=list, description="What selling copy is held to.")
    namings: list[Naming] = Field(default_factory=list, description="What stones are called in a market.")
    fillers: list[Filler] = Field(default_factory=list, description="Words for what is not stated.")


# Members of RuleSet that hold rules; those of advice judge nothing.
ADVICE_KINDS: Final = (
    "characters", "perceptions", "assortments", "clashes", "tags", "merits", "urgencies", "lexicons",
)  # fmt: skip
WORDING_KINDS: Final = ("phrasebooks", "policies", "namings", "fillers", "captions", "glossaries")
RULE_KINDS: Final = (
    "floors", "windows", "looks", "guards", "pairings", "companions", "side_windows", "styles",
    *ADVICE_KINDS, *WORDING_KINDS,
)  # fmt: skip
