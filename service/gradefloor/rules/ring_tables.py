"""The frozen tables that the rules about whole rings become."""

from collections.abc import Mapping
from dataclasses import dataclass

from gradefloor.rules.pairings import CompiledPairing
from gradefloor.rules.ring_format import SideWindow, Style
from gradefloor.rules.said import Stamp


@dataclass(frozen=True, slots=True)
class CompiledCompanions:
    """Side shapes for one center: the best in order, and what is said of those that clash."""

    stamp: Stamp
    best: tuple[str, ...]
    clashes: Mapping[str, tuple[str, str]]
    ask: str


@dataclass(frozen=True, slots=True)
class CompiledSideWindow:
    stamp: Stamp
    rule: SideWindow


@dataclass(frozen=True, slots=True)
class CompiledStyle:
    """A style, and whether it is among those that fit this center best."""

    stamp: Stamp
    rule: Style
    fits_best: bool


@dataclass(frozen=True, slots=True)
class CenterRules:
    """Everything that can apply to a ring with a center of one shape; pairings by the center's material."""

    pairings: Mapping[str, tuple[CompiledPairing, ...]]
    companions: CompiledCompanions | None
    styles: tuple[CompiledStyle, ...]


@dataclass(frozen=True, slots=True)
class RingTables:
    """Rules about rings, by the center's shape, and sizes of side stones by their own."""

    centers: Mapping[str, CenterRules]
    side_windows: Mapping[str, CompiledSideWindow]

    def __bool__(self) -> bool:
        """Whether this version has anything to say of rings."""
        return any(rules.pairings["diamond"] for rules in self.centers.values())
