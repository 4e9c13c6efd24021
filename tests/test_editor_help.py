"""What an editor knows of a rule file: the two schemas complete it, and refuse what the models refuse.

The judge of the schemas is the library jsonschema, an implementation of JSON Schema 2020-12 of its own; the
dialect is checked against its published metaschema.
"""

from collections.abc import Iterator
from typing import Any, Final

import orjson
import pytest
from jsonschema import Draft202012Validator
from pydantic import BaseModel

from gradefloor.rules.fact_words import (
    FACT_WORDS,
    LEAD_FACT_WORDS,
    LEAD_MEASURE_WORDS,
    LISTING_FACT_WORDS,
    MEASURE_WORDS,
    RING_FACT_WORDS,
    RING_MEASURE_WORDS,
    WORDING_FACT_WORDS,
)
from gradefloor.rules.facts import FACTS
from gradefloor.rules.format import RuleSet
from gradefloor.rules.lead_facts import LEAD_FACTS, LEAD_MEASURES
from gradefloor.rules.lexicon_format import LEXICON_FIELDS
from gradefloor.rules.listing_facts import LISTING_FACTS
from gradefloor.rules.measures import MEASURES
from gradefloor.rules.ring_facts import RING_FACTS
from gradefloor.rules.ring_measures import RING_MEASURES
from gradefloor.rules.schema import as_bytes, cases_schema, ruleset_schema
from gradefloor.rules.strict_yaml import read
from gradefloor.rules.wording_facts import WORDING_FACTS
from gradefloor.trade.grades import CLARITY, COLOR
from gradefloor.trade.leads import Lead
from gradefloor.trade.listings import WordingText
from gradefloor.trade.settings import RingParts
from gradefloor.trade.shapes import GROUPS, SHAPES
from gradefloor.trade.stones import Context, Stone
from samples import ROOT, RULESETS
from test_rulesets import plain

RULES: Final = ruleset_schema()
CASES: Final = cases_schema()
OF_RULES: Final = Draft202012Validator(RULES)
OF_CASES: Final = Draft202012Validator(CASES)
OVERLAY: Final = ROOT / "tests" / "data" / "overlay"
FILES: Final = sorted((*RULESETS.glob("*/*/*.yaml"), *OVERLAY.glob("*/*/*.yaml")))
NEWEST: Final = ("house/1.3.0", "strict/1.3.0", "wording/1.0.0")


def data_of(content: bytes) -> Any:
    document = read(content, "file.yaml")
    assert not document.faults
    return plain(document.data)


def target(schema: dict[str, Any], place: dict[str, Any]) -> dict[str, Any]:
    """A part of a schema with what it refers to, its own members first."""
    name = place.get("$ref", "").rpartition("/")[2]
    return {**schema["$defs"][name], **place} if name else place


def at(schema: dict[str, Any], *path: str) -> dict[str, Any]:
    """The part that completes a place; `[]` leads into a list."""
    place = schema
    for step in path:
        place = place["items"] if step == "[]" else place["properties"][step]
        place = target(schema, place)
    return place


def under(place: dict[str, Any], **chosen: str) -> dict[str, Any]:
    """What holds besides once these members are chosen."""
    (then,) = (
        condition["then"]
        for condition in place["allOf"]
        if Draft202012Validator(condition["if"]).is_valid(chosen)
    )
    found: dict[str, Any] = then
    return found


# The schemas


@pytest.mark.parametrize("schema", [RULES, CASES], ids=["rules", "cases"])
def test_a_schema_is_valid_in_its_dialect(schema: dict[str, Any]) -> None:
    assert schema["$schema"] == Draft202012Validator.META_SCHEMA["$id"]
    Draft202012Validator.check_schema(schema)


@pytest.mark.parametrize("schema", [RULES, CASES], ids=["rules", "cases"])
def test_a_schema_stands_by_itself(schema: dict[str, Any]) -> None:
    text = orjson.dumps(schema).decode()
    names = {part.split('"')[0] for part in text.split('"$ref":"#/$defs/')[1:]}
    assert names == set(schema["$defs"])
    assert text.count('"$ref":') == text.count('"$ref":"#/$defs/')
    assert "$id" not in schema
    assert schema["title"]


def test_what_editors_are_told_does_not_reach_the_contract_of_the_wire() -> None:
    """There, words of answers are open: generated clients must not refuse new ones."""
    assert '"if"' not in orjson.dumps(RuleSet.model_json_schema()).decode()


