"""Customers' messages read into values of closed lists. Every message here is invented.

What a message means is common practice, no source, unless a check names one. Invariants, for any text:
1. reading never raises; spans lie in the text, in order, and are never empty;
2. nothing comes out but numbers, days and tokens of closed lists;
3. a reading depends on the text, the day and the words alone;
4. text before a message moves its spans, by code points, and changes nothing else;
5. invisible characters and other kinds of spaces and dashes change no value;
6. work grows with the length of the text, not with its square.
"""

import json
import re
import sys
from collections.abc import Iterator
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from types import FrameType
from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradefloor.judge.message_findings import FIELDS, WHY, MessageReading, answer
from gradefloor.judge.messages import read_message
from gradefloor.rules.entries import Kept
from gradefloor.rules.lexicon_format import LEXICON_FIELDS, Lexicon
from gradefloor.rules.lexicons import CompiledLexicon, compile_lexicons, tokens
from gradefloor.rules.parse import parse
from gradefloor.rules.strict_yaml import Document, Fault, read
from samples import RULESETS

LINES: Final = (Path(__file__).parent / "data" / "messages_written.jsonl").read_text().splitlines()
WRITTEN: Final[list[dict[str, Any]]] = [json.loads(line) for line in LINES]
DAY: Final = date(2026, 11, 25)
HOUSE: Final = RULESETS / "house" / "1.3.0" / "ruleset.yaml"


class Lexicons(Kept):
    """The one part of a rule set that messages need."""

    lexicons: list[Lexicon]


def compiled(document: Document) -> tuple[dict[str, CompiledLexicon], list[Fault]]:
    """Tables and faults of the lexicons of a rule file."""
    assert isinstance(document.data, dict)
    written = document.data["lexicons"]
    document.data = {"lexicons": written}
    parsed, faults = parse(Lexicons, document)
    if parsed is None:
        return {}, faults
    places = {rule.id: place for place, rule in enumerate(parsed.lexicons)}

    def refuse(rule: str, found: str, allowed: str, *at: str | int) -> None:
        faults.append(document.fault(("lexicons", places[rule], *at), found, allowed))

    return compile_lexicons(parsed.lexicons, refuse), faults


@cache
def house() -> dict[str, CompiledLexicon]:
    tables, faults = compiled(read(HOUSE.read_bytes(), "ruleset.yaml"))
    assert faults == []
    return tables


def reading(text: str, language: str | None = "en", as_of: date = DAY) -> MessageReading:
    return read_message(house(), text, as_of, language)


def values(text: str, language: str | None = "en", as_of: date = DAY) -> dict[str, object]:
    return {found.field: found.value for found in reading(text, language, as_of).reads}


def left(text: str, language: str = "en") -> set[tuple[str, str]]:
    return {(found.field, found.why) for found in reading(text, language).open}


# Labelled messages


@pytest.mark.parametrize("written", WRITTEN, ids=[f"{m['language']}_{n}" for n, m in enumerate(WRITTEN, 1)])
def test_a_written_message_reads_as_labelled(written: dict[str, Any]) -> None:
    assert (
        values(written["message"], written["language"], date.fromisoformat(written["as_of"]))
        == written["reads"]
    )


@pytest.mark.parametrize("written", WRITTEN, ids=[f"{m['language']}_{n}" for n, m in enumerate(WRITTEN, 1)])
def test_the_language_of_a_message_is_told_by_its_words(written: dict[str, Any]) -> None:
    assert reading(written["message"], None).language == written["language"]


def test_labels_touch_every_field() -> None:
    assert {field for written in WRITTEN for field in written["reads"]} == set(FIELDS)


# Numbers

