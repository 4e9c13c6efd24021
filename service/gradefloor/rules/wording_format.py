"""The kinds of rule that hold copy to a market's guidance: phrasebooks, policies, namings.

A policy speaks of terms, or of what has to be said somewhere, and is a table over facts like a guard. Which
provision stands behind it differs by market; only one whose own text was read may say `change`.
"""

from collections.abc import Sequence
from typing import Annotated, Final, Literal, get_args

from pydantic import Field, model_validator

from gradefloor.rules.entries import (
    Kept,
    Reasoned,
    Sentence,
    Text,
    Word,
    only_slots,
    only_values_of,
    refuse,
    token,
)
from gradefloor.rules.lexicon_format import Phrase
from gradefloor.rules.mentions import COUNTED
from gradefloor.rules.wording_facts import WORDING_FACTS
from gradefloor.trade.listings import Language, Market
from gradefloor.trade.stones import CalendarDate, Material, Origin

Answer = Literal["clear", "ask", "change"]
WordingFactName = Annotated[
    str,
    Field(strict=True, json_schema_extra={"enum": list(WORDING_FACTS)}),
    token("fact of a text", list(WORDING_FACTS)),
]
# What a wording that would do may leave open until there is a stone.
SLOTS: Final = ("name", "carat", "clarity", "color", "fineness")
ByLanguage = Annotated[dict[Language, Text], Field(min_length=1)]


class Phrasebook(Reasoned):
    """Words of one language for terms. A phrase means one term."""

    language: Language = Field(description="Language of the words.")
    terms: dict[Word, Annotated[list[Phrase], Field(min_length=1)]] = Field(
        min_length=1, description="Terms, and the phrases that mean each; case and accents are ignored."
    )

    @model_validator(mode="after")
    def _listed(self) -> "Phrasebook":
        for term in self.terms:
            if term in COUNTED:
                refuse(repr(term), "a term with words; this one is read from figures", "terms", term)
        return self


class Provision(Kept):
    """What a policy rests on in some markets."""

    markets: list[Market] | None = Field(
        None, min_length=1, description="Absent: every market that the policy names nowhere else."
    )
    section: Text = Field(description="Place in the source: section, article or clause.")
    source: Word | None = Field(None, description="Id of an entry in `sources`; absent, the policy's own.")
    known_from: Literal["text", "report", "memory"] = Field(
        description="`text`: the provision itself was read; `report`: somebody's account of it; `memory`. "
        "Only `text` may say change; the others ask a person at most."
    )
    from_: CalendarDate | None = Field(None, alias="from", description="First day it applies, YYYY-MM-DD.")
    until: CalendarDate | None = Field(None, description="Last day it applies, YYYY-MM-DD.")

    @model_validator(mode="after")
    def _in_order(self) -> "Provision":
        if self.from_ is not None and self.until is not None and self.from_ > self.until:
            refuse(f"from {self.from_} until {self.until}", "from no later than until", "from")
        return self


class PolicyRow(Kept):
    """One row: when these facts have these values, this is said. The row that names more facts wins."""

    when: dict[WordingFactName, Annotated[list[str], Field(min_length=1)]] = Field(
        description="Facts and the values each may have; empty for every case that no other row names."
    )
    verdict: Answer = Field(
        description="clear, ask (a person), or change; `change` is lowered to `ask` where the provision was "
        "not read."
    )
    says: Sentence | None = Field(None, description="Why; absent, the policy's because.")
    instead: ByLanguage | None = Field(
        None,
        description="A wording that would do, needed by ask and change; slots: "
        f"{', '.join(f'{{{slot}}}' for slot in SLOTS)}.",
    )

    @model_validator(mode="after")
    def _whole(self) -> "PolicyRow":
        for name, values in self.when.items():
            only_values_of(WORDING_FACTS[name].domain, values, name)
        if self.verdict != "clear" and self.instead is None:
            refuse(f"verdict {self.verdict} without instead", "a wording that would do", "verdict")
        for language, text in (self.instead or {}).items():
            only_slots(text, SLOTS, "instead", language)
        return self


class Policy(Reasoned):
    """What is said of a term where it is mentioned, or of terms of which one has to be mentioned."""

    speaks_of: list[Word] | None = Field(
        None, min_length=1, description="Terms whose every mention is looked at."
    )
    requires: list[Word] | None = Field(
        None, min_length=1, description="Terms of which one has to stand somewhere, not negated."
    )
    provisions: list[Provision] = Field(min_length=1, description="What it rests on, by market.")
    rows: list[PolicyRow] = Field(min_length=1, description="One answer for every combination of facts.")

    @model_validator(mode="after")
    def _about_something(self) -> "Policy":
        if (self.speaks_of is None) == (self.requires is None):
            refuse("neither or both of speaks_of and requires", "one of them", "speaks_of")
        named: list[str] = []
        for index, provision in enumerate(self.provisions):
            markets: Sequence[str] = provision.markets or ("every other market",)
            for market in markets:
                if market in named:
                    refuse(f"{market} again", "each market once", "provisions", index, "markets")
                named.append(market)
        return self


class Naming(Reasoned):
    """What a stone is called in some markets, by how it came about."""

    markets: list[Market] = Field(min_length=1, description="Markets that accept these names.")
    names: dict[Literal["natural", "laboratory_grown", "not_stated"] | Material, ByLanguage] = Field(
        description="What it is called, by language: a diamond by its origin, anything else by its material."
    )

    @model_validator(mode="after")
    def _whole(self) -> "Naming":
        for origin in (*get_args(Origin), "not_stated", *(m for m in get_args(Material) if m != "diamond")):
            for language in get_args(Language):
                if language not in self.names.get(origin, {}):
                    refuse(f"no {language} name for {origin}", "a name in every language", "names", origin)
        return self


class Filler(Reasoned):
    """What stands in a slot where the stone does not state it."""

    language: Language = Field(description="Language of the words.")
    slots: dict[Literal["carat", "clarity", "color", "fineness"], Text] = Field(
        description="Words for each slot."
    )

    @model_validator(mode="after")
    def _whole(self) -> "Filler":
        for slot in SLOTS[1:]:
            if slot not in self.slots:
                refuse(f"no words for {slot}", "words for every slot but name", "slots")
        return self
