"""One rule as the rule book tells it: reason, source, how far views differ, and what its own kind says."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Final

from gradefloor.rules.entries import Reasoned, Rule
from gradefloor.web import rulebook_advice as advice
from gradefloor.web import rulebook_judging as judging
from gradefloor.web import rulebook_wording as wording
from gradefloor.web.rulebook_blocks import Block, Lines, joined
from gradefloor.web.rulebook_references import Citation, References
from gradefloor.web.rulebook_words import DISAGREEMENT, shapes_named, slots_marked


@dataclass(frozen=True, slots=True)
class Entry:
    """One rule. `number` is its place in this book, by which tables on paper point to it.

    `slots` are the places in its texts that a stone fills.
    """

    number: int
    id: str
    kind: str
    topic: str
    title: str
    because: str
    instead: str | None
    source: Citation
    disagreement: str
    level: str
    blocks: tuple[Block, ...]
    slots: frozenset[str]


def entry_of(refer: References, number: int, kind: str, rule: Reasoned) -> Entry:
    """The rule with its number in the book."""
    blocks = list(_TELLERS[kind](refer, rule))
    if isinstance(rule, Rule):
        blocks.insert(0, Lines((("Speaks of", (shapes_named(rule.shapes),)),)))
    return Entry(
        number=number,
        id=rule.id,
        kind=kind,
        topic=topic_of(kind, rule),
        title=rule.title,
        because=rule.because,
        instead=rule.instead_because,
        source=refer.sources[rule.source],
        disagreement=DISAGREEMENT[rule.disagreement],
        level=rule.disagreement,
        blocks=tuple(joined(blocks)),
        slots=slots_marked(repr(blocks)),
    )


def topic_of(kind: str, rule: Reasoned) -> str:
    """The topic under which the book prints a rule; empty where its chapter has none."""
    return getattr(rule, "topic", "") if kind in {"guards", "pairings"} else ""


_TELLERS: Final[dict[str, Callable[[References, Any], Iterable[Block]]]] = {
    "floors": lambda _, rule: judging.floor(rule),
    "windows": judging.window,
    "looks": lambda _, rule: judging.look(rule),
    "guards": judging.guard,
    "pairings": judging.pairing,
    "companions": judging.companions,
    "side_windows": judging.side_window,
    "styles": lambda _, rule: judging.style(rule),
    "characters": lambda _, rule: advice.character(rule),
    "perceptions": lambda _, rule: advice.perception(rule),
    "assortments": lambda _, rule: advice.assortment(rule),
    "clashes": lambda _, rule: advice.clash(rule),
    "tags": lambda _, rule: advice.tag(rule),
    "merits": lambda _, rule: advice.merit(rule),
    "urgencies": lambda _, rule: advice.urgency(rule),
    "lexicons": lambda _, rule: advice.lexicon(rule),
    "captions": lambda _, rule: wording.caption(rule),
    "glossaries": lambda _, rule: wording.glossary(rule),
    "phrasebooks": lambda _, rule: wording.phrasebook(rule),
    "policies": wording.policy,
    "namings": lambda _, rule: wording.naming(rule),
    "fillers": lambda _, rule: wording.filler(rule),
}
