"""Tables across shapes for the rule book, read from the compiled tables, so that they show what judges."""

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final, TypeVar, get_args

from gradefloor.rules.compile import ORIGINS, POSITIONS
from gradefloor.rules.measures import MEASURES
from gradefloor.rules.ring_tables import CompiledCompanions
from gradefloor.rules.tables import Band, CompiledFloor, CompiledRules, CompiledWindow
from gradefloor.trade.listings import Market
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.wishes import Taste
from gradefloor.web.rulebook_words import (
    any_of,
    between_told,
    head_told,
    points_told,
    shape_title,
    spaced,
    started,
)

_MARKETS: Final[tuple[Market, ...]] = get_args(Market)
_PLACES: Final = {"center": "center stones", "side": "side stones", "melee": "melee"}
_ORIGINS: Final = {"natural": "natural", "laboratory_grown": "laboratory-grown"}
_ORDINALS: Final = ("1st", "2nd", "3rd")
_KNOWN: Final = {"text": "text read", "report": "an account", "memory": "memory"}

T = TypeVar("T")
Place = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Cell:
    """What a table shows, a second limit below it, and the rule that gave it; without rule, nothing."""

    text: str
    more: str | None = None
    rule: str | None = None


NOTHING: Final = Cell("–")


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row: its head, with a rule where one speaks of the whole row."""

    head: str
    cells: tuple[Cell, ...]
    rule: str | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """Rows under one heading of a table."""

    title: str
    rows: tuple[TableRow, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table whose first column heads its rows."""

    caption: str
    corner: str
    heads: tuple[Cell, ...]
    groups: tuple[Group, ...]


@dataclass(frozen=True, slots=True)
class ShapeView:
    """Everything on floors and windows of one shape, to be read by itself."""

    shape: str
    title: str
    floors: Table
    windows: tuple[TableRow, ...]
    looks: tuple[tuple[str, str], ...]
    look_rule: str | None


# Floors


def floors_table(rules: CompiledRules, shapes: Sequence[str], caption: str) -> Table:
    """Shapes across, those that are judged alike in one column; bands of weight down."""
    columns = _alike(shapes, lambda shape: tuple(f.stamp.rule for f in _floors(rules, shape).values()))
    found = [_floors(rules, column[0]) for column in columns]
    return Table(
        caption,
        "Weight",
        tuple(Cell(any_of(map(shape_title, column), "and")) for column in columns),
        tuple(_floor_groups(found)),
    )


def _floors(rules: CompiledRules, shape: str) -> dict[tuple[str, Place], CompiledFloor]:
    """Every floor of a shape: by grade and head, by position and origin."""
    table: dict[tuple[str, Place], CompiledFloor] = {}
    for place in product(POSITIONS, ORIGINS):
        floors = rules.shapes[shape].floors[place]
        table["Clarity", place] = floors.clarity
        for tone, floor in floors.color.items():
            table[f"Color in {head_told(tone)} heads", place] = floor
    return table


def _floor_groups(columns: Sequence[Mapping[tuple[str, Place], CompiledFloor]]) -> Iterable[Group]:
    """Places whose floors are the same in every column share their rows."""
    for grade in dict.fromkeys(grade for grade, _ in columns[0]):
        places = [place for named, place in columns[0] if named == grade]
        ruled = {place: tuple(column[grade, place].stamp.rule for column in columns) for place in places}
        for alike in _alike(places, ruled.__getitem__):
            floors = [column[grade, alike[0]] for column in columns]
            yield Group(f"{grade}: {_places_told(alike)}", tuple(_band_rows(floors)))


def _band_rows(floors: Sequence[CompiledFloor]) -> Iterable[TableRow]:
    """One row from each weight at which any of the floors changes."""
    starts = sorted({band.from_points for floor in floors for band in floor.bands})
    for start, below in zip(starts, [*starts[1:], None], strict=True):
        yield TableRow(
            points_told(start, below), tuple(_floor_cell(floor, floor.band(start)) for floor in floors)
        )


def _floor_cell(floor: CompiledFloor, band: Band) -> Cell:
    paper, seen = floor.scale.grades[band.on_paper], floor.scale.grades[band.if_seen]
    return Cell(paper, f"seen {seen}" if seen != paper else None, floor.stamp.rule)


def _places_told(places: Sequence[Place]) -> str:
    """`center and side stones, natural`."""
    by_position: dict[str, list[str]] = {}
    for position, origin in places:
        by_position.setdefault(position, []).append(origin)
    parts = []
    for alike in _alike(list(by_position), lambda position: tuple(by_position[position])):
        named = any_of((_PLACES[position] for position in alike), "and")
        parts.append(f"{named}, {any_of((_ORIGINS[o] for o in by_position[alike[0]]), 'and')}")
    return "; ".join(parts).replace("center stones and side stones", "center and side stones")


# Windows and looks


def windows_table(rules: CompiledRules, shapes: Sequence[str], caption: str) -> Table:
    """Shapes down, so that a table of few measures stays narrow; windows of diamonds across."""
    found = {shape: _windows(rules, shape) for shape in shapes}
    measures = [name for name in MEASURES if any(name in windows for windows in found.values())]
    alike = _alike(shapes, lambda shape: tuple(window.stamp.rule for window in found[shape].values()))
    rows = tuple(
        TableRow(
            any_of(map(shape_title, row), "and"),
            tuple(_window_cell(found[row[0]].get(name)) for name in measures),
        )
        for row in alike
    )
    return Table(caption, "Shape", tuple(Cell(MEASURES[name].title) for name in measures), (Group("", rows),))


