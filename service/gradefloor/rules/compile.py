"""A rule set becomes frozen tables, or the list of all its faults.

What is proved here, for every shape and whatever a rule may ask about:
1. every diamond of every shape, position, origin and metal tone has exactly one floor for each grade;
2. every center shape has a look for every ratio;
3. the most specific rule wins, and two equally specific ones that overlap are a fault;
4. the rows of a guard or a pairing answer every combination of what they name exactly once;
5. the remedy of every ask and fail in them turns it.
Opens no files and judges nothing.
"""

from collections.abc import Callable, Sequence
from decimal import Decimal
from functools import partial
from itertools import product
from typing import Final, NamedTuple

from gradefloor.rules.advice_compile import AdviceCompiler
from gradefloor.rules.checks import Checks, expand
from gradefloor.rules.facts import FACTS, Issuer
from gradefloor.rules.format import RULE_KINDS, WORDING_KINDS, Floor, Guard, RuleSet, Window, WindowSide
from gradefloor.rules.guards import fill
from gradefloor.rules.listing_compile import ListingCompiler
from gradefloor.rules.measures import MEASURES
from gradefloor.rules.merge import Places
from gradefloor.rules.ring_compile import RingCompiler
from gradefloor.rules.said import Said, say
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
    Guards,
    ShapeRules,
)
from gradefloor.rules.wording_compile import WordingCompiler
from gradefloor.trade.grades import CLARITY, COLOR, Span
from gradefloor.trade.shapes import SHAPES

POSITIONS: Final = ("center", "side", "melee")
ORIGINS: Final = ("natural", "laboratory_grown")
TONES: Final = ("white", "warm")

# What a floor may have to ask before it can answer.
FLOOR_QUESTIONS: Final = (
    "stone.carat", "stone.color", "stone.clarity", "stone.observations.eye_clean",
    "stone.observations.tint", "context.metal",
)  # fmt: skip


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


class _Others(NamedTuple):
    """Compilers of what does not judge a single stone."""

    rings: RingCompiler
    advice: AdviceCompiler
    listings: ListingCompiler
    wording: WordingCompiler