CARATS: Final = [
    ("2 ct", [2]), ("2ct", [2]), ("2.5ct", [2.5]), ("1,5 carat", [1.5]), (".75ct", [0.75]),
    ("0.05 ct", [0.05]),
    ("0.04 ct", None), ("50 ct", [50]), ("50.1 ct", None), ("2-2.5ct", [2, 2.5]), ("2 – 2.5 ct", [2, 2.5]),
    ("2.5 to 2 ct", [2, 2.5]), ("2ct-2.5ct", [2, 2.5]), ("between one and two carats", [1, 2]),
    ("from 1 to 1.5 ct", [1, 1.5]), ("1.5 or 2 ct", [1.5, 2]), ("a carat", [1]),
    ("a carat and a half", [1.5]),
    ("half a carat", [0.5]), ("one and a half carats", [1.5]), ("three quarters of a carat", [0.75]),
    ("1 1/2 ct", [1.5]), ("1½ ct", [1.5]), ("½ ct", [0.5]), ("3/4 ct", [0.75]), ("70 pointer", [0.7]),
    ("1.5 ct, up to 2 ct", [1.5, 2]), ("1 ct or 1 ct", [1]), ("1-1.5 ct, say 1.2 ct", [1, 1.5]),
    ("1 ct. No, 2 ct", None), ("1-2-3 ct", None), ("14k gold", None), ("18 karat white gold", None),
    ("14 ct oval", [14]), ("white gold, 18ct", None), ("9ct rose gold", None), ("9ct gold ring", None),
    ("2 ctw", None),
    ("a 2 ct diamond in 18ct gold", [2]), ("1'234 ct", None), ("9" * 40 + " ct", None), ("1.2.3 ct", None),
    ("0.30-0.40ct", [0.3, 0.4]), ("１.5 ct", [1.5]), ("1\u00a0ct", [1]), ("1\u202fct", [1]),
    ("0.5 ct side stones", None), ("5 carats of gold", [5]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "carat"), CARATS)
def test_carats_are_read(text: str, carat: list[float] | None) -> None:
    assert values(text).get("carat") == carat


KARAT: Final = [
    ("1,5 Karat", [1.5]), ("zwischen 1 und 1,5 Karat", [1, 1.5]), ("anderthalb Karat", [1.5]),
    ("ein Karat", [1]), ("ein halbes Karat", [0.5]), ("Einkaräter", [1]), ("18 Karat Gold", None),
    ("18 Karat Weißgold", None), ("von 1 bis 2 ct", [1, 2]), ("1 1/4 Karat", [1.25]), ("2-karätig", None),
]  # fmt: skip


@pytest.mark.parametrize(("text", "carat"), KARAT)
def test_carats_are_read_in_german(text: str, carat: list[float] | None) -> None:
    assert values(text, "de").get("carat") == carat


# Sums need a currency, thousands, or a word for a budget.
SUMS: Final = [
    ("15-20k", [15000, 20000]), ("15k-20k", [15000, 20000]), ("$15,000-$20,000", [15000, 20000]),
    ("€5.000", [5000]), ("5.000 €", [5000]), ("5,000 €", [5000]), ("5.000,50 €", [5000.5]),
    ("5,000.50 €", [5000.5]), ("5.00 €", None), ("50 €", [50]), ("49.99 €", None), ("10'000 CHF", [10000]),
    ("15 000 EUR", [15000]), ("10 000 - 12 000 EUR", [10000, 12000]), ("5000,- €", [5000]),
    ("5000.- CHF", [5000]), ("8.5k", [8500]), ("8,5k", [8500]), ("800 to 1k", [800, 1000]),
    ("eight grand", [8000]), ("twelve thousand dollars", [12000]), ("twenty-five thousand", [25000]),
    ("₹2 lakh", [200000]), ("max 10k", [10000]), ("under 8,000", [8000]), ("under 199", None),
    ("budget 8000", [8000]), ("budget 200", [200]), ("budget 199", None), ("8000", None),
    ("my budget for 2027 is 8000", [8000]), ("budget of 8k, max 10k", [8000, 10000]),
    ("8k or 9k, no 12k", None), ("15-20k, say 18k", [15000, 20000]), ("in 18k please", None),
    ("quoted $9,200", None), ("they quoted 9k but my budget is 8k", [8000]), ("18k max", [18000]),
    ("$100,000,000", [100000000]), ("$100,000,001", None), ("9k - 8k", [8000, 9000]),
    ("€ 5000 - $ 6000", None), ("$7,000 CAD", [7000]), ("$4-5,000", [4000, 5000]),
    ("4 to 5,000 dollars", [4000, 5000]), ("$6-5,000", None),
    ("9k gold ring", None), ("budget 9k, gold ring", [9000]), ("max 10k, white gold", [10000]),
    ("budget 5k, 18k gold", [5000]), ("my budget for it is about 10k, yellow gold", [10000]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "amount"), SUMS)
def test_sums_are_read(text: str, amount: list[float] | None) -> None:
    assert values(text).get("budget_amount") == amount


LENGTHS: Final = [
    ("about 8 mm long", [8]), ("8x6 mm", [8]), ("6 x 8mm", [8]), ("8 mm x 6 mm", [8]), ("8 by 6 mm", [8]),
    ("9×7", [9]), ("8-9 mm", [8, 9]), ("2 mm", [2]), ("1.9 mm", None), ("40 mm long", [40]),
    ("41 mm long", None),
    ("a 2 mm band", None), ("band width 2.2 mm", None), ("8 mm long and 6 mm wide", [8]), ("2 x 3 ct", None),
    ("an 8 mm stone on a 2 mm band", [8]), ("size 54 mm", None), ("ring size 16.5 mm across", None),
]  # fmt: skip


