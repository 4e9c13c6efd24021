"""A straight wedding band beside a ring, seen from the side: what keeps them apart, by `band_fit`.

The finger runs from left to right, heights go up from its surface under the middle of the center.
"""

from collections.abc import Callable
from decimal import Decimal
from typing import Final

from gradefloor.drawing.canvas import (
    DIMENSION,
    FACET,
    HIDDEN,
    INK,
    METAL,
    OUTLINE,
    SHEET_MM,
    SMALL_MM,
    SOFT,
    Pen,
    Point,
    Sheet,
    breadth_mm,
    largest_fit,
    mm,
    rounded,
)
from gradefloor.drawing.plans import UndrawableError
from gradefloor.drawing.stones import Profile, plain_name, plan_of, profile
from gradefloor.trade.assembly import USUAL_SHANK_THICKNESS_MM, USUAL_SHANK_WIDTH_MM, Ring
from gradefloor.trade.band_fit import Cone, Obstacle, keel_mm
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.weights import exact

USUAL_BAND_WIDTH_MM: Final = Decimal("2.0")  # drawn where none is stated: from memory, no source
_ROOM: Final = (54.0, 56.0)
_At = Callable[[Decimal, Decimal], Point]


def draw_band(ring: Ring) -> str:
    """The ring and the band beside it; ValueError for a ring without a band."""
    if ring.setting.halo is not None and ring.halo is None:
        raise UndrawableError("halo_melee_mm", "melee too large to go around", "smaller melee")
    if ring.band is None:
        raise ValueError("a drawing of a band needs one")
    center = plan_of(ring.center)
    found, fit, measures = profile(ring), ring.fit, ring.measures_mm
    if fit is None or measures is None or ring.obstacles is None:
        raise UndrawableError("depth_pct", "nothing", "its depth")
    shank = exact(ring.setting.shank_width_mm or float(USUAL_SHANK_WIDTH_MM))
    metal = exact(ring.setting.shank_thickness_mm or float(USUAL_SHANK_THICKNESS_MM))
    wide = exact(ring.band.width_mm or float(USUAL_BAND_WIDTH_MM))
    thick, total = ring.band_thickness_mm, ring.culet_height_mm + found.depth_mm
    left = -max(measures[0], shank) / 2 - Decimal(1)
    right = max(measures[0] / 2, shank / 2 + fit.gap_mm + wide) + Decimal(1)
    scale = largest_fit(float(right - left), float(max(total, thick, metal)), _ROOM)
    sheet = Sheet("band", scale)
    f = scale.factor
    top = sheet.heading("Straight band beside the ring") + 2
    ground = top + float(max(total, thick, metal)) * f
    # Room for the heights at the left, for the band's at the right.
    zero = SHEET_MM / 2 - float(left + right) / 2 * f - 1

    def at(x: Decimal, z: Decimal) -> Point:
        return zero + float(x) * f, ground - float(z) * f

    def on_finger(x: Decimal, width: Decimal, height: Decimal, part: str) -> None:
        sheet.rectangle(at(x, height), (float(width) * f, float(height) * f), METAL, part)

    ends = at(left, Decimal(0)), at(right, Decimal(0))
    sheet.line(*ends, Pen(INK, 0.35))
    word = ends[0][0] + 2
    if word + breadth_mm("finger", SMALL_MM) < at(-shank / 2, Decimal(0))[0]:  # else a line would cross it
        sheet.words((word, ground + SMALL_MM * 1.3), "finger", SMALL_MM, color=SOFT)
    on_finger(-shank / 2, shank, metal, "shank")
    on_finger(shank / 2 + fit.gap_mm, wide, thick, "band")
    _stone(sheet, ring, found, at)
    for obstacle in ring.obstacles:
        _obstacle(sheet, obstacle, ring.culet_height_mm + found.pavilion_mm, at)
    for name, x, size in (("shank", Decimal(0), shank), ("band", shank / 2 + fit.gap_mm + wide / 2, wide)):
        if breadth_mm(name, SMALL_MM) < float(size) * f:  # the notes say it, too
            sheet.words((at(x, thick)[0], ground - 1.6), name, SMALL_MM, anchor="middle", color=SOFT)
    _dimensions(sheet, ring, found, (shank, metal, wide, thick), (at, ground))
    notes = _say(ring, (shank, metal, wide, thick))
    end = sheet.scale_bar(sheet.notes(ground + 19, notes))
    words = f"Seen from the side, the finger from left to right, to scale. Center {center.title}. "
    return sheet.finish(
        end,
        "Straight band beside the ring, from the side",
        f"{words}{' '.join(notes)} Drawn {scale} on a sheet {SHEET_MM:.0f} mm wide.",
    )


