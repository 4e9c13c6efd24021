"""What the schemas for editors refuse of faulty rule files, held against the models and the compiler.

Every fault that other tests put into a file is put before the schemas, and so is every kind of slip at places
of the committed files, drawn by chance but the same in every run. What no schema can say is listed with its
reason, and the list is held to be true. The judge of the schemas is the library jsonschema.
"""

import random
from collections.abc import Iterator
from typing import Any, Final

import pytest
from pydantic import BaseModel, ValidationError

from gradefloor.rules.expectations import Cases
from gradefloor.rules.format import RULE_KINDS, WORDING_KINDS, RuleSet
from gradefloor.rules.strict_yaml import read
from gradefloor.trade.leads import Lead
from gradefloor.trade.listings import WordingText
from gradefloor.trade.settings import RingParts
from gradefloor.trade.stones import Context, Stone
from samples import RULESETS, Tree
from test_editor_help import NEWEST, OF_CASES, OF_RULES, data_of
from test_format_and_compile import COMPILED, EXTENDING, FORMAT, Edit
from test_messages import BROKEN, RULE
from test_rulesets import WRONG, plain

NEXT_BAND: Final = "a band is held against the one before it"
OTHER_NUMBER: Final = "one number is held against another"
FOLDER: Final = "the folder's name is not in the file"
OTHER_RULES: Final = "rules are held against each other, for every shape"
COMBINATIONS: Final = "every combination of facts is tried"
NAMES: Final = "what is named stands elsewhere in the file, or in the one that it extends"
RELEASED: Final = "released versions stand in another file"
JUDGED: Final = "the case has to be judged"
PHRASES: Final = "phrases are cut into words and held against each other"

# Faults that only the models or the compiler can see, and why a schema cannot.
BEYOND: Final = {
    "gap in carat bands": NEXT_BAND,
    "overlap in carat bands": NEXT_BAND,
    "band upside down": OTHER_NUMBER,
    "gap in look bands": NEXT_BAND,
    "overlap in look bands": NEXT_BAND,
    "look bands that end": NEXT_BAND,
    "comfort outside tolerated": OTHER_NUMBER,
    "window upside down": OTHER_NUMBER,
    "version of another folder": FOLDER,
    "name of another folder": FOLDER,
    "a floor for nobody": OTHER_RULES,
    "two floors equally specific": OTHER_RULES,
    "no look for a center shape": OTHER_RULES,
    "two looks for a shape": OTHER_RULES,
    "unknown source of a rule": NAMES,
    "unknown source of a laboratory": NAMES,
    "unknown question": NAMES,
    "a question that floors need": NAMES,
    "gap in guard rows": COMBINATIONS,
    "overlap of guard rows": COMBINATIONS,
    "a row that never speaks": COMBINATIONS,
    "a remedy that does not turn": COMBINATIONS,
    "an id twice": NAMES,
    "a source twice": NAMES,
    "a question twice": NAMES,
    "a laboratory twice": NAMES,
    "a carat limit finer than a point": "2.995 is no exact number in an editor, and neither are hundredths",
    "an override without its reason": NAMES,
    "an unknown base": RELEASED,
    "an unknown version of the base": RELEASED,
    "itself as base": RELEASED,
    "a finding": JUDGED,
    "a look": JUDGED,
    "a boundary": JUDGED,
    "a rule that does not exist": NAMES,
    "a number": PHRASES,
    "only spaces": PHRASES,
    "a sentence": PHRASES,
    "two words as an end": PHRASES,
    "twice in a rule": PHRASES,
    "two meanings in a rule": PHRASES,
    "two meanings in two rules": PHRASES,
    "sure and unsure": PHRASES,
}
# Faults of the YAML itself: an editor's own reader takes this date for a text.
UNREADABLE: Final = "date without quotes"

EDITS: Final = [
    *(("house", "ruleset.yaml", edit) for edit in (*FORMAT, *COMPILED)),
    *(("strict", "ruleset.yaml", edit) for edit in EXTENDING),
    *(("house", "cases.yaml", Edit(w.what, w.text, w.text.replace(w.old, w.new), "", "", "")) for w in WRONG),
]


@pytest.mark.parametrize(("name", "file", "edit"), EDITS, ids=[edit.fact for _, _, edit in EDITS])
def test_a_faulty_file_is_refused_but_for_what_no_schema_can_say(name: str, file: str, edit: Edit) -> None:
    text = (RULESETS / name / "1.0.0" / file).read_text()
    faulty = read(text.replace(edit.old, edit.new).encode(), file)
    schema = OF_RULES if file == "ruleset.yaml" else OF_CASES
    assert bool(faulty.faults) is (edit.fact == UNREADABLE)
    if not faulty.faults:
        assert schema.is_valid(plain(faulty.data)) is (edit.fact in BEYOND)


