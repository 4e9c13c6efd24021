"""The closed list of facts of a ring that a pairing may name. Nothing here decides."""

from typing import Final, get_args

from gradefloor.rules.findings import Changed
from gradefloor.rules.terms import NOT_STATED, Fact
from gradefloor.trade.assembly import Ring, faceting
from gradefloor.trade.settings import BandShape, Head, Orientation, Shank, Shoulders
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.stones import METAL_TONES, Metal, Wear

MIXED: Final = "mixed"


def _of_setting(name: str, values: tuple[str, ...], *, open_if_absent: bool = True) -> Fact[Ring]:
    def read(ring: Ring) -> str:
        return getattr(ring.setting, name) or NOT_STATED

    return Fact(name, values, read, f"setting.{name}", of_the_setting=open_if_absent, title="", settable=str)


def _sides(ring: Ring) -> str:
    return "given" if ring.side_stones else "none"


def _faceting(ring: Ring) -> str:
    """How the side stones are faceted; not stated where that is open for one of them, or there are none."""
    found = {faceting(stone) for stone in ring.side_stones}
    if not found or None in found:
        return NOT_STATED
    return found.pop() or NOT_STATED if len(found) == 1 else MIXED


def _facet_like(ring: Ring, value: str) -> list[Changed]:
    return [
        {"field": f"side_stones.{index}.facet_family", "value": value}
        for index, stone in enumerate(ring.side_stones)
        if faceting(stone) != value
    ]


def _side_shape(ring: Ring) -> str:
    shapes = {stone.shape for stone in ring.side_stones}
    return NOT_STATED if not shapes else MIXED if len(shapes) > 1 else shapes.pop()


def _side_material(ring: Ring) -> str:
    materials = {stone.material or "diamond" for stone in ring.side_stones}
    if not materials:
        return NOT_STATED
    return "same" if materials == {ring.center.material or "diamond"} else "other"


def _halo(ring: Ring) -> str:
    if ring.setting.halo is None:
        return "none"
    return "hidden" if ring.halo_is_hidden else "visible"


def _hidden_height(ring: Ring) -> str:
    asked = ring.setting.halo
    known = ring.setting.measured_clearance is not None or (asked is not None and asked.bottom_mm is not None)
    return "known" if known else NOT_STATED


def _tone(ring: Ring) -> str:
    return METAL_TONES[ring.setting.metal] if ring.setting.metal else NOT_STATED


def _shank_tone(ring: Ring) -> str:
    metal = ring.setting.shank_metal or ring.setting.metal
    return METAL_TONES[metal] if metal else NOT_STATED


def _shank_metal(ring: Ring) -> str:
    return ring.setting.shank_metal or ring.setting.metal or NOT_STATED


def _white_gold(ring: Ring) -> str:
    metals = {ring.setting.metal, ring.setting.shank_metal} - {None}
    return NOT_STATED if not metals else "used" if "white_gold" in metals else "unused"


def _without_white_gold(ring: Ring, value: str) -> list[Changed]:
    metal = "white_gold" if value == "used" else "platinum"
    changes: list[Changed] = [{"field": "setting.metal", "value": metal}]
    if ring.setting.shank_metal is not None:
        changes.append({"field": "setting.shank_metal", "value": metal})
    return changes


def _wear(ring: Ring) -> str:
    return (ring.wearer.wear if ring.wearer else None) or NOT_STATED


def _avoids_nickel(ring: Ring) -> str:
    return "avoided" if ring.wearer and ring.wearer.avoids and "nickel" in ring.wearer.avoids else NOT_STATED


def _band(ring: Ring) -> str:
    return "none" if ring.band is None else ring.band.shape or "straight"


def _agreed_gap(ring: Ring) -> str:
    agreed = ring.band.accepts_gap if ring.band else None
    return NOT_STATED if agreed is None else "agreed" if agreed else "refused"


def _band_stones(ring: Ring) -> str:
    return ring.band.stones.extent if ring.band and ring.band.stones else NOT_STATED


def _finger(ring: Ring) -> str:
    return NOT_STATED if ring.finger is None else "stated"


_FACTS: Final[tuple[Fact[Ring], ...]] = (
    _of_setting("head", get_args(Head)),
    _of_setting("shank", get_args(Shank)),
    _of_setting("shoulders", get_args(Shoulders), open_if_absent=False),
    _of_setting("orientation", get_args(Orientation), open_if_absent=False),
    _of_setting("metal", get_args(Metal)),
    Fact("tone", ("white", "warm"), _tone, "setting.metal", of_the_setting=True, title="head",
         settable=lambda tone: {"white": "platinum", "warm": "yellow_gold"}[tone]),
    Fact("shank_tone", ("white", "warm"), _shank_tone, "setting.shank_metal", title="shank",
         settable=lambda tone: {"white": "platinum", "warm": "yellow_gold"}[tone]),
    Fact("shank_metal", get_args(Metal), _shank_metal, "setting.shank_metal", title="shank of", settable=str),
    Fact("white_gold", ("used", "unused"), _white_gold, "setting.metal", title="white gold",
         settable=str, reach=_without_white_gold),
    Fact("halo", ("none", "visible", "hidden"), _halo, "setting.halo", title="halo"),
    Fact("hidden_halo_height", ("known",), _hidden_height, "setting.halo.bottom_mm", told=False),
    Fact("sides", ("none", "given"), _sides, "side_stones", told=False),
    Fact("side_shape", (*SHAPES, MIXED), _side_shape, "side_stones.shape", title="sides"),
    Fact("side_faceting", ("step", "brilliant", MIXED), _faceting, "side_stones.facet_family",
         title="sides faceted", settable=str, reach=_facet_like),
    Fact("side_material", ("same", "other"), _side_material, "side_stones.material", title="sides of"),
    Fact("wear", get_args(Wear), _wear, "wearer.wear", title="wear", settable=str),
    Fact("nickel", ("avoided",), _avoids_nickel, "wearer.avoids", title="nickel"),
    Fact("band", ("none", *get_args(BandShape)), _band, "wedding_band.shape", title="band", settable=str),
    Fact("gap", ("agreed", "refused"), _agreed_gap, "wedding_band.accepts_gap", title="a gap is",
         settable=lambda value: value == "agreed"),
    Fact("band_stones", ("full", "half"), _band_stones, "wedding_band.stones.extent", title="stones around"),
    Fact("finger", ("stated",), _finger, "finger.size", told=False),
)  # fmt: skip

RING_FACTS: Final[dict[str, Fact[Ring]]] = {fact.name: fact for fact in _FACTS}