@pytest.mark.parametrize(("text", "length"), LENGTHS)
def test_lengths_are_read(text: str, length: list[float] | None) -> None:
    assert values(text).get("length_mm") == length


# Currency, what is covered, tax


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("$5k", "USD"), ("C$5k", "CAD"), ("US$5k", "USD"), ("5k quid", "GBP"), ("£5k", "GBP"),
        ("5k CHF", "CHF"),
        ("5k", None), ("$7,000 CAD", "CAD"), ("5k euros, another shop wants $6k", "EUR"),
        ("budget in euros: 5000", "EUR"), ("$5k or €5k", None),
    ],
)  # fmt: skip
def test_a_currency_is_read_where_it_is_said(text: str, code: str | None) -> None:
    assert values(text).get("budget_currency") == code


@pytest.mark.parametrize(
    ("text", "covers"),
    [
        ("8k for the stone alone", "stone"), ("8k for the ring", "ring"),
        ("8k for the ring and wedding band", "set"),
        ("8k, ring included, without the band", "ring"), ("8k for both rings", "set"), ("8k all in", None),
        ("8k. That's for the stone alone.", "stone"), ("8k. He long looked for the ring of her dreams", None),
        ("8k for the ring or 5k for the stone", None),
    ],
)  # fmt: skip
def test_what_a_budget_covers_is_read_only_where_it_is_said(text: str, covers: str | None) -> None:
    assert values(text).get("budget_covers") == covers


def test_a_sum_without_its_basis_stays_open() -> None:
    basis = {"budget_currency", "budget_covers", "tax_included"}
    assert left("budget 8000") == {(field, "not_said") for field in basis}
    assert left("$8,000 incl. tax for the ring") == set()


def test_all_in_tells_that_more_than_the_stone_is_meant() -> None:
    assert ("budget_covers", "more_than_stone") in left("€8k all in")


def test_a_question_about_tax_says_nothing() -> None:
    assert "tax_included" not in values("Budget 8k. Is VAT included?")


# Shapes and what is refused


@pytest.mark.parametrize(
    ("text", "wanted", "refused"),
    [
        ("no princess", None, ["princess"]), ("anything but round", None, ["round"]),
        ("oval, not princess", ["oval"], ["princess"]), ("not oval but pear", ["pear"], ["oval"]),
        ("no round, princess or heart cut", None, ["round", "princess", "heart"]),
        ("no halo, oval please", ["oval"], None), ("an oval instead of a pear", ["oval"], None),
        ("marquise cuts are not my thing", None, ["marquise"]), ("oval. no oval", None, None),
        ("an oval with pear side stones", ["oval"], None), ("a cushion flanked by pears", ["cushion"], None),
        ("she stole my heart with her radiant smile, princess that she is", None, None),
        ("a heart of a carat", ["heart"], None), ("Round, please.", ["round"], None),
        ("all year round I dream of an oval", ["oval"], None),
        ("not sure if oval or pear", ["oval", "pear"], None),
        ("OVAL", ["oval"], None), ("square emerald cut", ["asscher"], None),
        ("emerald-cut", ["emerald"], None),
        ("old mine cut", ["old_mine"], None), ("neither pear nor oval", None, ["pear", "oval"]),
    ],
)  # fmt: skip
def test_shapes_wanted_and_refused(text: str, wanted: list[str] | None, refused: list[str] | None) -> None:
    found = values(text)
    assert (found.get("shapes"), found.get("refused_shapes")) == (wanted, refused)


@pytest.mark.parametrize(
    ("text", "wanted", "refused"),
    [
        ("bitte kein Herz", None, ["heart"]), ("Princess gefällt ihr gar nicht", None, ["princess"]),
        ("weder Oval noch Tropfen", None, ["oval", "pear"]),
        ("nicht Oval, sondern Asscher", ["asscher"], ["oval"]),
        ("rund 5.000 Euro", None, None), ("rund, 1 Karat", ["round"], None), ("Ovaldiamant", ["oval"], None),
        ("von ganzem Herzen ein Oval", ["oval"], None), ("Smaragdschliff", ["emerald"], None),
    ],
)  # fmt: skip
def test_shapes_in_german(text: str, wanted: list[str] | None, refused: list[str] | None) -> None:
    found = values(text, "de")
    assert (found.get("shapes"), found.get("refused_shapes")) == (wanted, refused)