@pytest.mark.parametrize(("fact", "rules"), [case[:2] for case in BROKEN], ids=[case[0] for case in BROKEN])
def test_a_broken_lexicon_is_refused_but_for_what_no_schema_can_say(
    fact: str, rules: list[tuple[str, str, str]]
) -> None:
    written = [
        RULE.format(language=language, field=field, words=words, number=number)
        for number, (language, field, words) in enumerate(rules)
    ]
    head = "\n".join(f'{key}: "{value}"' for key, value in HEAD.items())
    data = data_of((f"{head}\nlexicons:\n" + "".join(written) + "...\n").encode())
    assert OF_RULES.is_valid(data) is (fact in BEYOND)


def test_every_fault_that_no_schema_can_say_is_one_of_the_tables() -> None:
    known = [edit.fact for _, _, edit in EDITS] + [case[0] for case in BROKEN]
    assert set(BEYOND) <= set(known)


# Single faults in committed files

HEAD: Final = {
    "name": "made_up",
    "version": "1.0.0",
    "effective": "2026-01-01",
    "title": "An invented rule set",
    "about": "It holds one rule of another, damaged.",
}
KINDS: Final = (*RULE_KINDS, "sources", "questions", "issuers")
WORDS_OF_NO_LIST: Final = "unheard_of"
# What the models refuse and no schema can say, by the beginning of what they found.
ONLY_THE_MODEL: Final = {
    "a gap": NEXT_BAND,
    "an overlap": NEXT_BAND,
    "a band after an open end": NEXT_BAND,
    "every other market again": "provisions are held against each other",
}
# Places where the schema refuses a word at once that is left to the compiler by the models.
SOONER: Final = "settled_by."
Path = tuple[str | int, ...]


