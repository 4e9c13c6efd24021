"""What the committed floors say, cell by cell: common practice, no source, unless said otherwise.

Invariants:
1. a warm head is exactly one letter looser than a white one, never stricter;
2. the strict school is never looser than the house, and leaves nothing to seeing;
3. a bigger stone never gets a looser floor;
4. a cushion of unstated kind is held to the stricter of both kinds;
5. where the strict school has no color of its own, it wants one letter more than the house.
"""

from collections.abc import Iterator
from itertools import product
from typing import NamedTuple

import pytest

from gradefloor.rules.tables import Band, CompiledFloor, CompiledRules
from gradefloor.trade.grades import COLOR
from gradefloor.trade.shapes import SHAPES
from samples import Wire, about, judge

Cell = tuple[str, str, str]


def floors(rules: CompiledRules) -> Iterator[tuple[Cell, str, CompiledFloor]]:
    """Every floor with its cell (shape, position, origin) and `clarity`, `white` or `warm`."""
    for shape, tables in rules.shapes.items():
        for (position, origin), found in tables.floors.items():
            cell = shape, position, origin
            yield cell, "clarity", found.clarity
            yield cell, "white", found.color["white"]
            yield cell, "warm", found.color["warm"]


def edges(*found: CompiledFloor) -> list[int]:
    """Points at which any of these floors changes, and one point less."""
    starts = {band.from_points for floor in found for band in floor.bands}
    return sorted({point for start in starts for point in (start - 1, start) if point > 0} | {99_999})


def limits(band: Band) -> tuple[int, int]:
    return band.on_paper, band.if_seen


@pytest.fixture(params=["house", "strict"])
def rules(request: pytest.FixtureRequest) -> CompiledRules:
    found: CompiledRules = request.getfixturevalue(request.param)
    return found


def test_every_shape_has_floors_in_every_position_and_of_every_origin(rules: CompiledRules) -> None:
    cells = {cell for cell, _, _ in floors(rules)}
    assert cells == set(product(SHAPES, ("center", "side", "melee"), ("natural", "laboratory_grown")))


def test_a_warm_head_is_one_letter_looser_than_a_white_one(rules: CompiledRules) -> None:
    """Invariant 1."""
    for cell, tables in ((s, t) for s, shape in rules.shapes.items() for t in shape.floors.values()):
        white, warm = tables.color["white"], tables.color["warm"]
        for points in edges(white, warm):
            paper, seen = limits(white.band(points))
            assert limits(warm.band(points)) == (paper + 1, seen + 1), (cell, points)


def test_what_passes_strict_passes_the_house(house: CompiledRules, strict: CompiledRules) -> None:
    """Invariant 2."""
    for (cell, kind, ours), (_, _, theirs) in zip(floors(house), floors(strict), strict=True):
        for points in edges(ours, theirs):
            assert theirs.band(points).if_seen <= ours.band(points).on_paper, (cell, kind, points)


def test_the_strict_school_leaves_nothing_to_seeing(strict: CompiledRules) -> None:
    """Invariant 2."""
    for cell, kind, floor in floors(strict):
        assert all(band.on_paper == band.if_seen for band in floor.bands), (cell, kind)


STRICT_STEPS = [(0.50, "G"), (1.49, "G"), (1.50, "F"), (2.99, "F"), (3.00, "E"), (5.00, "E")]


@pytest.mark.parametrize(("carat", "grade"), STRICT_STEPS)
@pytest.mark.parametrize("shape", ["emerald", "asscher"])
def test_the_strict_school_wants_these_colors_of_a_step_cut(
    strict: CompiledRules, shape: str, carat: float, grade: str
) -> None:
    worse = COLOR.grades[COLOR.rank(grade) + 1]
    assert floor_verdict(strict, "color", {"shape": shape, "carat": carat, "color": grade}) == "pass"
    assert floor_verdict(strict, "color", {"shape": shape, "carat": carat, "color": worse}) == "fail"


def test_the_strict_school_wants_one_letter_more(house: CompiledRules, strict: CompiledRules) -> None:
    """Invariant 5."""
    for (cell, kind, ours), (_, _, theirs) in zip(floors(house), floors(strict), strict=True):
        if kind != "clarity" and "steps" not in theirs.stamp.rule:
            for points in edges(ours, theirs):
                assert theirs.band(points).on_paper == ours.band(points).on_paper - 1, (cell, kind, points)


def test_a_bigger_stone_never_gets_a_looser_floor(rules: CompiledRules) -> None:
    """Invariant 3."""
    for cell, kind, floor in floors(rules):
        for small, big in zip(floor.bands, floor.bands[1:], strict=False):
            assert big.on_paper <= small.on_paper, (cell, kind)
            assert big.if_seen <= small.if_seen, (cell, kind)


@pytest.mark.parametrize("kind", ["cushion_brilliant", "cushion_modified"])
def test_a_cushion_of_unstated_kind_is_held_to_the_stricter_floors(rules: CompiledRules, kind: str) -> None:
    """Invariant 4."""
    unstated = {(cell[1:], what): floor for cell, what, floor in floors(rules) if cell[0] == "cushion"}
    for cell, what, floor in floors(rules):
        if cell[0] == kind:
            plain = unstated[cell[1:], what]
            for points in edges(floor, plain):
                ours, theirs = limits(plain.band(points)), limits(floor.band(points))
                assert ours[0] <= theirs[0], (cell, what, points)
                assert ours[1] <= theirs[1], (cell, what, points)


