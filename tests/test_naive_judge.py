"""The judge held against a second one, written to be slow and plain: `naive_judge` says what that proves.

The short form runs with all other tests. The long one, marked `long`, takes some minutes and prints figures.
Nothing here has a source outside: both judges read the same rule files, and must understand the same by them.
"""

import shutil
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from copy import deepcopy
from datetime import date
from fractions import Fraction
from functools import cache
from itertools import count, islice, product
from math import ceil
from pathlib import Path
from time import perf_counter
from typing import Final, NamedTuple

import pytest

from gradefloor.rules.catalog import Catalog, CatalogError, Release, load
from gradefloor.rules.strict_yaml import Fault
from gradefloor.rules.tables import CompiledRules
from naive_comparison import both, differences, evaluated, kinds_of_rules, told
from naive_facts import SETTING_VALUES, Asked, tone
from naive_judge import Heard, Judged, Plain, read_whole
from naive_mutants import BASES, CHANGES, added_guard, alone, mutant, write_version
from naive_stones import Request, Stones
from samples import ROOT, RULESETS

VERSIONS: Final = tuple((name, f"1.{minor}.0") for name in ("house", "strict") for minor in range(4))
STONES: Final = 100
ENOUGH: Final = 3000  # stones among which what differs must show; as a rule, it does at once
LONG_STONES: Final = 100_000
MUTANTS: Final = 3
LONG_MUTANTS: Final = 50
HOUSE: Final = "house", "1.3.0"


@cache
def committed_rules(name: str, version: str) -> Plain:
    return read_whole(RULESETS, name, version)


def compiled_rules(catalog: Catalog, name: str, version: str) -> CompiledRules:
    release = catalog.find(name, version)
    assert release is not None
    return release.compiled


class Held(NamedTuple):
    """What came of holding the two judges against each other."""

    different: list[tuple[dict[str, tuple[object, object]], Request]]
    verdicts: Counter[str]
    rules: Counter[str]


def hold(compiled: CompiledRules, rules: Plain, stones: Iterator[Request]) -> Held:
    held = Held([], Counter(), Counter())
    for request in stones:
        real, naive = both(compiled, rules, request)
        if found := differences(real, naive):
            held.different.append((found, request))
        held.verdicts[real.verdict] += 1
        held.rules.update(one.rule for one in real.heard)
    return held


def all_differences(
    compiled: CompiledRules, rules: Plain, stones: Iterator[Request]
) -> Iterator[dict[str, tuple[object, object]]]:
    """What the judges say differently of each stone of which they do."""
    return filter(None, (differences(*both(compiled, rules, request)) for request in stones))


# Committed versions


@pytest.mark.parametrize(("name", "version"), VERSIONS)
def test_two_judges_say_the_same_of_random_stones(catalog: Catalog, name: str, version: str) -> None:
    rules = committed_rules(name, version)

    held = hold(compiled_rules(catalog, name, version), rules, Stones(rules, seed=1).some(STONES))

    assert held.different == []
    assert min(held.verdicts[verdict] for verdict in ("pass", "ask", "fail")) >= STONES // 20


def beside_house(root: Path) -> Path:
    """The bases of mutants and the shop of the worked example, all of them drafts."""
    for name, version in BASES:
        shutil.copytree(RULESETS / name / version, root / name / version)
    shutil.copytree(ROOT / "tests" / "data" / "overlay" / "riverside", root / "riverside")
    (root / "RELEASED").write_text("end 0\n")
    return root


class Tree(NamedTuple):
    """A folder of drafts, and all that could be read in it."""

    root: Path
    catalog: Catalog


@pytest.fixture(scope="module")
def drafts(tmp_path_factory: pytest.TempPathFactory) -> Tree:
    root = beside_house(tmp_path_factory.mktemp("naive"))
    return Tree(root, load(root, drafts=True))


def test_two_judges_say_the_same_under_a_name_that_extends_another(drafts: Tree) -> None:
    rules = read_whole(drafts.root, "riverside", "1.0.0")
    compiled = compiled_rules(drafts.catalog, "riverside", "1.0.0")

    assert hold(compiled, rules, Stones(rules, seed=2).some(STONES)).different == []


# Rule sets changed by chance


class Mutant(NamedTuple):
    """A changed version that the compiler has accepted, and the version that was changed."""

    release: Release
    rules: Plain
    changes: list[str]
    base: tuple[str, str]


def accepted(drafts: Tree, rules: Plain) -> Release | list[Fault]:
    """The version as the real catalogue reads and compiles it, or why it does not."""
    write_version(drafts.root, rules)
    try:
        release = load(drafts.root, drafts=True, before=drafts.catalog).find(rules["name"], rules["version"])
    except CatalogError as error:
        return error.faults
    assert release is not None
    return release.faults or release


