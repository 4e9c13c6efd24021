"""What rules of advice say, as blocks of the rule book."""

import re
from collections.abc import Iterator
from typing import Any

from gradefloor.rules.advice_format import Assortment, Character, Clash, Merit, Perception, Sign, Tag, Urgency
from gradefloor.rules.lexicon_format import LEXICON_FIELDS, Lexicon
from gradefloor.web.rulebook_blocks import Block, Grid, lines
from gradefloor.web.rulebook_references import LANGUAGES
from gradefloor.web.rulebook_words import any_of, conditions, spaced, values_told


def character(rule: Character) -> Iterator[Block]:
    spare = rule.spare
    yield lines([
        ("Looks to choose", (any_of(map(spaced, rule.looks)),)),
        ("Wanted long", (any_of(map(spaced, rule.long_looks)),) if rule.long_looks else ()),
        ("Wanted broad", (any_of(map(spaced, rule.broad_looks)),) if rule.broad_looks else ()),
        ("Money to spare", () if spare is None else (
            f"It forgives {spare.forgives}; spend on {spare.spend_on}. {spare.says}",
        )),
        ("May be given up, the first first", tuple(
            f"{spaced(g.what).capitalize()}: {g.says}" for g in rule.give_up_first
        )),
        ("Never given up", tuple(rule.never)),
    ])  # fmt: skip


def perception(rule: Perception) -> Iterator[Block]:
    warm = rule.warm_head_adds
    yield lines([
        ("Color letters that can be seen apart", (
            f"{rule.color_letters} or more"
            + (f", in a yellow or rose head {rule.color_letters + warm}" if warm else ""),
        )),
        ("Clarity grades", (f"{rule.clarity_grades} or more, one of them not safely clean to the eye",)),
        ("Area, face up", (f"{rule.area_pct} % or more",)),
        ("Length to width", (f"{rule.ratio} or more",)),
    ])  # fmt: skip


def assortment(rule: Assortment) -> Iterator[Block]:
    yield lines([
        ("Materials", (values_told(rule.materials),)),
        ("Sizes", (", ".join(f"{long} × {wide} mm" for long, wide in rule.sizes_mm),)),
        ("Color classes, the whitest first", (", ".join(map(spaced, rule.color_classes)),)),
    ])  # fmt: skip


def clash(rule: Clash) -> Iterator[Block]:
    yield lines([
        ("Holds where", _sign("clashes", rule)), ("Says", (rule.says,)), ("Ways out", tuple(rule.ways_out)),
    ])  # fmt: skip


def tag(rule: Tag) -> Iterator[Block]:
    yield lines([
        ("Word", (spaced(rule.tag),)),
        ("Holds where", _sign("tags", rule)),
        ("Stands in the way", (f"{rule.severity} of 3",)),
        ("Refer to", (rule.refer,) if rule.refer else ()),
    ])  # fmt: skip


def merit(rule: Merit) -> Iterator[Block]:
    more = f"more where {rule.priority} is a priority of the wish"
    yield lines([
        ("Counts", (spaced(rule.merit),)),
        ("Points for a full hit", (f"{rule.points}",)),
        ("Counts", (more,) if rule.priority else ()),
    ])  # fmt: skip


def urgency(rule: Urgency) -> Iterator[Block]:
    yield Grid(
        "What counts",
        ("Part", "1", "2", "3", "Weight"),
        (
            ("Deadline, days left under", *map(str, rule.deadline_days), _weight(rule, "deadline")),
            ("Value, amount from", *map(str, rule.amounts), _weight(rule, "value")),
            (
                "Share of the wish that is known, about",
                "a third",
                "two thirds",
                "all",
                _weight(rule, "completeness"),
            ),
            ("Worst of its words, of 3", "1", "2", "3", _weight(rule, "severity")),
        ),
    )
    yield lines([
        ("High", (f"from a sum of {rule.high_from}",)),
        ("Medium", (f"from a sum of {rule.medium_from}",)),
    ])  # fmt: skip


def lexicon(rule: Lexicon) -> Iterator[Block]:
    """Counts only: the words are data for reading messages, not judgement."""
    count = sum(map(len, rule.words.values()))
    yield lines([
        ("Language", (LANGUAGES.get(rule.language, rule.language),)),
        ("About", (_named(LEXICON_FIELDS[rule.field].about),)),
        ("Words", (f"{count} for {len(rule.words)} meanings",)),
    ])  # fmt: skip


def _sign(kind: str, rule: Sign) -> tuple[str, ...]:
    return tuple(conditions(kind, rule.when, rule.measured, alone=True))


def _weight(rule: Urgency, part: Any) -> str:
    return f"× {rule.weights.get(part, 0)}"


def _named(text: str) -> str:
    """Words in backticks as one reads them, in quotation marks."""
    return re.sub(r"`(\w+)`", lambda found: f"“{spaced(found[1])}”", text)