@pytest.mark.parametrize("kind", ["cushion_brilliant", "cushion_modified"])
def test_a_cushion_of_unstated_kind_is_held_to_the_narrower_windows(rules: CompiledRules, kind: str) -> None:
    """Invariant 4."""
    theirs = {window.measure.name: window for window in rules.shapes[kind].windows["diamond"]}
    for ours in rules.shapes["cushion"].windows["diamond"]:
        other = theirs[ours.measure.name]
        for mine, wider in ((ours.comfort, other.comfort), (ours.tolerated, other.tolerated)):
            assert mine.from_ >= wider.from_
            assert mine.to <= wider.to


# Facts of the house

STEPS = ("emerald", "asscher", "carre", "hexagon", "octagon", "step_marquise")
ICE = ("radiant", "cushion_modified")
SMALL, MIDDLE, LARGE = (0.30, 0.99, 0.998), (1.00, 2.99, 2.998), (2.999, 3.00, 8.00)
UNDER_3 = SMALL + MIDDLE
PASS, ASK, FAIL = ("pass", "pass"), ("ask", "pass"), ("fail", "fail")  # before and after somebody looked

FACTS: list[tuple[tuple[str, ...], tuple[float, ...], str, dict[str, tuple[str, str]]]] = [
    (STEPS, SMALL, "clarity", {"VS1": PASS, "VS2": PASS, "SI1": FAIL}),
    (STEPS, (0.999, *MIDDLE), "clarity", {"VVS2": PASS, "VS1": PASS, "VS2": ASK, "SI1": FAIL}),
    (STEPS, LARGE, "clarity", {"VVS1": PASS, "VVS2": PASS, "VS1": ASK, "VS2": FAIL}),
    (STEPS, UNDER_3, "color", {"H": PASS, "I": PASS, "J": ASK, "K": FAIL}),
    (STEPS, LARGE, "color", {"G": PASS, "H": PASS, "I": ASK, "J": FAIL}),
    ((*ICE, "princess"), UNDER_3, "clarity", {"VS2": PASS, "SI1": PASS, "SI2": ASK, "I1": FAIL}),
    ((*ICE, "princess"), LARGE, "clarity", {"VS1": PASS, "VS2": PASS, "SI1": ASK, "SI2": FAIL}),
    (ICE, UNDER_3, "color", {"G": PASS, "H": PASS, "I": ASK, "J": FAIL}),
    (ICE, LARGE, "color", {"F": PASS, "G": PASS, "H": ASK, "I": FAIL}),
]


class Fact(NamedTuple):
    """One grade of one stone, and what the house says before and after somebody looked."""

    shape: str
    carat: float
    kind: str
    grade: str
    unseen: str
    seen: str


CELLS = [
    Fact(shape, carat, kind, grade, *expected)
    for shapes, carats, kind, grades in FACTS
    for shape, carat, (grade, expected) in product(shapes, carats, grades.items())
]
LOOKED = {"clarity": {"eye_clean": True}, "color": {"tint": "none"}}


def floor_verdict(rules: CompiledRules, kind: str, stone: Wire, metal: str = "platinum") -> str:
    """Verdict of the floor of one grade, which is the one finding whose rule is a floor of that kind."""
    tables = rules.shapes[stone["shape"]].floors["center", stone.get("origin", "natural")]
    floor = tables.clarity if kind == "clarity" else tables.color["white" if metal == "platinum" else "warm"]
    return about(judge(rules, stone, {"metal": metal}), floor.stamp.rule)["verdict"]


@pytest.mark.parametrize("fact", CELLS, ids=lambda fact: "-".join(map(str, fact[:4])))
def test_the_house_says_so_of_this_grade(house: CompiledRules, fact: Fact) -> None:
    stone = {"shape": fact.shape, "carat": fact.carat, fact.kind: fact.grade}
    assert floor_verdict(house, fact.kind, stone) == fact.unseen
    assert floor_verdict(house, fact.kind, {**stone, "observations": LOOKED[fact.kind]}) == fact.seen


BRILLIANTS = ("round", "oval", "radiant", "princess", "pear", "cushion")
GROWN = [
    *product(STEPS, [("clarity", "VS1", "VS2"), ("color", "F", "G")]),
    *product(BRILLIANTS, [("clarity", "VS2", "SI1"), ("color", "G", "H")]),
]


@pytest.mark.parametrize("carat", [0.50, 1.00, 3.00, 6.00])
@pytest.mark.parametrize(("shape", "floor"), GROWN)
def test_a_laboratory_grown_diamond_has_the_grades_that_cost_little(
    house: CompiledRules, shape: str, floor: tuple[str, str, str], carat: float
) -> None:
    kind, passes, fails = floor
    stone: Wire = {"shape": shape, "carat": carat, "origin": "laboratory_grown"}
    assert floor_verdict(house, kind, {**stone, kind: passes}) == "pass"
    assert floor_verdict(house, kind, {**stone, kind: fails}) == "fail"
