"""What a shop's page says of a stone. All stones and prices are invented. Invariants:

1. what is written passes its own audit, in every market and language that ships;
2. it names only what is stated: no slot is ever left in it;
3. labels have the same keys in every language;
4. no two stones of a stock get the same sentence;
5. everything is written by a rule that can be looked up.
"""

from collections.abc import Iterator
from datetime import date
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradefloor.judge.listings import Annotation, annotate, said_of
from gradefloor.judge.wording import audit
from gradefloor.rules.catalog import Catalog
from gradefloor.rules.tables import CompiledRules
from gradefloor.rules.wording_compile import MARKETS
from gradefloor.trade.listings import Language, Listing
from samples import Wire, committed, contexts, stones
from stock import stock

DAY = date(2026, 11, 25)
LANGUAGES = get_args(Language)
EMERALD: Wire = {
    "shape": "emerald", "origin": "natural", "carat": 1.46, "color": "G", "clarity": "VS2",
    "length_mm": 7.69, "width_mm": 5.65, "depth_mm": 3.73,
}  # fmt: skip
HOUSE, WORDING = committed("house", "1.3.0"), committed("wording")


def listed(stone: Wire, market: str = "US", **more: Any) -> Listing:
    priced = {name: value for name, value in stone.items() if name != "price"}
    return Listing.model_validate({"stone": priced, "market": market, **more})


def written(stone: Wire, market: str = "US", *, fits: bool = False, **more: Any) -> Annotation:
    return annotate(HOUSE, WORDING, listed(stone, market, **more), DAY, fits=fits)


def keys(annotation: Annotation) -> list[str]:
    return [label["key"] for label in annotation["labels"]]


def texts(annotation: Annotation) -> Iterator[str]:
    yield annotation["short"]
    yield annotation["long"]
    yield from annotation["cautions"]
    yield from (label["text"] for label in annotation["labels"])


# Invariants


@settings(max_examples=30)
@given(stone=stones(), context=st.none() | contexts)
def test_what_is_written_passes_its_own_audit_in_every_market(stone: Wire, context: Wire | None) -> None:
    for market in MARKETS:
        for language in LANGUAGES:
            listing = listed(stone, market, language=language, context=context)
            said = annotate(HOUSE, WORDING, listing, DAY, fits=False)
            every = " ".join(texts(said))
            for text in (said["short"], said["long"], every):
                result = audit(WORDING, said_of(listing, text), DAY)
                assert result["verdict"] == "clear", (market, text, result["matches"])


@given(stone=stones(), context=st.none() | contexts, language=st.sampled_from(LANGUAGES))
def test_no_slot_and_no_empty_text_is_written(stone: Wire, context: Wire | None, language: str) -> None:
    said = written(stone, "ISO", context=context, language=language)
    bare = {**stone, "report": {}, "id": "1"}
    for text in texts(written(bare, "ISO", context=context, language=language)):
        assert text.strip()
        assert "{" not in text
        assert "None" not in text
    assert said["short"].endswith(".")


@given(stone=stones(), context=st.none() | contexts)
def test_labels_have_the_same_keys_in_every_language(stone: Wire, context: Wire | None) -> None:
    english, french = (written(stone, context=context, language=language) for language in LANGUAGES)
    assert keys(english) == keys(french)
    assert [label["tone"] for label in english["labels"]] == [label["tone"] for label in french["labels"]]


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_two_stones_of_a_stock_get_the_same_sentence(language: str) -> None:
    stock_of = [written(stone, language=language) for stone in stock(200)]
    assert len({said["short"] for said in stock_of}) == 200
    assert len({said["long"] for said in stock_of}) == 200


def test_every_label_names_a_caption_of_the_rules() -> None:
    for stone in stock(50):
        assert {label["rule"] for label in written(stone)["labels"]} <= WORDING.rules


# Words that the captions need


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_look_setting_and_question_of_the_rules_has_its_words(
    catalog: Catalog, language: Language
) -> None:
    glossary = WORDING.captions.glossaries[language]
    of_rings = ("center", "side_stones", "setting", "wedding_band", "finger", "wearer", "wish")
    beside_stones = {"sizes", "mock_up", "alloy", "trial", "person", "needed_by", "gem"}
    for release in (r for name in ("house", "strict") for r in catalog.releases[name]):
        rules = release.rules
        assert {band.look for look in rules.looks for band in look.bands} <= set(glossary.looks)
        assert {style.name for style in rules.styles} <= set(glossary.styles)
        asked = {q.about for q in rules.questions if q.about.partition(".")[0] not in of_rings}
        assert asked - beside_stones <= set(glossary.questions)


# What is said


