"""Floors and windows of a compiled rule set as plain decision trees, for engines that know nothing of stones.

Everything is derived from the compiled tables: bands, ranks, ends of windows and what settles them. A tree
asks one fact after the other and ends in verdicts; `engines` writes the trees in each engine's own form.

In: for a diamond in the center of a jewel, of any shape whose place is the center, natural or
laboratory-grown, the clarity floor by carat band (on paper, once seen to be clean to the eye), the color
floor by carat band and tone of the head (on paper, once seen to be free of tint), and all windows (ratio,
depth, table, gap between stated and computed depth, age of the report) with comfort, tolerated, what settles
a side, and what is said where nothing is stated.

Out, because an engine would need more than a comparison: ranges of grades (and the quality classes that stand
for them), a head whose metal is not stated, other materials and positions. Out, because the scope is floors
and windows: guards and looks. Of an answer: reasons, remedies, questions, measures and the digest.

All work on the request is done for the engines before the clock starts: grades are ranks (a laboratory's
offset is in them), carats are points, ratio, depth, gap and age are floats, and only what the trees of that
shape read is handed over.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any, Final, NamedTuple

from gradefloor.rules.facts import FACTS
from gradefloor.rules.measures import MEASURES
from gradefloor.rules.tables import (
    Band,
    CompiledFloor,
    CompiledRules,
    CompiledSide,
    CompiledWindow,
    Guards,
)
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.stones import Context, Stone
from naive_facts import SCALES, Asked, fact, grade, measure, points, tone
from naive_judge import read_whole
from naive_stones import DAYS, Stones

CENTER_SHAPES: Final = tuple(name for name, shape in SHAPES.items() if shape.role == "center")
_ORIGINS: Final = ("natural", "laboratory_grown")
_TONES: Final = ("white", "warm")
_METALS: Final = ("platinum", "white_gold", "yellow_gold", "rose_gold")
_NAMES: Final = {fact.read: name for name, fact in FACTS.items()}
# Where a rule says nothing; such a rule is left out of the verdicts.
SILENT: Final = "silent"

Value = float | bool | str | None


class Test(NamedTuple):
    """One comparison of a fact with a value that stands in the rules; `sign` is ==, < or <=."""

    fact: str
    sign: str
    value: Value


@dataclass(frozen=True, slots=True)
class Choice:
    """The one tree if the test holds, else the other."""

    test: Test
    then: "Tree"
    otherwise: "Tree"


# A verdict, a choice, or several answers at once.
Tree = str | Choice | tuple["Tree", ...]
Values = dict[str, Value]


class Key(NamedTuple):
    """What picks the rules of a stone."""

    shape: str
    origin: str
    tone: str


# Id of a rule and its tree, for one key; the order is that in which engines answer.
Trees = Mapping[str, Tree]


class Facts(NamedTuple):
    """What an engine is given of one stone.

    `values` is all that the rules of this key read; `keyed` has the key's own members beside them.
    """

    key: Key
    values: Values
    keyed: Values


class Sample(NamedTuple):
    """One invented stone: as the judge takes it, and as an engine takes it."""

    stone: Stone
    context: Context
    as_of: date
    facts: Facts


# Rules


def trees_by_key(rules: CompiledRules) -> dict[Key, Trees]:
    """All rules in scope, by what picks them."""
    return {
        Key(shape, origin, tone): _trees(rules, Key(shape, origin, tone))
        for shape in CENTER_SHAPES
        for origin in _ORIGINS
        for tone in _TONES
    }


def _trees(rules: CompiledRules, key: Key) -> dict[str, Tree]:
    tables = rules.shapes[key.shape]
    floors = tables.floors["center", key.origin]
    clarity, color = floors.clarity, floors.color[key.tone]
    trees: dict[str, Tree] = {
        clarity.stamp.rule: _floor(clarity, "clarity", "eye_clean"),
        color.stamp.rule: _floor(color, "color", "untinted"),
    }
    return trees | {window.stamp.rule: _window(window) for window in tables.windows["diamond"]}


def _floor(floor: CompiledFloor, grade: str, looked: str) -> Tree:
    """The band of the weight, then the rank against its two limits."""
    *under, last = floor.bands
    tree = _band(last, grade, looked)
    for band in reversed(under):
        if band.below_points is None:
            raise AssertionError("only the last band of a compiled floor is open")
        tree = Choice(Test("points", "<", band.below_points), _band(band, grade, looked), tree)
    stated = Choice(Test("points", "==", None), "ask", tree)
    return Choice(Test(grade, "==", None), "ask", stated)


def _band(band: Band, grade: str, looked: str) -> Tree:
    """Good on paper unless whoever looked found otherwise; then good if seen, up to the second limit."""
    on_paper = Choice(Test(looked, "==", False), "ask", "pass")
    if band.if_seen == band.on_paper:
        return Choice(Test(grade, "<=", band.on_paper), on_paper, "fail")
    if_seen = Choice(Test(looked, "==", None), "ask", Choice(Test(looked, "==", True), "pass", "fail"))
    beyond = Choice(Test(grade, "<=", band.if_seen), if_seen, "fail")
    return Choice(Test(grade, "<=", band.on_paper), on_paper, beyond)


def _window(window: CompiledWindow) -> Tree:
    """From the low end to the high one, so that two comparisons settle most stones."""
    name = window.measure.name
    high: Tree = Choice(Test(name, "<=", float(window.tolerated.to)), "note", _side(window.high))
    inside = Choice(Test(name, "<=", float(window.comfort.to)), "pass", high)
    low: Tree = Choice(Test(name, "<", float(window.tolerated.from_)), _side(window.low), "note")
    stated = Choice(Test(name, "<", float(window.comfort.from_)), low, inside)
    unstated = SILENT if window.unstated is None else window.unstated.verdict
    return Choice(Test(name, "==", None), unstated, stated)


def _side(side: CompiledSide) -> Tree:
    """Out of the window, unless a fact settles it."""
    tree: Tree = "ask"
    for read, values in side.settled_by:
        for value in sorted(values):
            tree = Choice(Test(_NAMES[read], "==", value), "note", tree)
    return tree


def one_tree(rules: Mapping[Key, Trees]) -> Tree:
    """All rules of all keys as one tree, whose answers are rule and verdict in turn."""
    whole: Tree = ()
    for shape in reversed(CENTER_SHAPES):
        natural, grown = (
            Choice(
                Test("tone", "==", "white"),
                _in_turn(rules[Key(shape, origin, "white")]),
                _in_turn(rules[Key(shape, origin, "warm")]),
            )
            for origin in _ORIGINS
        )
        whole = Choice(
            Test("shape", "==", shape), Choice(Test("origin", "==", "natural"), natural, grown), whole
        )
    return whole


def _in_turn(trees: Trees) -> Tree:
    return tuple(part for rule, tree in trees.items() for part in (rule, tree))


def facts_read(tree: Tree) -> set[str]:
    """Names of the facts that a tree asks."""
    if isinstance(tree, str):
        return set()
    if isinstance(tree, tuple):
        return set().union(*map(facts_read, tree))
    return {tree.test.fact} | facts_read(tree.then) | facts_read(tree.otherwise)


# Stones


def samples(rules: CompiledRules, rulesets: Path, count: int, seed: int) -> list[Sample]:
    """Invented stones in scope, crowded around all ends of bands and windows; the same for the same seed.

    Their facts are read as the naive judge reads them, so that agreement does not hang on one reading.
    """
    plain = read_whole(rulesets, rules.name, rules.version)
    trees = trees_by_key(rules)
    found: list[Sample] = []
    for asked in _asked(Stones(plain, seed, CENTER_SHAPES), plain["issuers"]):
        facts = _facts(asked, trees)
        if facts is not None:
            stone, context = Stone.model_validate(asked.stone), Context.model_validate(asked.context)
            found.append(Sample(stone, context, asked.as_of, facts))
        if len(found) == count:
            break
    return found


def _asked(stones: Stones, issuers: list[dict[str, Any]]) -> Iterator[Asked]:
    """Nearly everything is stated, as in a listing; two stones in five are sound but for a few members."""
    at = stones.at
    while True:
        stone = stones.stone(0.95)
        if at.random() < 0.4:
            stone = stones.mended(stone)
        if at.random() < 0.6:
            # At an end of a carat band, whatever the millimetres say, and a grade about which floors differ.
            stone["carat"] = max(round(at.choice(stones.edges.carat) + at.choice((-0.01, 0)), 2), 0.01)
            stone["clarity"] = at.choice(SCALES["clarity"][2:9])
            stone["color"] = at.choice(SCALES["color"][:9])
        stone["material"] = "diamond"
        context = {
            "metal": at.choice(_METALS),
            "jewelry": "ring",
            "protection": at.choice(("claws", "bezel")),
        }
        yield Asked(stone, context, at.choice(DAYS), issuers)


def _facts(asked: Asked, trees: Mapping[Key, Trees]) -> Facts | None:
    """What the rules of this stone read; None if one of its grades is a range."""
    spans = {name: grade(asked, name) for name in SCALES}
    if any(span is not None and span[0] != span[1] for span in spans.values()):
        return None
    carat, tint = asked.stone.get("carat"), asked.member("stone", "observations", "tint")
    known: Values = {
        **{name: None if span is None else span[0] for name, span in spans.items()},
        "points": None if carat is None else points(carat),
        "eye_clean": asked.member("stone", "observations", "eye_clean"),
        "untinted": None if tint is None else tint == "none",
    }
    key = Key(asked.stone["shape"], asked.stone.get("origin") or "natural", str(tone(asked)))
    read = facts_read(tuple(trees[key].values()))
    for name in sorted(read - known.keys()):
        value = measure(asked, name) if name in MEASURES else fact(asked, name)
        known[name] = float(value) if isinstance(value, Fraction) else value
    return Facts(key, known, {**key._asdict(), **known})


# Ours, with everything or with the same rules only


def reduced(rules: CompiledRules) -> CompiledRules:
    """The same rule set with floors and windows alone; whole findings and the rest of an answer stay."""
    return replace(
        rules,
        shapes={
            shape: replace(tables, guards=dict.fromkeys(tables.guards, Guards(())), look=None)
            for shape, tables in rules.shapes.items()
        },
    )


def verdicts(answer: Mapping[str, Any], trees: Trees) -> dict[str, str]:
    """Verdict by rule of an answer of ours, for the rules in scope."""
    return {one["rule"]: one["verdict"] for one in answer["findings"] if one["rule"] in trees}