@pytest.mark.parametrize(
    ("text", "language", "shapes", "gem"),
    [
        ("a 2 ct emerald", "en", ["emerald"], None), ("an emerald diamond", "en", ["emerald"], None),
        ("a real emerald of 2 ct", "en", None, "emerald"), ("a green emerald", "en", None, "emerald"),
        ("an emerald or an asscher", "en", ["emerald"], None), ("an emerald", "en", None, None),
        ("an emerald cut emerald, green", "en", ["emerald"], "emerald"),
        ("Smaragd als Stein", "de", None, "emerald"),
        ("an emerald cut sapphire", "en", ["emerald"], "sapphire"), ("no emerald cut", "en", None, None),
        ("Smaragd, 1,5 ct", "de", ["emerald"], None), ("sapphire side stones", "en", None, None),
    ],
)  # fmt: skip
def test_an_emerald_is_a_cut_or_a_gem(
    text: str, language: str, shapes: list[str] | None, gem: str | None
) -> None:
    found = values(text, language)
    told = [shape for shape in ("emerald",) if shape in (found.get("shapes") or [])] or None  # type: ignore[operator]
    assert (told, found.get("gem")) == (shapes, gem)


def test_an_emerald_that_could_be_either_stays_open() -> None:
    assert left("I'd like an emerald ring") == {("shapes", "gem_or_cut")}


@pytest.mark.parametrize(
    ("text", "style"),
    [
        ("no halo", None), ("no halo or pavé", None), ("not a halo but a bezel", "bezel"),
        ("hidden halo", "hidden_halo"),
        ("without a halo, a solitaire", "solitaire"), ("a solitaire with a hidden halo", "hidden_halo"),
        ("halo with a pavé band", "halo"), ("a halo or a solitaire", None), ("she doesn't like halos", None),
        ("halos are not for me", None), ("a halo. no, no halo", None), ("half-bezel", "half_bezel"),
    ],
)  # fmt: skip
def test_a_refused_setting_is_not_read(text: str, style: str | None) -> None:
    assert values(text).get("style") == style


def test_an_allergy_is_read_though_it_is_refused() -> None:
    assert values("no nickel please")["avoids"] == ["nickel"]
    assert "avoids" not in values("she is not allergic to nickel")


# Fingers

US: Final = "us"
FINGERS: Final = [
    ("US 6", ("us", "6"), None), ("size 6.5 US", ("us", "6.5"), None), ("size US 6 1/2", ("us", "6.5"), None),
    ("US size 5 3/4", ("us", "5.75"), None), ("ring size L", ("uk", "L"), None),
    ("size L½ UK", ("uk", "L½"), None),
    ("size L 1/2", ("uk", "L½"), None), ("ring size I think is 6", None, "6"),
    ("size 52", ("iso", "52"), None),
    ("size 39", None, "39"), ("size 41", ("iso", "41"), None), ("size 76", ("iso", "76"), None),
    ("size 77", None, None),
    ("size 40", None, None), ("she's about a 6", None, "6"), ("I think she's a US 6", None, "6"),
    ("size 54, but I'm not sure", None, "54"), ("US 6 or US 7", None, None),
    ("6 or 6.5 ring size", None, None),
    ("US 6, that is 52 in EU", ("us", "6"), None), ("US 6, that is 60 in EU", None, None),
    ("size 17, that is 54 in EU", ("iso", "54"), None), ("size 15, that is 54 in EU", None, None),
    ("finger size: 17 (EU 54)", ("iso", "54"), None), ("let us 6 people in", None, None),
    ("US 17", None, None), ("a size 2 ct", None, None),
    ("inner circumference 52 mm", ("iso", "52"), None), ("she is 29", None, None),
]  # fmt: skip


@pytest.mark.parametrize(("text", "finger", "guess"), FINGERS)
def test_finger_sizes(text: str, finger: tuple[str, str] | None, guess: str | None) -> None:
    found = values(text)
    wanted = None if finger is None else dict(zip(("system", "size"), finger, strict=True))
    assert (found.get("finger"), found.get("finger_guess")) == (wanted, guess)


def test_a_guessed_finger_stays_open() -> None:
    assert left("she's about a 6") == {("finger", "only_a_guess")}
    assert left("size US 6 or US 7") == {("finger", "more_than_one")}
    assert left("US 17") == {("finger", "off_the_table")}


# Days