@pytest.mark.parametrize(
    ("stone", "label", "tone"),
    [
        ({**EMERALD, "observations": {"eye_clean": True}}, "clarity.seen", "good"),
        (EMERALD, "clarity.look", "ask"),
        ({**EMERALD, "clarity": "SI2"}, "clarity.low", "watch"),
        ({**EMERALD, "clarity": "VVS1"}, "clarity.enough", "plain"),
        ({**EMERALD, "observations": {"eye_clean": False}}, "clarity.visible", "watch"),
        ({**EMERALD, "treatments": ["laser_drilled"]}, "treatment.some", "watch"),
        ({**EMERALD, "fluorescence": "strong"}, "fluorescence.strong", "plain"),
        ({**EMERALD, "carat": 2.46}, "figures.check", "ask"),
        ({"shape": "princess", "girdle_min": "very_thin"}, "durability.ask", "ask"),
    ],
)
def test_a_label(stone: Wire, label: str, tone: str) -> None:
    tones = {found["key"]: found["tone"] for found in written(stone)["labels"]}
    assert tones[label] == tone


def test_nobody_is_told_that_a_stone_looks_clean_that_nobody_has_seen() -> None:
    said = " ".join(texts(written(EMERALD)))
    assert "Seen clean" not in said
    assert "to be looked at first" in said


def test_an_origin_that_is_not_stated_is_neither_guessed_nor_passed_over() -> None:
    said = written({"shape": "oval"})
    assert "origin.open" in keys(said)
    assert "diamond" not in said["short"].lower()


@pytest.mark.parametrize(
    ("market", "language", "name"),
    [
        ("US", "en", "Laboratory-grown diamond"),
        ("FR", "fr", "Diamant synthétique"),
        ("FR", "en", "Synthetic diamond"),
        ("IN", "fr", "Diamant créé en laboratoire"),
    ],
)
def test_a_made_diamond_has_the_name_of_its_market(market: str, language: str, name: str) -> None:
    said = written({**EMERALD, "origin": "laboratory_grown"}, market, language=language)
    assert said["short"].startswith(name)


def test_a_treatment_is_disclosed_in_the_short_sentence_too() -> None:
    said = written({**EMERALD, "treatments": ["fracture_filled"]})
    assert "fracture filled (the filler is not permanent" in said["short"]


@pytest.mark.parametrize(
    ("carat", "text"), [(1.46, "1.46 ct"), (1.008, "1.01 ct"), (0.999, "1.00 ct"), (0.494, "0.49 ct")]
)
def test_a_weight_is_written_true_to_its_last_place(carat: float, text: str) -> None:
    # 16 CFR 23.18(c) wants 1.008 as 1.01, where a report would print 1.00.
    assert f", {text}:" in written({**EMERALD, "carat": carat})["short"]


def test_a_bare_stone_is_not_said_to_lie_outside_of_anything() -> None:
    said = written({"shape": "oval", "origin": "natural"})
    assert "outside" not in said["long"]


@pytest.mark.parametrize("issuer", ["Flawless investment lab", "{clarity}", "Real & Rare <b>", "A, perfect"])
def test_a_laboratory_whose_name_claims_something_is_not_named(issuer: str) -> None:
    said = written({**EMERALD, "report": {"issuer": issuer, "number": "1"}})
    assert issuer not in said["long"]


@pytest.mark.parametrize(("metal", "label"), [("platinum", "color.look"), (None, "color.ask")])
def test_a_color_that_asks_says_what_is_open(metal: str | None, label: str) -> None:
    stone = {"shape": "radiant", "origin": "natural", "carat": 2.0, "color": "I"}
    assert label in keys(written(stone, context={"metal": metal}))


def test_french_writes_a_decimal_comma() -> None:
    assert "7,69 × 5,65 mm, 1,46 ct : " in written(EMERALD, "FR")["short"]


# What fits, what is missing, the shop's own text


def test_what_fits_has_no_fault() -> None:
    fits = written(EMERALD, fits=True, context={"metal": "platinum"})["fits"]
    assert fits is not None
    assert {"setting", "side_stones"} == {found["kind"] for found in fits}
    assert all(found["length_mm"] is None for found in fits if found["kind"] == "setting")
    assert all(found["length_mm"] for found in fits if found["kind"] == "side_stones")


def test_an_earring_has_no_settings_of_a_ring() -> None:
    assert written(EMERALD, fits=True, context={"jewelry": "earring"})["fits"] == []


def test_what_is_missing_is_named_with_the_rules_that_hang_on_it() -> None:
    missing = written(EMERALD)["missing"]
    assert missing[0] == {
        "about": "stone.observations.eye_clean",
        "text": "a look without a lens",
        "settles": ["clarity.steps"],
    }


def test_the_shops_own_title_and_text_are_audited_apart() -> None:
    said = written(EMERALD, title="Flawless emerald cut", description="A natural diamond.")
    assert said["wording"] is not None
    assert [(match["part"], match["rule"]) for match in said["wording"]["matches"]] == [
        ("title", "copy.flawless")
    ]


def test_a_page_without_text_has_nothing_to_audit() -> None:
    assert written(EMERALD)["wording"] is None


def test_rules_without_rings_say_nothing_of_settings() -> None:
    old: CompiledRules = committed("house", "1.0.0")
    assert annotate(old, WORDING, listed(EMERALD), DAY, fits=True)["fits"] == []
