"""The rules of advice become frozen tables; what they name must exist where they name it."""

from collections.abc import Iterable, Mapping
from typing import TypeVar

from gradefloor.rules.advice_format import Assortment, Character, Sign
from gradefloor.rules.advice_tables import Advice, CompiledSign
from gradefloor.rules.checks import Checks, expand
from gradefloor.rules.entries import Reasoned, Rule
from gradefloor.rules.lead_facts import LEAD_FACTS, LEAD_MEASURES
from gradefloor.rules.lexicons import compile_lexicons
from gradefloor.rules.said import Stamp
from gradefloor.rules.tables import ShapeRules
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.weights import USUAL_DEPTH_PCT

R = TypeVar("R", bound=Rule)


class AdviceCompiler:
    """Looks at every rule of advice by itself when it is made; `tables` puts them together."""

    def __init__(self, checks: Checks) -> None:
        self.checks = checks
        self.lexicons = compile_lexicons(checks.rules.lexicons, checks.refuse)
        self.only_once("merits", [merit.merit for merit in checks.rules.merits])
        self.only_once("urgencies", ["urgency" for _ in checks.rules.urgencies])
        self.only_once("tags", [tag.tag for tag in checks.rules.tags])

    def only_once(self, kind: str, names: list[str]) -> None:
        rules = getattr(self.checks.rules, kind)
        for index, name in enumerate(names):
            if name in names[:index]:
                self.checks.refuse(rules[index].id, f"{name} again", f"one rule about {name}", "id")

    def tables(self, shapes: Mapping[str, ShapeRules]) -> Advice:
        rules = self.checks.rules
        characters = self.by_shape(rules.characters)
        for shape, (_, character) in characters.items():
            self.check_character(shape, character, shapes[shape])
        assortments: dict[tuple[str, str], tuple[Stamp, Assortment]] = {}
        for material in sorted({material for rule in rules.assortments for material in rule.materials}):
            found = self.by_shape(rule for rule in rules.assortments if material in rule.materials)
            assortments |= {(material, shape): rule for shape, rule in found.items()}
        perceptions = self.by_shape(rules.perceptions)
        blind = [shape for shape in SHAPES if shape not in perceptions]
        if characters and blind:
            fault = self.checks.where.own.fault(("perceptions",), f"a gap: none for {blind[0]}", "one rule")
            self.checks.faults.append(fault)
        return Advice(
            characters=characters,
            perceptions=perceptions,
            assortments=assortments,
            clashes=tuple((self.stamp(clash), clash, _sign(clash)) for clash in rules.clashes),
            tags=tuple((self.stamp(tag), tag, _sign(tag)) for tag in rules.tags),
            merits={merit.merit: (self.stamp(merit), merit) for merit in rules.merits},
            urgency=next(((self.stamp(rule), rule) for rule in rules.urgencies), None),
            lexicons=self.lexicons,
        )

    def stamp(self, rule: Reasoned) -> Stamp:
        return self.checks.stamp(rule, "advice")

    def by_shape(self, rules: Iterable[R]) -> dict[str, tuple[Stamp, R]]:
        listed = list(rules)
        found: dict[str, tuple[Stamp, R]] = {}
        for shape in SHAPES:
            covering = [rule for rule in listed if shape in expand(rule.shapes)]
            chosen = self.checks.choose(covering, shape, lambda _: 0, shape)
            if chosen is not None:
                found[shape] = self.stamp(chosen), chosen
        return found

    def check_character(self, shape: str, character: Character, rules: ShapeRules) -> None:
        """A shape that is proposed must have a usual size, and the looks that its character names."""
        if shape not in USUAL_DEPTH_PCT and shape != "round":
            self.checks.refuse(character.id, shape, "shapes whose usual size is known", "shapes")
        known = [] if rules.look is None else [band.look for band in rules.look.bands]
        for key in ("looks", "long_looks", "broad_looks"):
            for index, look in enumerate(getattr(character, key)):
                if look not in known:
                    allowed = f"a look of {shape}: {', '.join(known)}"
                    self.checks.refuse(character.id, repr(look), allowed, key, index)


def _sign(sign: Sign) -> CompiledSign:
    return CompiledSign(
        facts=tuple((LEAD_FACTS[name], frozenset(values)) for name, values in sign.when.items()),
        ranges=tuple((LEAD_MEASURES[name], range_) for name, range_ in sign.measured.items()),
    )