DAYS: Final = [
    ("by 14 February", "2027-02-14"), ("14 February 2027", "2027-02-14"),
    ("February 14th, 2027", "2027-02-14"),
    ("the 14th of February", "2027-02-14"), ("2027-02-14", "2027-02-14"), ("14.02.2027", "2027-02-14"),
    ("14/02/2027", "2027-02-14"), ("02/14/2027", "2027-02-14"), ("03/04/2027", None),
    ("04/04/2027", "2027-04-04"),
    ("14.2.27", "2027-02-14"), ("by 25 November", "2026-11-25"), ("by 24 November", "2027-11-24"),
    ("by November", "2027-11-01"), ("in December", "2026-12-01"), ("by March 2027", "2027-03-01"),
    ("by November 2026", "2026-11-25"), ("by 29 February", "2028-02-29"), ("by 31 February", None),
    ("before Christmas", "2026-12-24"), ("for Valentine's Day", "2027-02-14"),
    ("by New Year's Eve", "2026-12-31"),
    ("in 6 weeks", "2027-01-06"), ("in six weeks", "2027-01-06"), ("within the next 10 days", "2026-12-05"),
    ("in 3 months", "2027-02-25"), ("in 2-3 weeks", "2026-12-09"), ("we have 6 weeks left", "2027-01-06"),
    ("6 weeks ago", None), ("1 January 2020", None), ("we met in May", None), ("may I ask", None),
    ("last December", None), ("at Easter", None), ("by May or June", "2027-05-01"), ("after Christmas", None),
    ("in 0 weeks", None), ("in 1001 weeks", None), ("merry Christmas", None),
]  # fmt: skip


@pytest.mark.parametrize(("text", "day"), DAYS)
def test_days_are_read(text: str, day: str | None) -> None:
    assert values(text).get("needed_by") == day


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("bis zum 14. Februar", "2027-02-14"), ("am 14.2.", "2027-02-14"), ("bis 31.3.2027", "2027-03-31"),
        ("vor Weihnachten", "2026-12-24"), ("Anfang März", "2027-03-01"), ("in zwei Monaten", "2027-01-25"),
        ("vor 6 Wochen", None), ("bis Silvester", "2026-12-31"), ("seit Mai", None),
    ],
)  # fmt: skip
def test_days_are_read_in_german(text: str, day: str | None) -> None:
    assert values(text, "de").get("needed_by") == day


@given(st.dates(date(2000, 1, 1), date(2090, 1, 1)), st.integers(1, 99))
def test_weeks_from_today_are_seven_days_each(as_of: date, weeks: int) -> None:
    """Checked against the calendar of the standard library."""
    assert values(f"in {weeks} weeks", as_of=as_of)["needed_by"] == str(as_of + timedelta(days=7 * weeks))


@given(st.dates(date(2000, 1, 1), date(2090, 1, 1)), st.dates(date(2001, 1, 1), date(2001, 12, 31)))
def test_a_day_without_a_year_is_the_next_one(as_of: date, day: date) -> None:
    found = date.fromisoformat(str(values(f"by {day:%d %B}", as_of=as_of)["needed_by"]))
    assert (found.month, found.day) == (day.month, day.day)
    assert 0 <= (found - as_of).days < 366


def test_days_that_settle_nothing_stay_open() -> None:
    assert left("by 1 January 2020") == {("needed_by", "passed")}
    assert left("by March") == {("needed_by", "no_day")}
    assert left("by 03/04/2027") == {("needed_by", "day_or_month")}
    assert left("at Easter") == {("needed_by", "moves")}


def test_today_has_not_passed_and_yesterday_has() -> None:
    assert values("by 2026-11-25")["needed_by"] == "2026-11-25"
    assert left("by 2026-11-24") == {("needed_by", "passed")}


# Contradictions


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("$8k. No wait, $9k.", "budget_amount"), ("1 ct, no, 2 ct", "carat"),
        ("8 mm long or rather 9 mm long", "length_mm"),
        ("platinum or white gold", "metal"), ("low setting, high setting", "height"),
        ("$8k or €8k", "budget_currency"),
        ("$8k incl. tax, plus tax", "tax_included"), ("flush, a small gap is fine", "band_fit"),
    ],
)  # fmt: skip
def test_of_two_that_differ_none_is_taken(text: str, field: str) -> None:
    assert field not in values(text)
    assert (field, "more_than_one") in left(text)


# Spans


def test_spans_count_code_points_of_the_text_as_sent() -> None:
    text = "💍 Bitte Weißgold, 1½ ct, Ovalschliff"
    for found in reading(text, "de").reads:
        (start, end) = found.spans[0]
        assert (
            text[start:end] == {"metal": "Weißgold", "carat": "1½ ct", "shapes": "Ovalschliff"}[found.field]
        )


