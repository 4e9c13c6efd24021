"""The rule kind `lexicons`: which words of a language mean what in a customer's message.

Only words and phrases, never patterns: upper and lower case, hyphens and kinds of spaces are alike, and every
inflection that is to be read is listed. How numbers and days are put together is not a rule.
"""

from difflib import get_close_matches
from typing import Annotated, Final, Literal, NamedTuple, get_args

from pydantic import Field, model_validator

from gradefloor.rules.entries import Reasoned, refuse, token
from gradefloor.trade.stones import Metal, Origin, Wear

# Shapes that a message is read for: those a center is sold in. Side shapes are the workshop's choice.
MessageShape = Literal[
    "round", "princess", "radiant", "cushion", "cushion_brilliant", "cushion_modified", "oval", "pear",
    "marquise", "heart", "trillion", "emerald", "asscher", "carre", "hexagon", "old_european", "old_mine",
    "rose",
]  # fmt: skip
_SHAPES: Final[tuple[str, ...]] = get_args(MessageShape)

MONTHS: Final = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip

# Numbers that may have a word of their own.
_NUMBERS: Final = (
    "0.25", "0.33", "0.5", "0.66", "0.75", "1", "1.25", "1.5", "1.75", "2", "2.5", "3", "3.5", "4", "4.5",
    "5", "6", "7", "8", "9", "10", "11", "12", "13", "14", "15", "16", "17", "18", "19", "20", "30", "40",
    "50", "60", "70", "80", "90", "1000", "2000", "3000", "4000", "5000", "6000", "7000", "8000", "9000",
    "10000", "12000", "15000", "20000", "25000", "30000", "50000",
)  # fmt: skip


class LexiconField(NamedTuple):
    """A thing that words can mean: its closed list of tokens, and what they stand for."""

    tokens: tuple[str, ...]
    about: str


# What a message is read for.
_READ: Final = {
    "shapes": LexiconField(_SHAPES, "A shape wanted for the center."),
    "gem": LexiconField(("emerald", "sapphire", "ruby"), "A colored gem as the center."),
    "budget_currency": LexiconField(("EUR", "USD", "GBP", "CHF", "CAD", "INR"), "Sign or word beside sums."),
    "budget_covers": LexiconField(
        ("stone", "ring", "set", "unclear"),
        "What a budget pays for; `unclear` tells that it is more than one.",
    ),
    "tax_included": LexiconField(("included", "excluded"), "Whether tax is in the sum."),
    "metal": LexiconField(get_args(Metal), "Metal of the ring."),
    "tastes": LexiconField(
        (
            "broad_flashes",
            "lively_sparkle",
            "calm",
            "showy",
            "long",
            "broad",
            "soft",
            "crisp",
            "antique",
        ),
        "What the wearer likes in a stone.",
    ),
    "warmth": LexiconField(("welcome", "unwelcome"), "How a warm tint is taken."),
    "style": LexiconField(
        (
            "solitaire",
            "pave",
            "halo",
            "hidden_halo",
            "three_stone",
            "cathedral",
            "channel",
            "split_shank",
            "bezel",
            "half_bezel",
        ),
        "The setting by its name.",
    ),
    "height": LexiconField(("low", "high"), "How the center stands."),
    "band_fit": LexiconField(("flush", "gap", "contour"), "How the wedding band lies beside the ring."),
    "origins": LexiconField(get_args(Origin), "Where the diamond comes from."),
    "materials": LexiconField(
        ("moissanite", "cubic_zirconia", "white_sapphire"), "A colorless center other than diamond."
    ),
    "wear": LexiconField(get_args(Wear), "How the ring is worn."),
    "avoids": LexiconField(("nickel",), "What must not touch the skin."),
    "surprise": LexiconField(("secret",), "It must stay secret."),
    "heirloom": LexiconField(("stone", "metal"), "An own stone or own gold is to be used."),
    "comparing": LexiconField(("offer",), "Another shop's offer is spoken of."),
    "errand": LexiconField(("valuation", "repair", "resale"), "Something other than a new ring is wanted."),
}  # fmt: skip

