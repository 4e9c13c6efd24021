"""The rules about whole rings become frozen tables."""

from functools import partial

from gradefloor.rules.checks import Checks, expand
from gradefloor.rules.facts import FACTS
from gradefloor.rules.pairings import CompiledPairing, compile_pairing
from gradefloor.rules.ring_format import Pairing
from gradefloor.rules.ring_tables import (
    CenterRules,
    CompiledCompanions,
    CompiledSideWindow,
    CompiledStyle,
    RingTables,
)
from gradefloor.trade.shapes import SHAPES


class RingCompiler:
    """Looks at each rule by itself when it is made; what they say together is told by `tables`."""

    def __init__(self, checks: Checks) -> None:
        self.checks = checks
        rules = checks.rules
        self.pairings = [(pairing, self.pairing(pairing)) for pairing in rules.pairings]
        for companions in rules.companions:
            checks.check_ask(companions.id, companions.ask, "ask")
        for window in rules.side_windows:
            checks.check_ask(window.id, window.ask, "ask")

    def pairing(self, pairing: Pairing) -> CompiledPairing:
        refuse = partial(self.checks.refuse, pairing.id)
        compiled = compile_pairing(pairing, self.checks.stamp(pairing, pairing.topic), refuse)
        asks = {about for settled in compiled.cells.values() if settled for about in settled.asks}
        self.checks.check_asks(pairing.id, asks, compiled.facts)
        return compiled

    def tables(self) -> RingTables:
        windows = {shape: window for shape in SHAPES if (window := self.side_window(shape)) is not None}
        return RingTables({shape: self.center(shape) for shape in SHAPES}, windows)

    def center(self, shape: str) -> CenterRules:
        return CenterRules(
            pairings={
                material: tuple(
                    compiled
                    for pairing, compiled in self.pairings
                    if shape in expand(pairing.shapes) and material in (pairing.materials or (material,))
                )
                for material in FACTS["material"].values
            },
            companions=self.companions(shape),
            styles=tuple(
                CompiledStyle(self.checks.stamp(style, "setting"), style, shape in expand(style.shapes))
                for style in self.checks.rules.styles
            ),
        )

    def companions(self, shape: str) -> CompiledCompanions | None:
        covering = (rule for rule in self.checks.rules.companions if shape in expand(rule.shapes))
        chosen = self.checks.choose(covering, shape, lambda _: 0, f"companions of {shape}")
        if chosen is None:
            return None
        clashes: dict[str, tuple[str, str]] = {
            side: (clash.verdict, clash.says) for clash in chosen.clashes for side in clash.side_shapes
        }
        return CompiledCompanions(self.checks.stamp(chosen, "sides"), tuple(chosen.best), clashes, chosen.ask)

    def side_window(self, shape: str) -> CompiledSideWindow | None:
        covering = (rule for rule in self.checks.rules.side_windows if shape in expand(rule.shapes))
        chosen = self.checks.choose(covering, shape, lambda _: 0, f"side windows of {shape}")
        return None if chosen is None else CompiledSideWindow(self.checks.stamp(chosen, "sides"), chosen)
