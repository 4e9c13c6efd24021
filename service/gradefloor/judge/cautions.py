"""The usual cautions of the bench, which stand in an answer whatever its verdict.

They are here and not in a rule set, so that no edit of a rule can lose them. All are common practice, no
source, but for the notes on nickel (EU REACH Annex XVII, entry 27, and EN 1811) and on treatments (US 16 CFR
23.24). They never take the place of local rules or of the person who does the work.
"""

from collections.abc import Iterator
from typing import Final

from gradefloor.judge.ring_findings import Caution
from gradefloor.trade.assembly import Ring
from gradefloor.trade.shapes import SHAPES

_FRAGILE: Final = frozenset({"fracture_filled", "coated"})

_SETTER: Final = (
    "The setter signs off the plan with the stones in hand: edges, inclusions and cracks under the metal "
    "decide, and no report shows all of them."
)
_POINTS: Final = (
    "Points and thin corners chip under a pressed claw and in wear: relieve the metal under the tip, and "
    "check again after half a year."
)
_SIZE: Final = "A band set all around cannot be resized; measure the finger warm, and more than once."
_COUNTS: Final = (
    "Counts of melee are what fits on paper; the bench counts again on the finished metal, and stones of "
    "one nominal size differ by a few hundredths of a millimetre."
)
_NICKEL: Final = (
    "Some white golds and solders hold nickel. Limits and tests of what they may release to the skin are "
    "local law: ask the maker for the alloy's test, and a doctor about the skin."
)
_COLD: Final = (
    "A coated or filled stone is set cold: no torch, acid, steam or ultrasonic cleaner near it, at the bench "
    "or later, and the customer is told so before the sale."
)
_TREATED: Final = (
    "Heat at the bench may change a treated stone: ask how it was treated, and protect or remove it."
)
_OTHER_MATERIAL: Final = (
    "Not every material bears what a diamond bears: keep torch and sudden cold from it, and ask its supplier "
    "before steam or ultrasonic cleaning."
)
_UNKNOWN: Final = (
    "Treatments are not stated for every stone: until they are, no torch, acid, steam or ultrasonic cleaner "
    "near it. An open flame can frost even an untreated diamond."
)
_FROST: Final = "An open flame in air can frost a diamond: cover it with a boric acid coat, or remove it."


def cautions(ring: Ring) -> list[Caution]:
    """What to be careful with in this ring."""
    return [{"about": about, "text": text} for about, text in _cautions(ring)]


def _cautions(ring: Ring) -> Iterator[tuple[str, str]]:
    yield "setter", _SETTER
    yield "heat", _heat(ring)
    metals = {ring.setting.metal, ring.setting.shank_metal}
    if "white_gold" in metals or metals == {None} or (ring.wearer and ring.wearer.avoids):
        yield "skin", _NICKEL
    if any(SHAPES[stone.shape].corners == "points" for stone in (ring.center, *ring.side_stones)):
        yield "points", _POINTS
    if ring.eternity is not None and not ring.eternity.resizable:
        yield "size", _SIZE
    if any(part is not None for part in (ring.halo, ring.pave, ring.eternity)):
        yield "counts", _COUNTS


def _heat(ring: Ring) -> str:
    """What is known to be worst for one of the stones, or that it is not known."""
    stones = (ring.center, *ring.side_stones)
    known = {treatment for stone in stones for treatment in stone.treatments or ()}
    if known & _FRAGILE:
        return _COLD
    if known - {"laser_drilled"}:
        return _TREATED
    if any((stone.material or "diamond") != "diamond" for stone in stones):
        return _OTHER_MATERIAL
    return _UNKNOWN if any(stone.treatments is None for stone in stones) else _FROST