def test_spans_hold_over_folded_letters_and_marks() -> None:
    text = "ﬁne: e\u0301 PLATI\u00adNUM"
    (found,) = reading(text).reads
    assert text[slice(*found.spans[0])] == "PLATI\u00adNUM"


def test_an_answer_of_the_wire_has_values_and_places() -> None:
    reads, still_open = answer(reading("an oval, she's about a 6"))
    assert reads[0] == {"field": "shapes", "value": ["oval"], "span": [[3, 7]]}
    assert [(found["field"], found["why"], found["says"]) for found in still_open] == [
        ("finger", "only_a_guess", WHY["only_a_guess"])
    ]


# What may point to a person

CANARIES: Final = [
    "ruby.oval@example.org", "oval＠example.org", "https://example.org/oval/2ct?budget=8000",
    "www.oval-2ct.example",
    "platinum.example.com", "+49 170 2000000", "(212) 555-0147", "555-0147", "020 7946 0018", "0171/2345678",
    "12 Oval Road", "Pear Street 14", "221 Princess Avenue", "Tel. 52 54 56", "mobile: 52 000 00",
]  # fmt: skip


@pytest.mark.parametrize("canary", CANARIES)
def test_addresses_and_phones_are_read_as_nothing(canary: str) -> None:
    for text in (canary, f"My size is here: {canary}", f"budget, ring size, by {canary} thanks"):
        assert values(text) == {}


@pytest.mark.parametrize(
    "canary", ["Rosenstraße 14", "Ovalweg 52", "Smaragdgasse 2a", "Berliner Str. 54", "Tel. 0171 2345678"]
)
def test_german_streets_are_read_as_nothing(canary: str) -> None:
    assert values(f"Budget, Größe, Karat: {canary}, danke", "de") == {}


def test_a_first_name_is_no_gem() -> None:
    assert values("Hi, my girlfriend Ruby wants an oval. Best, Ruby") == {"shapes": ["oval"]}
    assert values("a Ruby ring")["gem"] == "ruby"


ALLOWED: Final = frozenset(token for field in LEXICON_FIELDS.values() for token in field.tokens)
SIZE: Final = re.compile(r"[A-Z]½?|[0-9]{1,2}(\.[0-9]+)?")


def texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from (text for part in value.values() for text in texts(part))
    elif isinstance(value, list):
        yield from (text for part in value for text in texts(part))


def places(found: MessageReading) -> list[tuple[tuple[int, int], ...]]:
    return [one.spans for one in found.reads] + [one.spans for one in found.open]


def check(text: str, language: str | None = None) -> MessageReading:
    """Whatever the text: no error, spans in it, nothing of it in the values."""
    found = reading(text, language)
    assert [one.field for one in found.reads] == sorted({one.field for one in found.reads}, key=FIELDS.index)
    for one in found.reads:
        for word in texts(one.value):
            dated = one.field == "needed_by" and date.fromisoformat(word) >= DAY
            assert word in ALLOWED or dated or SIZE.fullmatch(word)
    for spans in places(found):
        assert list(spans) == sorted(spans)
        assert all(0 <= start < end <= len(text) for start, end in spans)
    assert all(one.says == WHY[one.why] for one in found.open)
    return found


CRUMBS: Final = [
    *("a", "1", "2", "6", "52", "8x6", "mm", "ct", "carat", "k", "$", "€", ",", ".", "-", "/", "(", ")", "?"),
    *("\n", "no", "not", "oval", "halo", "emerald", "size", "US", "L", "½", "1/2", "budget", "by", "in"),
    *("weeks", "May", "14", "for the stone", "incl. VAT", "grandmother's", "diamond", "side stones", "or"),
    *("and", "kein", "Herz", "bis", "Karat", "Ringgröße", "5.000", "\u00a0", "\u200d", "💍", "between"),
    *("2027", "@", "Street", "from", "to", "up to", "that is", "EU"),
]
crumbs: Final = st.lists(st.sampled_from(CRUMBS), max_size=30).map(" ".join)


@given(st.text(max_size=200) | crumbs, st.sampled_from(["en", "de", None]))
def test_any_text_is_read_without_error_and_repeated_in_nothing(text: str, language: str | None) -> None:
    assert check(text, language) == reading(text, language)


@given(crumbs, st.sampled_from(["💍", "e\u0301", "ﬁ", "ß", "\U0001f469\u200d\U0001f527"]))
def test_text_before_a_message_only_moves_it(text: str, before: str) -> None:
    lead = f"{before}.\n\n"
    plain, moved = reading(text), reading(lead + text)
    assert [(one.field, one.value) for one in plain.reads] == [(one.field, one.value) for one in moved.reads]
    assert [[(start + len(lead), end + len(lead)) for start, end in spans] for spans in places(plain)] == [
        list(spans) for spans in places(moved)
    ]