# What decides how something is read.
_AROUND: Final = {
    "unsure_shapes": LexiconField(
        _SHAPES, "Words that mean a shape only where a stone or a ring is spoken of, as a heart does."
    ),
    "emerald": LexiconField(
        ("either", "gem_sign", "cut_sign"),
        "`either`: the word for cut and gem alike; the signs, in one sentence with it, tell which.",
    ),
    "inherited": LexiconField(
        ("owner", "stone", "metal"), "`owner` shortly before `stone` or `metal` makes it an heirloom."
    ),
    "topics": LexiconField(
        (
            "stone",
            "side",
            "side_lead",
            "budget",
            "other_price",
            "finger",
            "inner_diameter",
            "gold",
            "length",
            "other_length",
            "phone",
        ),
        "What a sentence speaks of. `side` follows and `side_lead` comes before a shape of a side stone; "
        "`other_price` is a sum that is no budget; `other_length` a measure that is not the stone's.",
    ),
    "units": LexiconField(
        (
            "carat",
            "total_carat",
            "point",
            "millimeter",
            "thousand",
            "lakh",
            "day",
            "week",
            "month",
            "year",
            "other",
        ),
        "What a number counts; `other`: something that is never read.",
    ),
    "numbers": LexiconField(_NUMBERS, "Numbers in words."),
    "weights": LexiconField(_NUMBERS, "Words that are a number and carats in one."),
    "joins": LexiconField(
        ("to", "or", "and", "between", "times", "article", "and_half", "and_quarter", "ordinal"),
        "What stands between numbers, or between things of one kind.",
    ),
    "hedges": LexiconField(("about", "up_to", "at_least", "guess"), "How certain a number is."),
    "negations": LexiconField(
        ("before", "after", "both", "aside", "stop"),
        "`before` stands before what it refuses, `after` behind it, `both` either way; `aside` passes over "
        "what follows; `stop` ends what a refusal reaches.",
    ),
    "time": LexiconField(
        ("within", "until", "left", "part", "past", "after"),
        "`within`: so long from today; `until`: before a day; `left`: behind a span; `part`: of a month; "
        "`past` and `after`: no day by which anything is needed.",
    ),
    "months": LexiconField(MONTHS, "Months."),
    "days": LexiconField(
        (
            "christmas",
            "new_years_eve",
            "new_year",
            "valentines_day",
            "saint_nicholas",
            "halloween",
            "moving",
        ),
        "Days with a name; `moving`: on another date every year.",
    ),
    "sizes": LexiconField(("us", "uk", "iso"), "Systems of finger sizes."),
    "skipped": LexiconField(
        ("phrase", "name"), "`phrase` means nothing here; `name`: a first name where it is capitalized."
    ),
    "streets": LexiconField(("word", "ending"), "Words, and ends of words, that make a street."),
    "compounds": LexiconField(("tail",), "Ends of words that leave the meaning of what they are joined to."),
    "common": LexiconField(("word",), "Common words, by which a language is told."),
}  # fmt: skip
LEXICON_FIELDS: Final[dict[str, LexiconField]] = {**_READ, **_AROUND}

FieldName = Annotated[
    str,
    Field(strict=True, json_schema_extra={"enum": list(LEXICON_FIELDS)}),
    token("field of a lexicon", list(LEXICON_FIELDS)),
]
Phrase = Annotated[str, Field(strict=True, min_length=1, max_length=60)]


class Lexicon(Reasoned):
    """Words of one language for one field. A phrase has one meaning in a field."""

    language: str = Field(
        strict=True, pattern="^[a-z]{2,3}$", description="Code of the language (ISO 639).", examples=["en"]
    )
    field: FieldName = Field(description="What the words are about; says which tokens they may mean.")
    words: dict[str, Annotated[list[Phrase], Field(min_length=1)]] = Field(
        min_length=1, description="Tokens of the field, and the phrases that mean each."
    )

    @model_validator(mode="after")
    def _of_the_field(self) -> "Lexicon":
        tokens = LEXICON_FIELDS[self.field].tokens
        for word in self.words:
            if word not in tokens:
                near = get_close_matches(word, tokens, n=1)
                hint = f" (did you mean {near[0]}?)" if near else ""
                refuse(repr(word), f"a value of {self.field}: {', '.join(tokens)}{hint}", "words", word)
        return self