def places(value: Any, path: Path = ()) -> Iterator[tuple[Path, Any]]:
    yield path, value
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from places(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from places(inner, (*path, index))


def replaced(value: Any, path: Path, new: Any) -> Any:
    """A copy with another value at a place; without the place, where the new value is None."""
    if not path:
        return new
    head, *rest = path
    if isinstance(value, list):
        return [replaced(part, tuple(rest), new) if i == head else part for i, part in enumerate(value)]
    if not rest and new is None:
        return {key: inner for key, inner in value.items() if key != head}
    return {**value, head: replaced(value.get(head), tuple(rest), new)}


def single_faults(item: Any) -> Iterator[tuple[str, Any]]:
    """Every way in which one slip changes an item: what was done, and the item."""
    for path, value in places(item):
        name = ".".join(map(str, path))
        if isinstance(value, dict):
            yield f"{name}: another key", replaced(item, (*path, WORDS_OF_NO_LIST), "something")
            for key in value:
                yield f"{name}: no {key}", replaced(item, (*path, key), None)
        elif isinstance(value, list):
            yield f"{name}: an empty list", replaced(item, path, [])
            for index in range(len(value)):
                yield f"{name}: no {index}", replaced(item, path, value[:index] + value[index + 1 :])
        elif isinstance(value, str):
            yield f"{name}: another word", replaced(item, path, WORDS_OF_NO_LIST)
            yield f"{name}: a number for a text", replaced(item, path, 7)
        elif not isinstance(value, bool):
            yield f"{name}: a text for a number", replaced(item, path, str(value))
            yield f"{name}: a truth for a number", replaced(item, path, True)


def refused_by(model: type[BaseModel], data: Any) -> list[str]:
    """What a model found that it refuses."""
    try:
        model.model_validate(data)
    except ValidationError as error:
        return [str(detail.get("ctx", {}).get("found", detail["type"])) for detail in error.errors()]
    return []


def sampled(items: list[Any], seed: str, faults: int) -> Iterator[tuple[str, Any]]:
    """As many single faults, the same in every run."""
    chance = random.Random(seed)  # noqa: S311 - no secret
    every = [fault for item in items for fault in single_faults(item)]
    yield from chance.sample(every, min(faults, len(every)))


def written(version: str, file: str) -> dict[str, Any]:
    """A newest file as the strict reader gives it, decimals and all."""
    data = read((RULESETS / version / file).read_bytes(), file).data
    assert isinstance(data, dict)
    return data


def ruleset_with(kind: str, rule: Any) -> dict[str, Any]:
    """The smallest rule set with one rule; one that extends, so that overrides have their place."""
    subject = "wording" if kind in WORDING_KINDS else "stones"
    return {**HEAD, "subject": subject, "extends": "house@1.0.0", kind: [rule]}


@pytest.fixture(scope="module")
def rules_by_kind() -> dict[str, list[Any]]:
    """Rules of the newest files."""
    found: dict[str, list[Any]] = {}
    for version in NEWEST:
        data = written(version, "ruleset.yaml")
        for kind in KINDS:
            found.setdefault(kind, []).extend(data.get(kind, []))
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_a_single_fault_is_refused_by_model_and_schema_alike(
    rules_by_kind: dict[str, list[Any]], kind: str
) -> None:
    differing = []
    for done, rule in sampled(rules_by_kind[kind], kind, 40):
        data = ruleset_with(kind, rule)
        found = refused_by(RuleSet, data)
        explained = (
            all(reason.startswith(tuple(ONLY_THE_MODEL)) for reason in found) if found else SOONER in done
        )
        if OF_RULES.is_valid(plain(data)) is bool(found) and not explained:
            differing.append((done, found))
    assert differing == []


@pytest.mark.parametrize("start", ONLY_THE_MODEL)
def test_what_only_the_model_refuses_is_met_and_accepted_by_the_schema(
    rules_by_kind: dict[str, list[Any]], start: str
) -> None:
    met = []
    for kind in ("floors", "looks", "policies"):
        for _, faulty in sampled(rules_by_kind[kind], kind, 300):
            data = ruleset_with(kind, faulty)
            found = refused_by(RuleSet, data)
            if found and all(reason.startswith(start) for reason in found):
                met.append(OF_RULES.is_valid(plain(data)))
    assert met
    assert all(met)


def test_a_wrong_word_that_the_schema_refuses_before_the_compiler_is_refused_by_it_too(tree: Tree) -> None:
    file = tree.file()
    lines = file.read_text().splitlines()
    number = next(number for number, line in enumerate(lines) if SOONER[:-1] in line)
    lines[number] = lines[number].replace('"none"', WORDS_OF_NO_LIST)
    file.write_text("\n".join(lines) + "\n")
    assert not OF_RULES.is_valid(data_of(file.read_bytes()))
    assert any(f"{WORDS_OF_NO_LIST!r}" == fault.found and fault.line == number + 1 for fault in tree.faults())


@pytest.mark.parametrize("version", NEWEST)
def test_a_fault_in_the_head_is_refused_by_model_and_schema_alike(version: str) -> None:
    head = {key: value for key, value in written(version, "ruleset.yaml").items() if isinstance(value, str)}
    for done, faulty in single_faults(head):
        assert OF_RULES.is_valid(faulty) is not bool(refused_by(RuleSet, faulty)), done


PARTS: Final[dict[str, dict[str, type[BaseModel]]]] = {
    "cases": {"stone": Stone, "context": Context},
    "rings": {"ring": RingParts},
    "leads": {"lead": Lead},
    "texts": {"said": WordingText},
}


@pytest.mark.parametrize("kind", PARTS)
def test_a_single_fault_in_a_case_is_refused_by_models_and_schema_alike(kind: str) -> None:
    items: list[Any] = []
    for version in NEWEST:
        items += written(version, "cases.yaml").get(kind, [])
    spare = {"cases": [{"case": "An invented stone", "stone": {"shape": "round"}}]}
    differing = []
    for done, item in sampled(items, kind, 120):
        whole = {**spare, kind: [item]}
        found = refused_by(Cases, whole)
        for part, model in PARTS[kind].items():
            if not found and part in item:
                found += refused_by(model, plain(item[part]))
        if OF_CASES.is_valid(plain(whole)) is bool(found):
            differing.append((done, found))
    assert differing == []


def test_rules_of_another_subject_are_refused(rules_by_kind: dict[str, list[Any]]) -> None:
    """The compiler says so, too; an editor says it at once."""
    floor, policy = rules_by_kind["floors"][0], rules_by_kind["policies"][0]
    base = {**HEAD, "extends": "house@1.0.0"}
    assert OF_RULES.is_valid(plain({**base, "floors": [floor]}))
    assert not OF_RULES.is_valid(plain({**base, "floors": [floor], "subject": "wording"}))
    assert not OF_RULES.is_valid(plain({**base, "policies": [policy]}))