class _Compiler(Checks):
    def __init__(self, rules: RuleSet, where: Places, digest: str, overridable: frozenset[str]) -> None:
        super().__init__(rules, where, overridable)
        self.digest = digest
        # One table for all that it covers, so that what is said by it is kept but once.
        self.compiled_floors: dict[str, CompiledFloor] = {}
        self.compiled_windows: dict[str, CompiledWindow] = {}
        self.guards_together: dict[tuple[str, ...], Guards] = {}

    def run(self) -> tuple[CompiledRules | None, list[Fault]]:
        guards, others = self.check_each()
        judged = SHAPES if self.rules.subject == "stones" else {}
        shapes = {shape: self.shape(shape, guards) for shape in judged}
        rings, advice = others.rings.tables(), others.advice.tables(shapes)
        captions, wording = others.listings.tables(), others.wording.tables()
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
            rings=rings,
            advice=advice,
            captions=captions,
            wording=wording,
        )
        return compiled, []

    def check_each(
        self,
    ) -> tuple[list[tuple[Guard, CompiledGuard]], _Others]:
        self.check_identities()
        self.check_subject()
        self.check_questions()
        if self.rules.subject == "stones":
            self.check_floor_questions()
        for window in self.rules.windows:
            self.window(window)
        guards = [(guard, self.guard(guard)) for guard in self.rules.guards]
        others = _Others(
            RingCompiler(self), AdviceCompiler(self), ListingCompiler(self), WordingCompiler(self)
        )
        return guards, others

    def check_subject(self) -> None:
        """What is about stones has no rules of wording, and the other way round."""
        about_wording = self.rules.subject == "wording"
        for kind in RULE_KINDS:
            for rule in getattr(self.rules, kind):
                if (kind in WORDING_KINDS) is not about_wording:
                    found = f"{kind} in a rule set about {self.rules.subject}"
                    self.refuse(rule.id, found, "rules about its subject")

    def check_floor_questions(self) -> None:
        for about in FLOOR_QUESTIONS:
            if about not in self.questions:
                where, found = self.where.own, f"no question about {about}"
                self.faults.append(where.fault(("questions",), found, "one, because floors ask it"))

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
                (material, position): self.together(
                    [pair for pair in guards if _covers(pair[0], shape, material, position)]
                )
                for material, position in product(FACTS["material"].values, POSITIONS)
            },
        )

    def together(self, guards: Sequence[tuple[Guard, CompiledGuard]]) -> Guards:
        """Guards that cover the same stones; most shapes, materials and positions share them with others."""
        ids = tuple(guard.id for guard, _ in guards)
        if ids not in self.guards_together:
            self.guards_together[ids] = Guards([compiled for _, compiled in guards])
        return self.guards_together[ids]

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
        if chosen.id in self.compiled_floors:
            return self.compiled_floors[chosen.id]
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
        floor = CompiledFloor(self.stamp(chosen, grade), scale, bands)
        self.compiled_floors[chosen.id] = floor
        return floor

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
        if window.id not in self.compiled_windows:
            self.compiled_windows[window.id] = self.compile_window(window)
        return self.compiled_windows[window.id]

    def compile_window(self, window: Window) -> CompiledWindow:
        measure, stamp = MEASURES[window.measure], self.stamp(window, window.topic)
        threshold = f"{window.comfort.write()}, tolerated {window.tolerated.write()}"
        told = partial(say, stamp, observed=None, threshold=threshold)
        missing = f"{measure.title} is not stated. {stamp.because}"
        return CompiledWindow(
            stamp=stamp,
            measure=measure,
            unstated=told("note", reason=missing) if window.unstated == "note" else None,
            inside=told("pass", reason=stamp.because),
            comfort=window.comfort,
            tolerated=window.tolerated,
            low=self.side(window, window.low, "low", told),
            high=self.side(window, window.high, "high", told),
        )

    def side(self, window: Window, side: WindowSide, key: str, told: Callable[..., Said]) -> CompiledSide:
        self.check_ask(window.id, side.ask, key, "ask")
        settled = []
        for name, values in (side.settled_by or {}).items():
            for value in values:
                if value not in FACTS[name].domain:
                    allowed = f"one of {', '.join(FACTS[name].domain)}"
                    self.refuse(window.id, repr(value), allowed, key, "settled_by", name)
            settled.append((FACTS[name].read, frozenset(values)))
        low, measure = key == "low", MEASURES[window.measure]
        edge = window.tolerated.from_ if low else window.tolerated.to
        changes = [{"field": measure.reach, "value": float(edge)}] if isinstance(measure.reach, str) else []
        return CompiledSide(
            edge,
            tuple(settled),
            noted=told("note", reason=side.says),
            cleared=told("note", reason=f"{side.says} Whoever looked did not find it so."),
            asked=told(
                "ask",
                reason=side.says,
                remedy=f"{measure.title} {'at least' if low else 'at most'} {measure.tell(edge)}.",
                change=changes,
                asks=(side.ask,),
            ),
        )

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

    # Guards

    def guard(self, guard: Guard) -> CompiledGuard:
        names = list(dict.fromkeys(name for row in guard.rows for name in row.when))
        names += [name for name in guard.remedied_by if name not in names]
        facts = [FACTS[name] for name in names]
        stamp = self.stamp(guard, guard.topic)
        cells = fill(guard, stamp, facts, partial(self.refuse, guard.id))
        self.check_asks(guard.id, {about for said in cells.values() if said for about in said.asks}, facts)
        return CompiledGuard(
            ratio=guard.ratio,
            reads=tuple(fact.read for fact in facts),
            quotes=tuple(fact.quote for fact in facts if fact.quote is not None),
            cells=cells,
        )


def _covers(guard: Guard, shape: str, material: str, position: str) -> bool:
    return (
        shape in expand(guard.shapes)
        and (guard.materials is None or material in guard.materials)
        and (guard.positions is None or position in guard.positions)
    )


def _floor_axes(floor: Floor) -> int:
    return sum(axis is not None for axis in (floor.positions, floor.origins, floor.tones))