def _windows(rules: CompiledRules, shape: str) -> dict[str, CompiledWindow]:
    return {window.measure.name: window for window in rules.shapes[shape].windows["diamond"]}


def _window_cell(window: CompiledWindow | None) -> Cell:
    if window is None:
        return NOTHING
    unit = window.measure.unit
    return Cell(
        between_told(window.comfort, unit), f"tolerated {between_told(window.tolerated)}", window.stamp.rule
    )


def shape_view(rules: CompiledRules, shape: str, looks: tuple[tuple[str, str], ...]) -> ShapeView:
    """One shape; `looks` are its looks with their ranges, in words."""
    windows = _windows(rules, shape)
    look = rules.shapes[shape].look
    return ShapeView(
        shape=shape,
        title=started(shape_title(shape)),
        floors=floors_table(rules, [shape], f"Lowest grades of a stone cut as {shape_title(shape)}"),
        windows=tuple(TableRow(MEASURES[n].title, (_window_cell(w),)) for n, w in windows.items()),
        looks=looks,
        look_rule=None if look is None else look.stamp.rule,
    )


# Rings


def companions_table(rules: CompiledRules) -> Table | None:
    """Which side shapes suit which center."""
    found = {
        shape: center.companions
        for shape, center in rules.rings.centers.items()
        if center.companions is not None and SHAPES[shape].role == "center"
    }
    sides = [
        side for side in SHAPES if any(side in rule.best or side in rule.clashes for rule in found.values())
    ]
    if not sides:
        return None
    rows = tuple(
        TableRow(
            any_of(map(shape_title, alike), "and"),
            tuple(_companion_cell(found[alike[0]], side) for side in sides),
            found[alike[0]].stamp.rule,
        )
        for alike in _alike(list(found), lambda shape: found[shape].stamp.rule)
    )
    return Table(
        "Side shapes beside each center, best first",
        "Center",
        tuple(Cell(shape_title(side)) for side in sides),
        (Group("", rows),),
    )


def _companion_cell(rule: CompiledCompanions, side: str) -> Cell:
    if side in rule.best:
        place = rule.best.index(side)
        return Cell(_ORDINALS[place] if place < len(_ORDINALS) else f"{place + 1}th")
    if side in rule.clashes:
        verdict, _ = rule.clashes[side]
        return Cell("taste" if verdict == "note" else "seldom")
    return NOTHING


def styles_table(rules: CompiledRules) -> Table | None:
    """Which settings suit which center best."""
    centers = {
        shape: center.styles
        for shape, center in rules.rings.centers.items()
        if center.styles and SHAPES[shape].role == "center"
    }
    if not centers:
        return None
    fits = {shape: tuple(style.fits_best for style in styles) for shape, styles in centers.items()}
    first = next(iter(centers.values()))
    rows = tuple(
        TableRow(
            any_of(map(shape_title, alike), "and"),
            tuple(Cell("best") if best else NOTHING for best in fits[alike[0]]),
        )
        for alike in _alike(list(fits), lambda shape: fits[shape])
    )
    heads = tuple(Cell(spaced(style.rule.name), rule=style.stamp.rule) for style in first)
    return Table("Settings that suit each center best", "Center", heads, (Group("", rows),))


# Advice and wording


def characters_table(rules: CompiledRules) -> Table | None:
    """How well each shape serves each taste."""
    found = rules.advice.characters
    if not found:
        return None
    tastes: tuple[Taste, ...] = get_args(Taste)
    rows = []
    for shape, (stamp, character) in found.items():
        serves = [character.serves.get(taste) for taste in tastes]
        cells = tuple(NOTHING if value is None else Cell(_signed(value)) for value in serves)
        rows.append(TableRow(shape_title(shape), cells, stamp.rule))
    heads = tuple(Cell(spaced(taste)) for taste in tastes)
    return Table("How well each shape serves each taste", "Shape", heads, (Group("", tuple(rows)),))


def _signed(value: int) -> str:
    return f"{value:+d}".replace("-", "\N{MINUS SIGN}") if value else "0"


def policies_table(rules: CompiledRules, ids: Sequence[str]) -> Table | None:
    """Which policy speaks in which market, and how its provision is known; `ids` give the order."""
    policies = {
        policy.stamp.rule: policy
        for policies in rules.wording.of_terms.values()
        for policy in policies
    } | {policy.stamp.rule: policy for policy in rules.wording.required}  # fmt: skip
    if not policies:
        return None
    rows = []
    for rule in ids:
        provisions = [policies[rule].provisions.get(market) for market in _MARKETS]
        cells = tuple(NOTHING if p is None else Cell(_KNOWN[p.known_from]) for p in provisions)
        rows.append(TableRow("", cells, rule))
    heads = tuple(Cell(market) for market in _MARKETS)
    return Table("Policies by market, and how each is known", "Policy", heads, (Group("", tuple(rows)),))


def _alike(things: Sequence[T], key: Callable[[T], Hashable]) -> list[list[T]]:
    """Things with the same key together, in the order of the first of each."""
    found: dict[Hashable, list[T]] = {}
    for thing in things:
        found.setdefault(key(thing), []).append(thing)
    return list(found.values())