def _stone(sheet: Sheet, ring: Ring, found: Profile, at: _At) -> None:
    """The center as seen from the side: keel or culet, girdle, table."""
    along = (ring.measures_mm or (Decimal(0), Decimal(0)))[0]
    sizes = plan_of(ring.center)
    turned = ring.setting.orientation != "across"
    family = SHAPES[ring.center.shape].facet_family
    keel = keel_mm(family, ring.center.shape, sizes.length_mm, sizes.width_mm, along=turned)
    low = ring.culet_height_mm
    girdle, crown = low + found.pavilion_mm, low + found.pavilion_mm + found.girdle_mm
    top = crown + found.crown_mm
    # The crown is as steep at the ends as it is at the sides.
    table = max(along - (found.base_mm - found.table_mm), along * found.table_mm / found.base_mm)
    half = along / 2
    sheet.path(
        [
            at(-table / 2, top), at(table / 2, top), at(half, crown), at(half, girdle),
            at(keel / 2, low), at(-keel / 2, low), at(-half, girdle), at(-half, crown),
        ],
        OUTLINE, closed=True, part="profile",
    )  # fmt: skip
    for z in (girdle, crown):
        sheet.line(at(-half, z), at(half, z), FACET)


def _obstacle(sheet: Sheet, obstacle: Obstacle, girdle: Decimal, at: _At) -> None:
    """Outline of what stands out over the shank, on both sides, dashed, up to the girdle or over it."""
    low = min(obstacle.ledges_mm)
    high = max(girdle, low + Decimal("0.9"))
    heights = {low, high}
    if isinstance(obstacle, Cone):
        # Where the basket meets the claws' overhang it goes straight up.
        run = obstacle.half_length_mm - obstacle.keel_mm / 2
        most = obstacle.half_length_mm + obstacle.overhang_mm
        if run > 0:
            rise = (most - obstacle.keel_mm / 2 - obstacle.wire_mm) * obstacle.pavilion_mm / run
            heights.add(low + max(min(rise, high - low), Decimal(0)))
    else:
        heights |= {z for z in obstacle.ledges_mm if z < high}
    levels = sorted(heights)
    for side in (-1, 1):
        line = [at(Decimal(0), low)] if obstacle.just_above_mm(low) else []
        line += [at(side * obstacle.just_above_mm(z), z) for z in levels]
        sheet.path(line, HIDDEN, part=f"obstacle-{'left' if side < 0 else 'right'}")


def _dimensions(
    sheet: Sheet,
    ring: Ring,
    found: Profile,
    metal: tuple[Decimal, Decimal, Decimal, Decimal],
    where: tuple[_At, float],
) -> None:
    (shank, _, wide, thick), (at, ground), fit = metal, where, ring.fit
    if fit is None:
        return
    inner = shank / 2 + fit.gap_mm
    edge, begins, ends = at(shank / 2, thick)[0], at(inner, thick)[0], at(inner + wide, thick)[0]
    start = at(-shank / 2, thick)[0]
    low = ground + 8
    sheet.across((start, edge), low, rounded(shank), (ground, ground), short="left")
    sheet.across((begins, ends), low, rounded(wide), (ground, ground))
    second = low + 9
    label = f"gap {mm(fit.gap_mm)}" if fit.gap_mm else "no gap: the band lies flush"
    if fit.gap_mm:
        sheet.across((edge, begins), second, label, (ground + 1, ground + 1))
    else:
        sheet.line((edge, ground + 1), (edge, second - 4), DIMENSION)
        sheet.words((edge, second), label, anchor="middle")
    half = at((ring.measures_mm or (Decimal(0),))[0] / 2, Decimal(0))[0]
    sheet.upright((at(inner, thick)[1], ground), max(ends, half) + 8, mm(thick), (ends, ends), short="right")
    culet = at(Decimal(0), ring.culet_height_mm)
    left = at(-(ring.measures_mm or (Decimal(0),))[0] / 2, Decimal(0))[0]
    total = at(Decimal(0), ring.culet_height_mm + found.depth_mm)
    sheet.upright((culet[1], ground), min(left, start) - 6, rounded(ring.culet_height_mm), (culet[0], start),
                  short="left")  # fmt: skip
    sheet.upright((total[1], ground), min(left, start) - 17, mm(ring.culet_height_mm + found.depth_mm),
                  (at(-found.table_mm / 2, Decimal(0))[0], left))  # fmt: skip


def _say(ring: Ring, metal: tuple[Decimal, Decimal, Decimal, Decimal]) -> list[str]:
    fit, (shank, _, wide, thick) = ring.fit, metal
    if fit is None:
        return []
    if fit.flush:
        room = "" if fit.clearance_mm is None else f", with {mm(fit.clearance_mm)} of room"
        said = [f"The band lies flush{room}." + (" So little has to be tried on." if fit.trial else "")]
    else:
        said = [f"The {fit.obstacle} keeps the band {mm(fit.gap_mm)} away from the shank."]
    said.append(
        f"Culet {mm(ring.culet_height_mm)} above the finger; shank (left) {mm(shank)} wide; band (right) "
        f"{mm(wide)} wide and {mm(thick)} thick. Dashed: what stands out over the shank."
    )
    assumed = [f"{plain_name(a.field)} {a.value}" for a in ring.assumed if a.field != "setting.orientation"]
    if ring.setting.shank_thickness_mm is None:
        assumed.append(f"shank thickness {USUAL_SHANK_THICKNESS_MM} mm")
    if ring.band is not None and ring.band.width_mm is None:
        assumed.append(f"band width {USUAL_BAND_WIDTH_MM} mm")
    if assumed:
        said.append(f"Not stated, so assumed: {', '.join(assumed)}.")
    return [*said, "Worked out, not measured: try the band on before it is ordered."]