@pytest.mark.parametrize(
    ("file", "schema"), [("schema.json", RULES), ("cases-schema.json", CASES)], ids=["rules", "cases"]
)
def test_the_committed_schema_is_the_generated_one(file: str, schema: dict[str, Any]) -> None:
    assert (RULESETS / file).read_bytes() == as_bytes(schema)


def undescribed(place: Any, path: tuple[str, ...] = (), *, inside: bool = False) -> Iterator[str]:
    """Definitions and members that say nothing of themselves; a condition only narrows what is described."""
    if isinstance(place, list):
        for index, inner in enumerate(place):
            yield from undescribed(inner, (*path, str(index)), inside=inside)
        return
    if not isinstance(place, dict):
        return
    for key, inner in place.items():
        here = (*path, key)
        if key in {"properties", "$defs"}:
            for name, member in inner.items():
                if not inside and not member.get("description"):
                    yield ".".join((*here, name))
                yield from undescribed(member, (*here, name), inside=inside)
        else:
            narrows = key in {"if", "then", "else", "anyOf", "oneOf", "allOf", "not"}
            yield from undescribed(inner, here, inside=inside or narrows)


@pytest.mark.parametrize("schema", [RULES, CASES], ids=["rules", "cases"])
def test_every_definition_and_every_member_has_a_description(schema: dict[str, Any]) -> None:
    assert list(undescribed(schema)) == []


def test_a_member_without_description_would_be_found() -> None:
    assert list(undescribed({"properties": {"carat": {"type": "number"}}})) == ["properties.carat"]


@pytest.mark.parametrize("schema", [RULES, CASES], ids=["rules", "cases"])
def test_every_object_of_the_format_refuses_other_members(schema: dict[str, Any]) -> None:
    parts = {"": schema, **schema["$defs"]}
    assert [name for name, part in parts.items() if part["additionalProperties"] is not False] == []


@pytest.mark.parametrize(
    ("words", "known"),
    [
        (FACT_WORDS, FACTS),
        (MEASURE_WORDS, MEASURES),
        (RING_FACT_WORDS, RING_FACTS),
        (RING_MEASURE_WORDS, RING_MEASURES),
        (LEAD_FACT_WORDS, LEAD_FACTS),
        (LEAD_MEASURE_WORDS, LEAD_MEASURES),
        (WORDING_FACT_WORDS, WORDING_FACTS),
        (LISTING_FACT_WORDS, LISTING_FACTS),
    ],
)
def test_every_fact_and_measure_has_its_words_and_no_word_is_left_over(
    words: dict[str, str], known: dict[str, object]
) -> None:
    assert list(words) == list(known)


# Completion


@pytest.mark.parametrize(("grade", "scale"), [("clarity", CLARITY), ("color", COLOR)])
@pytest.mark.parametrize("key", ["on_paper", "if_seen"])
def test_a_floor_completes_the_grades_of_its_scale(grade: str, scale: Any, key: str) -> None:
    floor = at(RULES, "floors", "[]")
    assert at(under(floor, grade=grade), "bands", "[]", key)["enum"] == list(scale.grades)
    assert "enum" not in at(RULES, "floors", "[]", "bands", "[]", key)


def test_a_look_completes_no_grade_better_than_that_on_paper() -> None:
    band = at(RULES, "floors", "[]", "bands", "[]")
    assert at(under(band, on_paper="SI2"), "if_seen")["enum"] == ["SI2", "I1", "I2", "I3"]


@pytest.mark.parametrize(
    ("kind", "known"),
    [
        (("guards", "[]", "rows", "[]", "when"), FACTS),
        (("windows", "[]", "low", "settled_by"), FACTS),
        (("pairings", "[]", "rows", "[]", "when"), RING_FACTS),
        (("clashes", "[]", "when"), LEAD_FACTS),
        (("tags", "[]", "when"), LEAD_FACTS),
        (("policies", "[]", "rows", "[]", "when"), WORDING_FACTS),
        (("captions", "[]", "rows", "[]", "when"), LISTING_FACTS),
    ],
    ids=lambda value: value[0] if isinstance(value, tuple) else "",
)
def test_a_table_completes_its_facts_and_the_values_of_each(kind: tuple[str, ...], known: Any) -> None:
    when = at(RULES, *kind)
    offered = {name: tuple(fact["items"]["enum"]) for name, fact in when["properties"].items()}
    assert offered == {name: fact.domain for name, fact in known.items()}
    assert when["additionalProperties"] is False


