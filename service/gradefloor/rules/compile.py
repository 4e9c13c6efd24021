"""A rule set becomes frozen tables, or the list of all its faults.

What is proved here, for every shape and whatever a rule may ask about:
1. every diamond of every shape, position, origin and metal tone has exactly one floor for each grade;
2. every center shape has a look for every ratio;
3. the most specific rule wins, and two equally specific ones that overlap are a fault;
4. a guard's rows answer every combination of their facts exactly once;
5. the remedy of every ask and fail in a guard turns it.
Opens no files and judges nothing.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal
from functools import partial
from itertools import product
from typing import Final, TypeVar

from pydantic import BaseModel

from gradefloor.rules.facts import FACTS, Issuer
from gradefloor.rules.findings import TOPIC_ORDER, Stamp
from gradefloor.rules.format import RULE_KINDS, Floor, Guard, Rule, RuleSet, Window, WindowSide
from gradefloor.rules.guards import Cells
from gradefloor.rules.measures import MEASURES
from gradefloor.rules.merge import Places
from gradefloor.rules.strict_yaml import Fault
from gradefloor.rules.tables import (
    Band,
    CompiledFloor,
    CompiledGuard,
    CompiledLook,
    CompiledRules,
    CompiledSide,
    CompiledWindow,
    Floors,
    ShapeRules,
)
from gradefloor.trade.grades import CLARITY, COLOR, Span
from gradefloor.trade.shapes import GROUPS, SHAPES
from gradefloor.trade.stones import Context, Stone

POSITIONS: Final = ("center", "side", "melee")
ORIGINS: Final = ("natural", "laboratory_grown")
TONES: Final = ("white", "warm")

# What a floor may have to ask before it can answer.
FLOOR_QUESTIONS: Final = (
    "stone.carat", "stone.color", "stone.clarity", "stone.observations.eye_clean",
    "stone.observations.tint", "context.metal",
)  # fmt: skip

R = TypeVar("R", bound=Rule)


def compile_rules(
    rules: RuleSet, where: Places, digest: str, overridable: frozenset[str] = frozenset()
) -> tuple[CompiledRules | None, list[Fault]]:
    """Frozen tables, or every fault. `overridable` are the ids that an extended name brought along."""
    return _Compiler(rules, where, digest, overridable).run()


def check_rules(rules: RuleSet, where: Places, overridable: frozenset[str]) -> list[Fault]:
    """Faults of rules each by itself, where some are missing and gaps would mean nothing."""
    compiler = _Compiler(rules, where, "", overridable)
    compiler.check_each()
    return compiler.faults


class _Compiler:
    def __init__(self, rules: RuleSet, where: Places, digest: str, overridable: frozenset[str]) -> None:
        self.rules = rules
        self.where = where
        self.digest = digest
        self.overridable = overridable
        self.faults: list[Fault] = []
        self.sources = {source.id: source.write() for source in rules.sources}
        self.questions = {question.about: question.ask for question in rules.questions}
        topics = sorted((TOPIC_ORDER[topic], topic, rule.id) for topic, rule in _topics(rules))
        self.places = {(topic, rule): place for place, (_, topic, rule) in enumerate(topics)}

    def run(self) -> tuple[CompiledRules | None, list[Fault]]:
        guards = self.check_each()
        shapes = {shape: self.shape(shape, guards) for shape in SHAPES}
        if self.faults:
            return None, sorted(set(self.faults))
        compiled = CompiledRules(
            name=self.rules.name,
            version=self.rules.version,
            effective=self.rules.effective.isoformat(),
            digest=self.digest,
            rules=frozenset(rule for _, rule in self.places),
            shapes=shapes,
            questions=self.questions,
            issuers=self.issuers(),
        )
        return compiled, []

    def check_each(self) -> list[tuple[Guard, CompiledGuard]]:
        self.check_identities()
        self.check_questions()
        for window in self.rules.windows:
            self.window(window)
        return [(guard, self.guard(guard)) for guard in self.rules.guards]

    def refuse(self, rule: str, found: str, allowed: str, *at: str | int) -> None:
        self.faults.append(self.where.fault(rule, found, allowed, *at))

    # What is named must exist

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
            roots: dict[str, type[BaseModel]] = {"stone": Stone, "context": Context}
            model = roots.get(head)
            if model is not None and rest and not _leads_somewhere(model, rest):
                path = ("questions", index, "about")
                self.faults.append(own.fault(path, repr(question.about), "a member of the request"))
        for about in FLOOR_QUESTIONS:
            if about not in self.questions:
                fault = own.fault(("questions",), f"no question about {about}", "one, because floors ask it")
                self.faults.append(fault)

    def check_ask(self, rule: str, about: str, *at: str | int) -> None:
        if about not in self.questions:
            self.refuse(rule, f"ask {about!r}", "the about of an entry in questions", *at)

    def issuers(self) -> dict[str, Issuer]:
        table: dict[str, Issuer] = {}
        for note in self.rules.issuers:
            offsets = {
                grade: Span(offset.at_least, offset.at_most)
                for grade, offset in (("color", note.color_offset), ("clarity", note.clarity_offset))
                if offset is not None
            }
            issuer = Issuer(
                note.name,
                frozenset(expand(note.cut_grade_shapes)),
                note.laboratory_grown_letters_until,
                offsets,
            )
            for name in (note.name, *note.aliases):
                table[name.casefold()] = issuer
        return table

    def stamp(self, rule: Rule, topic: str) -> Stamp:
        source = self.sources.get(rule.source, rule.source)
        return Stamp(rule.id, topic, rule.because, source, rule.disagreement, self.places[topic, rule.id])

    # One shape

    def shape(self, shape: str, guards: Sequence[tuple[Guard, CompiledGuard]]) -> ShapeRules:
        floors: dict[tuple[str, str], Floors] = {}
        for position, origin in product(POSITIONS, ORIGINS):
            clarity = self.floor("clarity", shape, position, origin, None)
            color = {tone: self.floor("color", shape, position, origin, tone) for tone in TONES}
            if clarity is not None and all(color.values()):
                found = {tone: floor for tone, floor in color.items() if floor is not None}
                floors[position, origin] = Floors(clarity, found)
        return ShapeRules(
            floors=floors,
            windows=self.windows(shape),
            look=self.look(shape),
            guards={
                (material, position): tuple(
                    compiled for guard, compiled in guards if _covers(guard, shape, material, position)
                )
                for material, position in product(FACTS["material"].values, POSITIONS)
            },
        )

    def floor(
        self, grade: str, shape: str, position: str, origin: str, tone: str | None
    ) -> CompiledFloor | None:
        def covers(floor: Floor) -> bool:
            return (
                floor.grade == grade
                and shape in expand(floor.shapes)
                and (floor.positions is None or position in floor.positions)
                and (floor.origins is None or origin in floor.origins)
                and (tone is None or floor.tones is None or tone in floor.tones)
            )

        cell = " ".join(filter(None, (shape, position, origin, tone and f"in a {tone} head")))
        chosen = self.choose((f for f in self.rules.floors if covers(f)), shape, _floor_axes, cell)
        if chosen is None:
            fault = self.where.own.fault(("floors",), f"a gap: no {grade} floor for {cell}", "one rule")
            self.faults.append(fault)
            return None
        scale = CLARITY if grade == "clarity" else COLOR
        bands = tuple(
            Band(
                from_points=int((band.carat.from_ or Decimal(0)) * 100),
                below_points=None if band.carat.below is None else int(band.carat.below * 100),
                on_paper=scale.rank(band.on_paper),
                if_seen=scale.rank(band.if_seen or band.on_paper),
            )
            for band in chosen.bands
        )
        return CompiledFloor(self.stamp(chosen, grade), scale, bands)

    def windows(self, shape: str) -> dict[str, tuple[CompiledWindow, ...]]:
        table: dict[str, tuple[CompiledWindow, ...]] = {}
        for material in FACTS["material"].values:
            found = []
            for measure in MEASURES:
                covering = [
                    window
                    for window in self.rules.windows
                    if window.measure == measure
                    and shape in expand(window.shapes)
                    and material in (window.materials or ("diamond",))
                ]
                cell = f"{measure} of {shape}, {material}"
                chosen = self.choose(covering, shape, lambda w: int(w.materials is not None), cell)
                if chosen is not None:
                    found.append(self.window(chosen))
            table[material] = tuple(found)
        return table

    def window(self, window: Window) -> CompiledWindow:
        return CompiledWindow(
            stamp=self.stamp(window, window.topic),
            measure=MEASURES[window.measure],
            unstated=window.unstated,
            threshold=f"{window.comfort.write()}, tolerated {window.tolerated.write()}",
            comfort=window.comfort,
            tolerated=window.tolerated,
            low=self.side(window, window.low, "low"),
            high=self.side(window, window.high, "high"),
        )

    def side(self, window: Window, side: WindowSide, key: str) -> CompiledSide:
        self.check_ask(window.id, side.ask, key, "ask")
        settled = []
        for name, values in (side.settled_by or {}).items():
            for value in values:
                if value not in FACTS[name].domain:
                    allowed = f"one of {', '.join(FACTS[name].domain)}"
                    self.refuse(window.id, repr(value), allowed, key, "settled_by", name)
            settled.append((FACTS[name].read, frozenset(values)))
        return CompiledSide(side.says, side.ask, tuple(settled))

    def look(self, shape: str) -> CompiledLook | None:
        covering = [look for look in self.rules.looks if shape in expand(look.shapes)]
        chosen = self.choose(covering, shape, lambda _: 0, f"looks of {shape}")
        if chosen is None:
            if SHAPES[shape].role == "center":
                self.faults.append(
                    self.where.own.fault(("looks",), f"a gap: no look for {shape}", "one rule")
                )
            return None
        return CompiledLook(self.stamp(chosen, "ratio"), tuple(chosen.bands))

    def choose(self, covering: Iterable[R], shape: str, axes: Callable[[R], int], cell: str) -> R | None:
        """The most specific rule: the one that names more; at a tie, a shape beats a group beats all."""
        ranked = sorted(((_specificity(rule, shape, axes), rule) for rule in covering), key=lambda r: r[0])
        if not ranked:
            return None
        best, chosen = ranked[-1]
        for specificity, other in ranked[:-1]:
            if specificity == best:
                found = f"an overlap with {other.id} for {cell}"
                self.refuse(chosen.id, found, "one of the two narrower than the other", "shapes")
        return chosen

    # Guards

    def guard(self, guard: Guard) -> CompiledGuard:
        names = list(dict.fromkeys(name for row in guard.rows for name in row.when))
        names += [name for name in guard.remedied_by if name not in names]
        facts = [FACTS[name] for name in names]
        stamp = self.stamp(guard, guard.topic)
        cells = Cells(guard, stamp, facts, partial(self.refuse, guard.id)).fill()
        for about in {about for said in cells.values() if said for about in said[2]}:
            self.check_ask(guard.id, about, "rows")
            if about.startswith(("stone.", "context.")) and about not in {fact.about for fact in facts}:
                self.refuse(
                    guard.id, f"ask {about}, which no fact of the rule reads", "what would settle it", "rows"
                )
        return CompiledGuard(
            ratio=guard.ratio,
            reads=tuple(fact.read for fact in facts),
            quotes=tuple(fact.quote for fact in facts if fact.quote is not None),
            cells=cells,
        )


def expand(shapes: Iterable[str]) -> frozenset[str]:
    """Shapes named by a list of shapes and groups."""
    return frozenset().union(*(GROUPS.get(name, frozenset({name})) for name in shapes))


def _topics(rules: RuleSet) -> Iterator[tuple[str, Rule]]:
    """Every rule with the topic of its findings."""
    yield from ((floor.grade, floor) for floor in rules.floors)
    yield from ((window.topic, window) for window in rules.windows)
    yield from ((guard.topic, guard) for guard in rules.guards)
    yield from (("ratio", look) for look in rules.looks)


def _covers(guard: Guard, shape: str, material: str, position: str) -> bool:
    return (
        shape in expand(guard.shapes)
        and (guard.materials is None or material in guard.materials)
        and (guard.positions is None or position in guard.positions)
    )


def _floor_axes(floor: Floor) -> int:
    return sum(axis is not None for axis in (floor.positions, floor.origins, floor.tones))


def _specificity(rule: R, shape: str, axes: Callable[[R], int]) -> tuple[int, int]:
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