@given(crumbs, st.sampled_from(["\u00ad", "\u200b", "\u200e", "\ufe0f"]))
def test_invisible_characters_change_no_value(text: str, hidden: str) -> None:
    assert values(hidden.join(["", *text])) == values(text) or "@" in text


@given(crumbs)
def test_other_spaces_change_no_value(text: str) -> None:
    assert values(text.replace(" ", "\u00a0")) == values(text) or "@" in text


# Hostile texts

HOSTILE: Final = [
    "1-", "9", "'", '"', "„“", "\u202e", "\u0301", "💍", "e\u0301\u0302\u0303\u0304", "no ", "no oval and ",
    "or ", ",", "1 ", "1/2 ",
    "a ", "€5 ", "size ", "size 6 ", "in ", "tel ", "tel 1 ", "@ ", "www.", "Oval Street ",
    "12 Oval Street ", "between 1 and ",
    "14. ", "May ", "2027-02-", "1.", "½", "\n", "\n\n", "-", " - ", "not not not oval, ", "emerald ",
    "1 1/2 ", "+1 ", "(1) ", "0" * 3 + " ",
    "grandmother's ", "$1k or ", "l ½ ", "\u043eval ", "x", "for the ring and ", "under 8,000 ", "8x6 ",
    "that", "don't ", "she's a 6 ", "\ufdfa",
]  # fmt: skip


@pytest.mark.parametrize("bit", HOSTILE, ids=[f"{n}" for n in range(len(HOSTILE))])
def test_a_hostile_text_is_read_without_error(bit: str) -> None:
    check((bit * 4000)[:4000])


def test_letters_that_only_look_alike_mean_nothing() -> None:
    assert values("\u043ev\u0430l h\u0430l\u043e \u0440l\u0430tinum") == {}  # Cyrillic o, a and p


def test_words_inside_words_mean_nothing() -> None:
    assert values("shalom removal platinumish goldenrod") == {}


def work(text: str) -> int:
    """How many lines of the package run to read a text."""
    count = 0

    def trace(frame: FrameType, event: str, _: object) -> Any:
        nonlocal count
        count += event == "line"
        return trace if "gradefloor" in frame.f_code.co_filename else None

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        reading(text)
    finally:
        sys.settrace(before)
    return count


@pytest.mark.parametrize(
    "bit", [*HOSTILE, WRITTEN[0]["message"] + " "], ids=[f"{n}" for n in range(len(HOSTILE) + 1)]
)
@pytest.mark.long
def test_twice_the_text_is_at_most_twice_the_work(bit: str) -> None:
    half, whole = (work((bit * 4000)[:length]) for length in (2000, 4000))
    # A part of the work does not depend on the length, and a cut may fall into a phrase.
    assert whole <= 2.05 * half + 500


def test_a_sign_that_stands_for_a_phrase_costs_no_more_than_a_letter() -> None:
    # U+FDFA decomposes into 18 characters (Unicode character database).
    assert work("\ufdfa" * 1000) <= work("\u00e9" * 1000) + work("$" * 1000)


# Languages


def test_a_third_language_is_added_by_rules_alone() -> None:
    tables, faults = compiled(
        _document(
            ("fr", "shapes", "{oval: [ovale, taille ovale]}"),
            ("fr", "units", "{carat: [carat, carats], thousand: [mille]}"),
            ("fr", "negations", "{before: [pas de, sans]}"),
            ("fr", "style", "{halo: [halo]}"),
            ("fr", "budget_currency", '{EUR: ["€", euros]}'),
        )
    )
    assert faults == []
    found = read_message(tables, "Une taille ovale de 1,5 carat, sans halo, 5.000 €", DAY, None)
    assert {one.field: one.value for one in found.reads} == {
        "shapes": ["oval"], "carat": [1.5], "budget_amount": [5000], "budget_currency": "EUR",
    }  # fmt: skip


def test_a_text_without_a_known_word_has_no_language() -> None:
    assert reading("¿?", None) == MessageReading(None, (), ())
    assert read_message({}, "an oval", DAY) == MessageReading(None, (), ())


def test_at_a_tie_the_first_name_is_taken() -> None:
    assert reading("2 ct", None).language == "de"


def test_a_language_without_words_is_refused() -> None:
    with pytest.raises(KeyError):
        reading("oval", "xx")


# Broken lexicons

