"""What every kind of rule is held to: names that exist, each id once, one rule that wins, ways to ask.

The faults found are gathered here; nothing stops at the first.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import Any, Final, TypeVar

from pydantic import BaseModel

from gradefloor.rules.entries import Reasoned, Rule
from gradefloor.rules.format import ADVICE_KINDS, RULE_KINDS, WORDING_KINDS, RuleSet
from gradefloor.rules.merge import Places
from gradefloor.rules.said import TOPIC_ORDER, Stamp
from gradefloor.rules.strict_yaml import Fault
from gradefloor.rules.terms import Fact
from gradefloor.trade.settings import Finger, Setting, SideStone, Wearer, WeddingBand
from gradefloor.trade.shapes import GROUPS
from gradefloor.trade.stones import Context, Stone
from gradefloor.trade.wishes import Wish

# Members of requests, by their first step: what a rule may ask about.
ROOTS: Final[dict[str, type[BaseModel]]] = {
    "stone": Stone,
    "context": Context,
    "center": Stone,
    "setting": Setting,
    "side_stones": SideStone,
    "wedding_band": WeddingBand,
    "finger": Finger,
    "wearer": Wearer,
    "wish": Wish,
}

R = TypeVar("R", bound=Rule)


class Checks:
    """One rule set under examination. `overridable` are the ids that an extended name brought along."""

    def __init__(self, rules: RuleSet, where: Places, overridable: frozenset[str]) -> None:
        self.rules = rules
        self.where = where
        self.overridable = overridable
        self.faults: list[Fault] = []
        self.sources = {source.id: source.write() for source in rules.sources}
        self.questions = {question.about: question.ask for question in rules.questions}
        topics = sorted((TOPIC_ORDER[topic], topic, rule.id) for topic, rule in _topics(rules))
        self.places = {(topic, rule): place for place, (_, topic, rule) in enumerate(topics)}

    def refuse(self, rule: str, found: str, allowed: str, *at: str | int) -> None:
        self.faults.append(self.where.fault(rule, found, allowed, *at))

    def check_identities(self) -> None:
        seen: set[str] = set()
        for kind in RULE_KINDS:
            for rule in getattr(self.rules, kind):
                if rule.id in seen:
                    self.refuse(rule.id, f"the id {rule.id} again", "an id used once", "id")
                seen.add(rule.id)
                if rule.source not in self.sources:
                    self.refuse(rule.id, f"source {rule.source!r}", self.any_source(), "source")
                here = self.where.of_rule[rule.id][0] is self.where.own
                if here and rule.id in self.overridable and rule.instead_because is None:
                    self.refuse(rule.id, "an override without its reason", "instead_because", "id")
                if here and rule.id not in self.overridable and rule.instead_because is not None:
                    self.refuse(rule.id, "instead_because", "only in an override", "instead_because")

        self.check_named_once("sources", [source.id for source in self.rules.sources])
        self.check_named_once("questions", [question.about for question in self.rules.questions])
        names = [name.casefold() for note in self.rules.issuers for name in (note.name, *note.aliases)]
        self.check_named_once("issuers", names)
        for index, note in enumerate(self.rules.issuers):
            if note.source not in self.sources:
                place = ("issuers", index, "source")
                self.faults.append(self.where.own.fault(place, f"source {note.source!r}", self.any_source()))

    def any_source(self) -> str:
        return f"an id among sources: {', '.join(self.sources)}"

    def check_named_once(self, kind: str, names: list[str]) -> None:
        for index, name in enumerate(names):
            if name in names[:index]:
                self.faults.append(self.where.own.fault((kind, index), f"{name} again", "each once"))

    def check_questions(self) -> None:
        own = self.where.own
        for index, question in enumerate(self.rules.questions):
            head, *rest = question.about.split(".")
            model = ROOTS.get(head)
            if model is not None and rest and not _leads_somewhere(model, rest):
                path = ("questions", index, "about")
                self.faults.append(own.fault(path, repr(question.about), "a member of the request"))

    def check_ask(self, rule: str, about: str, *at: str | int) -> None:
        if about not in self.questions:
            self.refuse(rule, f"ask {about!r}", "the about of an entry in questions", *at)

    def check_asks(self, rule: str, abouts: Iterable[str], facts: Iterable[Fact[Any]]) -> None:
        """What the rows of a table ask has its words, and is read by the table if it is in a request."""
        read = {fact.about for fact in facts}
        for about in sorted(abouts):
            self.check_ask(rule, about, "rows")
            if about.partition(".")[0] in ROOTS and about not in read:
                found = f"ask {about}, which no fact of the rule reads"
                self.refuse(rule, found, "what would settle it", "rows")

    def stamp(self, rule: Reasoned, topic: str) -> Stamp:
        source = self.sources.get(rule.source, rule.source)
        return Stamp(rule.id, topic, rule.because, source, rule.disagreement, self.places[topic, rule.id])

    def choose(self, covering: Iterable[R], shape: str, axes: Callable[[R], int], cell: str) -> R | None:
        """The most specific rule: the one that names more; at a tie, a shape beats a group beats all."""
        ranked = sorted(((how_specific(rule, shape, axes), rule) for rule in covering), key=lambda r: r[0])
        if not ranked:
            return None
        best, chosen = ranked[-1]
        for specificity, other in ranked[:-1]:
            if specificity == best:
                found = f"an overlap with {other.id} for {cell}"
                self.refuse(chosen.id, found, "one of the two narrower than the other", "shapes")
        return chosen


def expand(shapes: Iterable[str]) -> frozenset[str]:
    """Shapes named by a list of shapes and groups."""
    return frozenset().union(*(GROUPS.get(name, frozenset({name})) for name in shapes))


def _topics(rules: RuleSet) -> Iterator[tuple[str, Reasoned]]:
    """Every rule with the topic of its findings."""
    yield from ((floor.grade, floor) for floor in rules.floors)
    yield from ((window.topic, window) for window in rules.windows)
    yield from ((guard.topic, guard) for guard in rules.guards)
    yield from (("ratio", look) for look in rules.looks)
    yield from ((pairing.topic, pairing) for pairing in rules.pairings)
    yield from (("sides", rule) for rule in (*rules.companions, *rules.side_windows))
    yield from (("setting", style) for style in rules.styles)
    yield from (("advice", rule) for kind in ADVICE_KINDS for rule in getattr(rules, kind))
    yield from (("wording", rule) for kind in WORDING_KINDS for rule in getattr(rules, kind))


def how_specific(rule: R, shape: str, axes: Callable[[R], int]) -> tuple[int, int]:
    named = 0 if rule.shapes == ["all"] else 1
    rank = 2 if shape in rule.shapes else named
    return axes(rule) + named, rank


def _leads_somewhere(model: type[BaseModel], path: list[str]) -> bool:
    fields = model.model_fields
    if path[0] not in fields:
        return False
    if len(path) == 1:
        return True
    inner = next((part for part in _parts(fields[path[0]].annotation) if issubclass(part, BaseModel)), None)
    return inner is not None and _leads_somewhere(inner, path[1:])


def _parts(annotation: object) -> list[type]:
    options = getattr(annotation, "__args__", (annotation,))
    return [option for option in options if isinstance(option, type)]
