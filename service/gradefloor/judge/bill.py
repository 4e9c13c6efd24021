"""The stones that a ring takes, to order: how many, how large, how heavy, and in which letters."""

from collections import Counter
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from gradefloor.judge.ring_findings import BillLine
from gradefloor.rules.pairings import CompiledPairing
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade import melee
from gradefloor.trade.assembly import USUAL_SIDE_DEPTH_PCT, Ring, faceting
from gradefloor.trade.figures import length_and_width
from gradefloor.trade.grades import COLOR
from gradefloor.trade.settings import SideStone
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.weights import exact, handbook_estimate, side_estimate

_HUNDREDTH: Final = Decimal("0.01")


def draw_up(rules: CompiledRules, ring: Ring) -> list[BillLine]:
    """One line for each kind of stone; what is not known of it is left out."""
    lines = [_center(ring), *_sides(rules, ring)]
    letters = melee_letters(rules, ring)
    if ring.halo is not None:
        rows = {row.melee_mm: ring.halo.count for row in ring.halo.rows}
        lines += [_melee("halo", size, count, letters) for size, count in rows.items()]
    if ring.pave is not None:
        lines.append(_melee("pave", ring.pave.melee_mm, ring.pave.count, letters))
    if ring.eternity is not None:
        row = ring.eternity.row
        lines.append(_melee("eternity", row.melee_mm, row.count, letters))
    return lines


def _center(ring: Ring) -> BillLine:
    center = ring.center
    family = SHAPES[center.shape].facet_family
    line: BillLine = {
        "role": "center",
        "count": 1,
        "shape": center.shape,
        "facet_family": None if family == "step_or_brilliant" else family,
        "estimated": center.carat is None,
    }
    sides = length_and_width(center)
    if sides is not None:
        line["length_mm"], line["width_mm"] = (float(size) for size in sides)
    carat = None if center.carat is None else exact(center.carat)
    if carat is None and sides is not None and ring.depth_mm is not None:
        material = center.material or "diamond"
        found = handbook_estimate(center.shape, *sides, ring.depth_mm, center.girdle_min, material=material)
        carat = None if found is None else found.carat.quantize(_HUNDREDTH, ROUND_HALF_UP)
    if carat is not None:
        line["carat_each"] = line["carat_total"] = float(carat)
    return line


def _sides(rules: CompiledRules, ring: Ring) -> list[BillLine]:
    """Equal side stones on one line."""
    letters = side_letters(rules, ring)
    kinds = Counter((s.shape, faceting(s), s.length_mm, s.width_mm, side_carat(s)) for s in ring.side_stones)
    lines = []
    for (shape, family, length, width, (carat, estimated)), count in sorted(
        kinds.items(), key=lambda kind: (kind[0][0], kind[0][2] or 0, kind[0][3] or 0, kind[0][4][0] or 0)
    ):
        line: BillLine = {
            "role": "sides",
            "count": count,
            "shape": shape,
            "facet_family": family,
            "estimated": estimated,
        }
        if length is not None:
            line["length_mm"] = length
        if width is not None:
            line["width_mm"] = width
        if carat is not None:
            line["carat_each"], line["carat_total"] = float(carat), float(carat * count)
        if letters is not None:
            line["color"] = letters
        lines.append(line)
    return lines


def side_carat(stone: SideStone) -> tuple[Decimal | None, bool]:
    """Weight of a side stone, and whether it is an estimate."""
    family = faceting(stone)
    if stone.carat is not None:
        return exact(stone.carat), False
    if stone.length_mm is None or stone.width_mm is None or family is None:
        return None, True
    length, width = exact(stone.length_mm), exact(stone.width_mm)
    depth = exact(stone.depth_mm) if stone.depth_mm else min(length, width) * USUAL_SIDE_DEPTH_PCT / 100
    return side_estimate(stone.shape, family, length, width, depth), True


def _melee(role: str, melee_mm: Decimal, count: int, letters: str | None) -> BillLine:
    each = melee.melee_carat(melee_mm)
    line: BillLine = {
        "role": role,
        "count": count,
        "shape": "round",
        "facet_family": "brilliant",
        "length_mm": float(melee_mm),
        "width_mm": float(melee_mm),
        "carat_each": float(each),
        "carat_total": float((each * count).quantize(_HUNDREDTH, ROUND_HALF_UP)),
        "estimated": True,
    }
    if letters is not None:
        line["color"] = letters
    return line


def side_letters(rules: CompiledRules, ring: Ring) -> str | None:
    """Letters of side stones that no rule has anything against."""

    def tried(letter: str) -> Ring:
        sides = [stone.model_copy(update={"color": letter}) for stone in ring.side_stones]
        return ring.but(side_stones=sides)

    if not ring.side_stones:
        return None
    return _letters(rules, ring, "side_color_letters", {letter: tried(letter) for letter in COLOR.grades})


def melee_letters(rules: CompiledRules, ring: Ring) -> str | None:
    """Letters of melee that no rule has anything against."""
    tried = {letter: ring.set_so(melee_color=letter) for letter in COLOR.grades}
    return _letters(rules, ring, "melee_color_letters", tried)


def _letters(rules: CompiledRules, ring: Ring, measure: str, tried: dict[str, Ring]) -> str | None:
    """The rules are asked about every letter, so that this window and their findings cannot differ."""
    center = rules.rings.centers[ring.center.shape]
    tables = [
        pairing
        for pairing in center.pairings[ring.center.material or "diamond"]
        if any(fact.name == measure for fact in pairing.facts)
    ]
    if not tables or ring.center.color is None:
        return None
    good = [letter for letter, ring in tried.items() if all(_passes(table, ring) for table in tables)]
    return None if not good else good[0] if len(good) == 1 else f"{good[0]}-{good[-1]}"


def _passes(table: CompiledPairing, ring: Ring) -> bool:
    said = table.say(ring)
    return said is None or said.verdict == "pass"