RULE: Final = """\
  - id: lexicon.{language}.{field}{number}
    title: Some words are read as something.
    because: It is made up for a test.
    source: memory
    disagreement: low
    language: {language}
    field: {field}
    words: {words}
"""


def _document(*rules: tuple[str, str, str]) -> Document:
    written = [
        RULE.format(language=language, field=field, words=words, number=number)
        for number, (language, field, words) in enumerate(rules)
    ]
    return read(("lexicons:\n" + "".join(written) + "...\n").encode(), "ruleset.yaml")


OVAL: Final = ("en", "shapes", "{oval: [oval]}")
BROKEN: Final = [
    ("unknown token", [("en", "shapes", "{ovl: [oval]}")], 9, "'ovl'", "did you mean oval?"),
    ("token of another field", [("en", "metal", "{halo: [halo]}")], 9, "'halo'",
    "a value of metal: platinum"),
    ("unknown field", [("en", "shape", "{oval: [oval]}")], 8, "'shape'", "did you mean shapes?"),
    ("no code of a language", [("e1", "shapes", "{oval: [oval]}")], 7, "'e1'", ""),
    ("no words", [("en", "shapes", "{}")], 9, "a mapping", ""),
    ("no phrases", [("en", "shapes", "{oval: []}")], 9, "a list", "a list of at least 1"),
    ("empty phrase", [("en", "shapes", '{oval: [""]}')], 9, "''", "a text of at least 1 characters"),
    ("long phrase", [("en", "shapes", "{oval: [" + "o" * 61 + "]}")], 9, "'" + "o" * 61 + "'", "at most 60"),
    ("a number", [("en", "shapes", '{oval: ["52"]}')], 9, "'52'", "a phrase with a word or a sign in it"),
    ("only spaces", [("en", "shapes", '{oval: [" - "]}')], 9, "' - '",
    "a phrase with a word or a sign in it"),
    ("a sentence", [("en", "shapes", "{oval: [a b c d e f g h i]}")], 9, "9 words", "at most 8 words"),
    ("two words as an end", [("de", "compounds", "{tail: [schliff ring]}")], 9, "'schliff ring'",
    "the end of one"),
    ("twice in a rule", [("en", "shapes", "{oval: [oval cut, OVAL-cut]}")], 9, "again", "each phrase once"),
    ("two meanings in a rule", [("en", "shapes", "{oval: [egg], pear: [egg]}")], 9, "means shapes oval",
    "one meaning"),
    ("two meanings in two rules", [OVAL, ("en", "shapes", "{pear: [Oval]}")], 17, "means shapes oval",
    "one meaning"),
    ("sure and unsure", [OVAL, ("en", "unsure_shapes", "{pear: [oval]}")], 17, "means shapes oval",
    "one meaning"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("fact", "rules", "line", "found", "allowed"), BROKEN, ids=[case[0] for case in BROKEN]
)
def test_a_broken_lexicon_is_refused_in_its_line(
    fact: str, rules: list[tuple[str, str, str]], line: int, found: str, allowed: str
) -> None:
    del fact
    _, faults = compiled(_document(*rules))
    (fault,) = faults
    assert fault.line == line
    assert found in fault.found
    assert allowed in fault.allowed


def test_a_phrase_may_mean_things_of_two_fields_and_of_two_languages() -> None:
    _, faults = compiled(
        _document(OVAL, ("en", "topics", "{stone: [oval]}"), ("de", "shapes", "{pear: [oval]}"))
    )
    assert faults == []


def test_every_token_of_a_value_has_a_word_in_both_languages() -> None:
    """Apart from what a language has no word for of its own."""
    spared = {
        "weights",
        "unsure_shapes",
        "numbers",
        "streets",
        "compounds",
        "joins",
        "negations",
        "topics",
        "units",
    }
    for name, lexicon in house().items():
        for field, what in LEXICON_FIELDS.items():
            meant = {means[field] for means in lexicon.phrases.values() if field in means}
            assert field in spared or set(what.tokens) == meant, (name, field)


def test_words_and_numbers_are_cut_alike_for_phrases_and_messages() -> None:
    cut = [(token.text, token.kind) for token in tokens("Don't: 1.500,00€ 10'000 6'2 .5 8x6mm Straße-1½")]
    assert cut == [
        ("don't", "word"), (":", "mark"), ("1.500,00", "number"), ("€", "mark"), ("10'000", "number"),
        ("6'2", "number"),
        (".5", "number"), ("8", "number"), ("x", "word"), ("6", "number"), ("mm", "word"),
        ("strasse", "word"),
        ("1", "number"), ("½", "mark"),
    ]  # fmt: skip
