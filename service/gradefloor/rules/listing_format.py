"""The kinds of rule that write a shop's page: captions and glossaries, in every language that ships.

A caption is a table over facts like a guard; its rows give a label, parts of sentences and a caution. A text
with a slot for something that is not known is left out.
"""

from typing import Annotated, Final, Literal, get_args

from pydantic import Field, model_validator

from gradefloor.rules.entries import Kept, Reasoned, Word, only_slots, only_values_of, refuse, token
from gradefloor.rules.listing_facts import LISTING_FACTS
from gradefloor.trade.listings import Language
from gradefloor.trade.shapes import SHAPES, ShapeName
from gradefloor.trade.stones import Treatment

SLOTS: Final = (
    "name", "shape", "length", "width", "ratio", "look", "like", "area", "carat", "color", "clarity",
    "treatments", "issuer", "number", "cut", "depth", "table",
)  # fmt: skip
ListingFactName = Annotated[
    str,
    Field(strict=True, json_schema_extra={"enum": list(LISTING_FACTS)}),
    token("fact of a listing", list(LISTING_FACTS)),
]


def _in_every_language(texts: dict[Language, str], name: str) -> None:
    for language in get_args(Language):
        if language not in texts:
            refuse(f"no {language} text", "a text in every language", name)
        only_slots(texts[language], SLOTS, name, language)


Short = Annotated[str, Field(strict=True, min_length=1, max_length=300)]
Texts = dict[Language, Short]


class Label(Kept):
    """A few words beside a stone, with a key that stays the same in every language."""

    key: Annotated[str, Field(strict=True, pattern=r"^[a-z][a-z0-9_]*(\.[a-z0-9_]+)*$", max_length=60)] = (
        Field(description="The same in every language and version.")
    )
    tone: Literal["plain", "good", "watch", "ask"] = Field(
        description="plain: fact or taste; good; watch: something to mind; ask: something to learn."
    )
    text: Texts = Field(description="The words, by language.")

    @model_validator(mode="after")
    def _whole(self) -> "Label":
        _in_every_language(self.text, "text")
        return self


class CaptionRow(Kept):
    """One row: when these facts have these values, this is written. The row that names more facts wins."""

    when: dict[ListingFactName, Annotated[list[str], Field(min_length=1)]] = Field(
        description="Facts and the values each may have; empty for every case that no other row names."
    )
    label: Label | None = Field(None, description="A few words beside the stone.")
    opening: Texts | None = Field(None, description="How both sentences begin; of one caption only.")
    short: Texts | None = Field(None, description="Its part of the short sentence, without a full stop.")
    long: Texts | None = Field(None, description="Its own sentence in the long text.")
    caution: Texts | None = Field(None, description="What to be careful with, as a sentence.")

    @model_validator(mode="after")
    def _whole(self) -> "CaptionRow":
        for name, values in self.when.items():
            only_values_of(LISTING_FACTS[name].domain, values, name)
        for name in ("opening", "short", "long", "caution"):
            texts = getattr(self, name)
            if texts is not None:
                _in_every_language(texts, name)
        return self


class Caption(Reasoned):
    """What is written about one side of a stone."""

    about: Word = Field(description="Which side of it; parts of sentences come in the order of the file.")
    rows: list[CaptionRow] = Field(min_length=1, description="One text for every combination of facts.")


class Glossary(Reasoned):
    """Words of one language for what is a token elsewhere."""

    language: Language = Field(description="Language of the words.")
    shapes: dict[ShapeName, Short] = Field(description="Shapes, as they stand in a sentence.")
    looks: dict[Word, Short] = Field(
        description="Looks of outlines, each by the `look` of a band in `looks`."
    )
    treatments: dict[Treatment, Short] = Field(description="Treatments, as a disclosure says them.")
    cuts: dict[Word, Short] = Field(description="Grades of cut, each by the grade.")
    styles: dict[Word, Short] = Field(description="Settings, each by the `name` of a style.")
    questions: dict[str, Short] = Field(
        description="What is missing and would help, by the `about` of the question that asks for it."
    )

    @model_validator(mode="after")
    def _whole(self) -> "Glossary":
        for kind, words in (("shapes", SHAPES), ("treatments", get_args(Treatment))):
            for word in words:
                if word not in getattr(self, kind):
                    refuse(f"no word for {word}", "a word for each", kind)
        return self
