"""One ring judged by one version of the rules: the pairings of its parts, and what they do to its center."""

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import ROUND_DOWN, ROUND_HALF_UP, ROUND_UP, Decimal
from typing import Final

from gradefloor.judge.stones import place_of, say_guards
from gradefloor.rules.facts import Case
from gradefloor.rules.findings import Changed
from gradefloor.rules.ring_tables import CenterRules, CompiledCompanions, CompiledSideWindow
from gradefloor.rules.said import SEVERITY, Said, say
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.assembly import Ring
from gradefloor.trade.settings import SideStone
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.stones import Context
from gradefloor.trade.weights import exact

_TENTH: Final = Decimal("0.1")
_HUNDREDTH: Final = Decimal("0.01")

# Rules of the stone alone that hang on the setting; whether its grades are good enough is another request.
_OF_THE_SETTING: Final = frozenset({"durability", "metal"})

# What the stone's own rules know of a head. A half bezel presses like a whole one; what holds by tension or
# grooves protects no edge.
_PROTECTION: Final = {
    "claw": "claws",
    "double_claw": "claws",
    "v_claw": "v_claws",
    "half_bezel": "bezel",
    "bezel": "bezel",
    "tension": "claws",
    "invisible": "claws",
}
_HEADS: Final = {"claws": "claw", "v_claws": "v_claw", "bezel": "bezel"}
_MEMBERS: Final = {
    "context.protection": "setting.head",
    "context.metal": "setting.metal",
    "context.wear": "wearer.wear",
}


def judge_ring(rules: CompiledRules, ring: Ring, as_of: date) -> list[Said]:
    """All that the rules say of a ring, worst first."""
    center = rules.rings.centers[ring.center.shape]
    return sorted(_say_all(rules, center, ring, as_of), key=place_of)


def _say_all(rules: CompiledRules, center: CenterRules, ring: Ring, as_of: date) -> Iterator[Said]:
    material = ring.center.material or "diamond"
    case = Case(ring.center, _context(ring), as_of, rules.issuers)
    for said in say_guards(rules.shapes[ring.center.shape].guards[material, "center"], case):
        if said.finding["topic"] in _OF_THE_SETTING:
            yield _of_ring(said)
    for pairing in center.pairings[material]:
        if (found := pairing.say(ring)) is not None:
            yield found
    if ring.side_stones:
        if center.companions is not None:
            yield _companions(center.companions, ring)
        yield from _sizes(rules, ring)


def _context(ring: Ring) -> Context:
    setting, wearer = ring.setting, ring.wearer
    return Context.model_validate({
        "jewelry": "ring",
        "position": "center",
        "metal": setting.metal,
        "protection": setting.head and _PROTECTION[setting.head],
        "wear": wearer and wearer.wear,
    })  # fmt: skip


def _of_ring(said: Said) -> Said:
    """A finding of the stone's own rules in the words of a request about a ring."""
    return said.changed(
        {"field": member(change["field"]), "value": _HEADS.get(str(change["value"]), change["value"])}
        for change in said.finding["change"]
    )


def member(about: str) -> str:
    """A member of a request about a stone, in a request about a ring."""
    if about.startswith("stone."):
        return f"center.{about.removeprefix('stone.')}"
    return _MEMBERS.get(about, about)


# Side stones


def _titles(shapes: Sequence[str]) -> str:
    return ", ".join(SHAPES[shape].title for shape in shapes)


def _companions(companions: CompiledCompanions, ring: Ring) -> Said:
    """Whether the side shapes are among those that suit the center."""
    stamp = companions.stamp
    shapes = tuple(dict.fromkeys(stone.shape for stone in ring.side_stones))
    observed, threshold = _titles(shapes), f"best {_titles(companions.best)}"
    clashes = [companions.clashes[shape] for shape in shapes if shape in companions.clashes]
    if clashes:
        verdict, says = max(clashes, key=lambda clash: SEVERITY[clash[0]])
        if verdict == "ask":
            best = companions.best[0]
            changes: list[Changed] = [
                {"field": f"side_stones.{index}.shape", "value": best}
                for index, stone in enumerate(ring.side_stones)
                if stone.shape in companions.clashes
            ]
            remedy = f"Side stones of another shape, best {SHAPES[best].title}."
            return say(stamp, verdict, observed, threshold, says, remedy, changes, (companions.ask,))
        return say(stamp, verdict, observed, threshold, says)
    if all(shape in companions.best for shape in shapes):
        return say(stamp, "pass", observed, threshold, stamp.because)
    return say(stamp, "note", observed, threshold, f"Not among the usual ones. {stamp.because}")


def _sizes(rules: CompiledRules, ring: Ring) -> Iterator[Said]:
    """For each rule of size, the side stone that is farthest out of proportion, and what mends them all."""
    found: dict[str, list[Said]] = {}
    for index, stone in enumerate(ring.side_stones):
        window = rules.rings.side_windows.get(stone.shape)
        if window is not None and (said := _size(window, ring, index, stone)) is not None:
            found.setdefault(window.stamp.rule, []).append(said)
    for said_of_one in found.values():
        # Of two equally far out, always the same one, whichever was named first.
        farthest = min(said_of_one, key=lambda said: (said.place, said.finding["observed"] or ""))
        yield farthest.changed(change for said in said_of_one for change in said.finding["change"])


def _size(window: CompiledSideWindow, ring: Ring, index: int, stone: SideStone) -> Said | None:
    """One side stone against the center."""
    rule, stamp = window.rule, window.stamp
    if ring.measures_mm is None or stone.length_mm is None:
        return None
    extent = ring.measures_mm[0 if rule.of == "along" else 1]
    pct = (exact(stone.length_mm) * 100 / extent).quantize(_TENTH, ROUND_HALF_UP)
    observed = f"{stone.length_mm:g} mm, {pct} % of the center {rule.of} the finger"
    threshold = f"{rule.comfort.write()} %, tolerated {rule.tolerated.write()} %"
    if pct in rule.comfort:
        return say(stamp, "pass", observed, threshold, stamp.because)
    low = pct < rule.comfort.from_
    says = rule.says_low if low else rule.says_high
    if pct in rule.tolerated:
        return say(stamp, "note", observed, threshold, says)
    edge = rule.tolerated.from_ if low else rule.tolerated.to
    length = (extent * edge / 100).quantize(_HUNDREDTH, ROUND_UP if low else ROUND_DOWN)
    remedy = f"At {'least' if low else 'most'} {length} mm against the center."
    change: list[Changed] = [{"field": f"side_stones.{index}.length_mm", "value": float(length)}]
    return say(stamp, "ask", observed, threshold, says, remedy, change, (rule.ask,))