def mutants(drafts: Tree, refused: Counter[str]) -> Iterator[Mutant]:
    """An endless run of those that load; the changes of the others are counted."""
    for seed in count():
        base = BASES[seed // 2 % len(BASES)]
        written, changes = mutant(committed_rules(*base), f"mutant_{seed}", seed)
        release = accepted(drafts, written)
        if isinstance(release, Release):
            rules = read_whole(drafts.root, written["name"], written["version"])
            yield Mutant(release, rules, changes, base)
        else:
            refused.update(["mutants", *changes])
        shutil.rmtree(drafts.root / written["name"])


def says_what_its_base_says(drafts: Tree, found: Mutant, stones: Iterator[Request]) -> bool:
    """Whether no answer shows that anything was changed."""
    base = compiled_rules(drafts.catalog, *found.base)
    kinds = kinds_of_rules(committed_rules(*found.base)) | kinds_of_rules(found.rules)
    return all(
        told(evaluated(base, request), kinds) == told(evaluated(found.release.compiled, request), kinds)
        for request in stones
    )


class Figures(NamedTuple):
    """What was done with changed rule sets: kinds of change in those that loaded, and what was judged."""

    made: Counter[str]
    refused: Counter[str]
    telling: int
    verdicts: Counter[str]


def hold_mutants(drafts: Tree, many: int, stones: int) -> Figures:
    """Nothing but agreement under so many that load."""
    made, refused, verdicts = Counter[str](), Counter[str](), Counter[str]()
    telling = 0
    for number, found in enumerate(islice(mutants(drafts, refused), many)):
        held = hold(found.release.compiled, found.rules, Stones(found.rules, seed=number).some(stones))
        assert held.different == [], f"{found.rules['name']}: {found.changes}"
        made.update(["mutants", *found.changes])
        verdicts += held.verdicts
        telling += not says_what_its_base_says(drafts, found, Stones(found.rules, seed=number).some(stones))
    return Figures(made, refused, telling, verdicts)


def test_two_judges_say_the_same_under_rules_changed_by_chance(drafts: Tree) -> None:
    figures = hold_mutants(drafts, MUTANTS, 50)

    assert figures.verdicts.total() == MUTANTS * 50
    assert figures.telling


# The comparison can fail


def _rule(rules: Plain, kind: str, rule: str) -> Plain:
    found: Plain = next(one for one in rules[kind] if one["id"] == rule)
    return found


def _tighter_floor(rules: Plain) -> str:
    for band in _rule(rules, "floors", "clarity.crushed_ice")["bands"]:
        band["on_paper"] = band["if_seen"] = "VS1"
    return "clarity.crushed_ice"


def _longer_band(rules: Plain) -> str:
    light, heavy = _rule(rules, "floors", "clarity.crushed_ice")["bands"]
    light["carat"]["below"] = heavy["carat"]["from"] = "4.00"
    return "clarity.crushed_ice"


def _narrower_window(rules: Plain) -> str:
    _rule(rules, "windows", "table.radiant")["comfort"]["to"] = "68.99"
    return "table.radiant"


def _other_edge_of_a_look(rules: Plain) -> str:
    bands = _rule(rules, "looks", "look.radiant")["bands"]
    bands[1]["below"] = bands[2]["from"] = "1.30"
    return "look.radiant"


def _other_row_of_a_guard(rules: Plain) -> str:
    _rule(rules, "guards", "durability.girdle.tips")["rows"][0]["verdict"] = "note"
    return "durability.girdle.tips"


def _further_reach_of_a_guard(rules: Plain) -> str:
    _rule(rules, "guards", "proportions.bow_tie.radiant")["ratio"]["from"] = "1.50"
    return "proportions.bow_tie.radiant"


@pytest.mark.parametrize(
    "edit",
    [
        _tighter_floor, _longer_band, _narrower_window, _other_edge_of_a_look, _other_row_of_a_guard,
        _further_reach_of_a_guard,
    ],
)  # fmt: skip
def test_one_rule_that_reads_otherwise_is_found_and_no_other(
    catalog: Catalog, edit: Callable[[Plain], str]
) -> None:
    rules = deepcopy(committed_rules(*HOUSE))
    stones = Stones(rules, seed=3, shapes=("radiant",)).some(ENOUGH)
    rule = edit(rules)

    found = list(islice(all_differences(compiled_rules(catalog, *HOUSE), rules, stones), 3))

    assert len(found) == 3
    assert {name for names in found for name in names} - {"verdict", "look"} == {rule}


@pytest.mark.parametrize("part", ["verdict", "look", "rule", "twice", "shown", "limits"])
def test_every_part_of_an_answer_is_compared(part: str) -> None:
    heard = Heard("look.oval", "note", "1.4", ("usual",))
    answer = Judged("pass", (heard,), "usual")
    other = {
        "verdict": Judged("ask", (heard,), "usual"),
        "look": Judged("pass", (heard,), "long"),
        "rule": Judged("pass", (), "usual"),
        "twice": Judged("pass", (heard, heard), "usual"),
        "shown": Judged("pass", (Heard("look.oval", "note", "1.5", ("usual",)),), "usual"),
        "limits": Judged("pass", (Heard("look.oval", "note", "1.4", ("long",)),), "usual"),
    }

    assert differences(answer, answer) == {}
    assert differences(answer, other[part])


def _half_down(number: Fraction, places: int) -> Fraction:
    return Fraction(ceil(number * 10**places - Fraction(1, 2)), 10**places)


def _cut_off(carat: float) -> int:
    return int(Fraction(str(carat)) * 100)


def _first_in_the_file(rules: Iterable[Plain], *_: object) -> Plain | None:
    return next(iter(rules), None)


def _white_unless_stated(asked: Asked) -> str:
    return tone(asked) or "white"


def _nobody_looked(*_: object) -> None:
    return None


_CLAWS: Final = {**SETTING_VALUES, "protection": ("claws",)}
SLIPS: Final[dict[str, tuple[str, object]]] = {
    "weights cut off instead of rounded": ("naive_judge.points", _cut_off),
    "halves rounded down": ("naive_facts.half_up", _half_down),
    "the first rule of a file taken": ("naive_judge.most_specific", _first_in_the_file),
    "an unstated metal read as white": ("naive_judge.tone", _white_unless_stated),
    "an unstated protection read as claws": ("naive_judge.SETTING_VALUES", _CLAWS),
    "a look overlooked": ("naive_judge._looked", _nobody_looked),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_a_judge_that_slips_is_found_out(
    catalog: Catalog, slip: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    rules = committed_rules(*HOUSE)
    monkeypatch.setattr(*SLIPS[slip])

    stones = Stones(rules, seed=4).some(ENOUGH)

    assert next(all_differences(compiled_rules(catalog, *HOUSE), rules, stones), None)


# A setting that nobody has stated


SAID: Final = ("silent", "pass", "note", "ask", "fail")
# What a guard of two rows says of a bezel, and of all else. Two complaints have no remedy and do not load.
PAIRS: Final = [pair for pair in product(SAID, SAID) if not set(pair) <= {"ask", "fail"}]


@pytest.fixture(scope="module")
def unstated(drafts: Tree) -> dict[tuple[str, str], tuple[str, str]]:
    """What the real judge and the naive one say while the protection is not stated."""
    base = read_whole(drafts.root, "house", "1.0.0")
    guards = [
        added_guard(base, [({}, other), ({"protection": ["bezel"]}, bezel)], f"{bezel}_{other}")
        for bezel, other in PAIRS
    ]
    release = accepted(drafts, alone(base, {**base, "guards": guards}, "unstated"))
    assert isinstance(release, Release)
    rules = read_whole(drafts.root, "unstated", "1.0.0")
    shutil.rmtree(drafts.root / "unstated")
    answers = both(release.compiled, rules, Request({"shape": "round"}, None, date(2026, 1, 1)))
    real, naive = ({one.rule: one.verdict for one in answer.heard} for answer in answers)
    ids = {pair: f"made.{pair[0]}_{pair[1]}" for pair in PAIRS}
    return {pair: (real.get(rule, "silent"), naive.get(rule, "silent")) for pair, rule in ids.items()}


@pytest.mark.parametrize(
    ("bezel", "other"),
    PAIRS,
)
def test_two_judges_say_the_same_of_a_setting_that_nobody_has_stated(
    unstated: dict[tuple[str, str], tuple[str, str]], bezel: str, other: str
) -> None:
    real, naive = unstated[bezel, other]

    assert real == naive


# The long form


@pytest.mark.long
@pytest.mark.parametrize(("name", "version"), VERSIONS)
def test_two_judges_say_the_same_of_a_hundred_thousand_stones(
    catalog: Catalog, name: str, version: str, capsys: pytest.CaptureFixture[str]
) -> None:
    rules = committed_rules(name, version)
    start = perf_counter()
    held = hold(
        compiled_rules(catalog, name, version),
        rules,
        Stones(rules, seed=5 + VERSIONS.index((name, version))).some(LONG_STONES // len(VERSIONS)),
    )
    with capsys.disabled():
        print(  # noqa: T201 - the figures are what this is run for
            f"\n{name} {version}: {held.verdicts.total()} stones, {len(held.different)} differences, "
            f"{perf_counter() - start:.0f} s; {dict(held.verdicts)}"
        )

    assert held.different == []
    assert kinds_of_rules(rules).keys() == held.rules.keys()


@pytest.mark.long
def test_two_judges_say_the_same_under_fifty_rule_sets_changed_by_chance(
    drafts: Tree, capsys: pytest.CaptureFixture[str]
) -> None:
    start = perf_counter()
    figures = hold_mutants(drafts, LONG_MUTANTS, 400)
    with capsys.disabled():
        print(  # noqa: T201 - the figures are what this is run for
            f"\n{figures.made['mutants']} changed rule sets ({figures.telling} of them answer otherwise than "
            f"their base), {figures.refused['mutants']} more refused; {figures.verdicts.total()} stones, "
            f"no difference, {perf_counter() - start:.0f} s; {dict(figures.verdicts)}; {dict(figures.made)}"
        )

    assert figures.verdicts.total() == LONG_MUTANTS * 400
    assert figures.telling > LONG_MUTANTS // 2
    assert {change.__name__ for change in CHANGES} <= figures.made.keys()