@pytest.mark.parametrize(
    ("path", "known"),
    [
        (("pairings", "[]", "rows", "[]", "measured"), RING_MEASURES),
        (("clashes", "[]", "measured"), LEAD_MEASURES),
        (("tags", "[]", "measured"), LEAD_MEASURES),
    ],
    ids=["pairings", "clashes", "tags"],
)
def test_a_table_completes_its_measures_with_their_ends(path: tuple[str, ...], known: Any) -> None:
    assert list(at(RULES, *path)["properties"]) == list(known)
    for name in known:
        assert at(RULES, *path, name, "from")["type"] == "number"
        assert at(RULES, *path, name, "below")["type"] == "number"


@pytest.mark.parametrize(
    ("path", "words"),
    [
        (("guards", "[]", "shapes", "[]"), [*SHAPES, *GROUPS]),
        (("companions", "[]", "best", "[]"), [*SHAPES]),
        (("floors", "[]", "positions", "[]"), ["center", "side", "melee"]),
        (("windows", "[]", "measure"), [*MEASURES]),
        (("guards", "[]", "remedied_by", "[]"), [*FACTS]),
        (("pairings", "[]", "remedied_by", "[]"), [*RING_FACTS, *RING_MEASURES]),
        (("lexicons", "[]", "field"), [*LEXICON_FIELDS]),
    ],
    ids=lambda value: ".".join(value) if isinstance(value, tuple) else "",
)
def test_a_closed_list_is_completed(path: tuple[str, ...], words: list[str]) -> None:
    assert at(RULES, *path)["enum"] == words


@pytest.mark.parametrize("field", LEXICON_FIELDS)
def test_a_lexicon_completes_the_tokens_of_its_field(field: str) -> None:
    words = at(under(at(RULES, "lexicons", "[]"), field=field), "words")
    assert tuple(words["properties"]) == LEXICON_FIELDS[field].tokens
    assert words["description"] == LEXICON_FIELDS[field].about


@pytest.mark.parametrize(
    ("path", "model"),
    [
        (("cases", "[]", "stone"), Stone),
        (("cases", "[]", "context"), Context),
        (("boundaries", "[]", "stone"), Stone),
        (("rings", "[]", "ring"), RingParts),
        (("ring_boundaries", "[]", "ring"), RingParts),
        (("leads", "[]", "lead"), Lead),
        (("texts", "[]", "said"), WordingText),
    ],
    ids=lambda value: ".".join(value) if isinstance(value, tuple) else "",
)
def test_a_case_completes_what_a_request_may_hold(path: tuple[str, ...], model: type[BaseModel]) -> None:
    assert list(at(CASES, *path)["properties"]) == list(model.model_fields)


@pytest.mark.parametrize("path", [("boundaries", "[]", "stone"), ("ring_boundaries", "[]", "ring", "center")])
def test_what_a_boundary_varies_may_be_missing(path: tuple[str, ...]) -> None:
    assert "required" not in at(CASES, *path)


def test_a_question_completes_the_members_of_a_request() -> None:
    offered = [option.get("const") for option in at(RULES, "questions", "[]", "about")["anyOf"]]
    assert {"stone.carat", "stone.report.comments", "setting.halo.bottom_mm", "wish.budget.amount"} < set(
        offered
    )


# Files


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(ROOT)))
def test_a_committed_file_is_valid(file: Any) -> None:
    schema = OF_RULES if file.name == "ruleset.yaml" else OF_CASES
    assert [error.message for error in schema.iter_errors(data_of(file.read_bytes()))] == []


@pytest.mark.parametrize("version", NEWEST)
@pytest.mark.parametrize(
    ("file", "schema"), [("ruleset.yaml", "schema.json"), ("cases.yaml", "cases-schema.json")]
)
def test_a_newest_file_names_its_schema_in_its_first_line(version: str, file: str, schema: str) -> None:
    path = RULESETS / version / file
    first, _, named = path.read_text().splitlines()[0].rpartition("=")
    assert first == "# yaml-language-server: $schema"
    assert (path.parent / named).resolve() == (RULESETS / schema).resolve()
