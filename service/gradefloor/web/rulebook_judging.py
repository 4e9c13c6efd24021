"""What rules about stones and rings say, as blocks of the rule book."""

from collections.abc import Iterator, Mapping, Sequence

from gradefloor.rules.entries import Range
from gradefloor.rules.format import Floor, Guard, GuardRow, Look, Window, WindowSide
from gradefloor.rules.measures import MEASURES
from gradefloor.rules.ring_format import Companions, Pairing, PairingRow, SideWindow, Style
from gradefloor.web.rulebook_blocks import Block, Grid, Line, Row, Verdicts, lines, present
from gradefloor.web.rulebook_references import References
from gradefloor.web.rulebook_words import (
    VERDICTS,
    any_of,
    between_told,
    conditions,
    fact_title,
    head_told,
    hundredths,
    range_told,
    shape_title,
    spaced,
    values_told,
)

# Stones


def floor(rule: Floor) -> Iterator[Block]:
    limits = [
        ("For", _scope(rule.positions, rule.origins)),
        ("Heads", () if rule.tones is None else (any_of(map(head_told, rule.tones)),)),
    ]
    yield lines(limits)
    yield Grid(
        f"Lowest {rule.grade}",
        ("Weight", "On paper", "Once seen"),
        tuple(
            (hundredths(b.carat.from_, b.carat.below, " ct"), b.on_paper, b.if_seen or b.on_paper)
            for b in rule.bands
        ),
    )


def window(refer: References, rule: Window) -> Iterator[Block]:
    unit = MEASURES[rule.measure].unit
    yield lines([
        ("Measures", (MEASURES[rule.measure].title,)),
        ("Materials", () if rule.materials is None else (values_told(rule.materials),)),
        ("Comfort", (between_told(rule.comfort, unit),)),
        ("Tolerated", (between_told(rule.tolerated, unit),)),
        ("Lower", _side(refer, rule.low)),
        ("Higher", _side(refer, rule.high)),
    ])  # fmt: skip


def _side(refer: References, side: WindowSide) -> tuple[str, ...]:
    settled = (
        f"Nothing is asked where this is known: {fact_title('windows', name)}, {values_told(values)}."
        for name, values in (side.settled_by or {}).items()
    )
    return (side.says, f"Beyond the tolerated range it asks: {refer.question(side.ask)}", *settled)


def look(rule: Look) -> Iterator[Block]:
    bands = tuple((spaced(band.look), hundredths(band.from_, band.below)) for band in rule.bands)
    yield Grid("Looks", ("Look", "Length to width"), bands)


def guard(refer: References, rule: Guard) -> Iterator[Block]:
    yield lines([
        ("For", _scope(rule.positions, None)),
        ("Materials", () if rule.materials is None else (values_told(rule.materials),)),
        ("Only where", () if rule.ratio is None else (f"length to width {range_told(rule.ratio)}",)),
        *_passes("guards", rule),
    ])  # fmt: skip
    yield _verdicts(refer, "guards", rule)


def pairing(refer: References, rule: Pairing) -> Iterator[Block]:
    yield lines([
        ("Center of", () if rule.materials is None else (values_told(rule.materials),)),
        *_passes("pairings", rule),
    ])  # fmt: skip
    yield _verdicts(refer, "pairings", rule)


def _passes(kind: str, rule: Guard | Pairing) -> list[Line]:
    turns = [fact_title(kind, name) for name in rule.remedied_by]
    return [
        ("Passes", () if rule.threshold is None else (rule.threshold,)),
        ("Can be turned by", (any_of(turns),) if turns else ()),
    ]


def _verdicts(refer: References, kind: str, rule: Guard | Pairing) -> Verdicts:
    """The row that names more wins, so those come first and what holds otherwise comes last."""
    rows: list[GuardRow | PairingRow] = [*rule.rows]
    rows.sort(key=lambda row: -len(row.when) - len(_measured(row)))
    return Verdicts(
        tuple(
            Row(
                tuple(conditions(kind, row.when, _measured(row), alone=len(rows) == 1)),
                row.verdict,
                VERDICTS.get(row.verdict, row.verdict),
                present([
                    _reason(rule, row),
                    ("Remedy", (row.remedy,) if row.remedy else ()),
                    ("Asks", (refer.question(row.ask),) if row.ask else ()),
                ]),
            )
            for row in rows
        )
    )  # fmt: skip


def _measured(row: GuardRow | PairingRow) -> Mapping[str, Range]:
    return (row.measured or {}) if isinstance(row, PairingRow) else {}


def _reason(rule: Guard | Pairing, row: GuardRow | PairingRow) -> Line:
    """What is said; a row without words of its own has the rule's reason, or tells what passes."""
    if row.says:
        return "", (row.says,)
    if row.verdict == "silent":
        return "", ()
    if row.verdict == "pass":
        return "Passes", () if rule.threshold is None else (rule.threshold,)
    return "", (rule.because,)


# Rings


def companions(refer: References, rule: Companions) -> Iterator[Block]:
    yield lines([
        ("Best first", (", ".join(map(shape_title, rule.best)),)),
        *((
            ("A matter of taste" if clash.verdict == "note" else "Seldom right"),
            (f"{any_of(map(shape_title, clash.side_shapes), 'and')}: {clash.says}",),
        ) for clash in rule.clashes),
        ("Asks", (refer.question(rule.ask),) if any(c.verdict == "ask" for c in rule.clashes) else ()),
    ])  # fmt: skip


def side_window(refer: References, rule: SideWindow) -> Iterator[Block]:
    extent = f" % of the center's extent {rule.of} the finger"
    yield lines([
        ("Length looks best at", (f"{rule.comfort.write()}{extent}",)),
        ("Tolerated", (f"{rule.tolerated.write()}{extent}",)),
        ("Shorter", (rule.says_low,)),
        ("Longer", (rule.says_high,)),
        ("Reach away from the center", (f"{rule.reach.write()} % of its own length",)),
        ("Usual depth", (f"{rule.depth_pct} % of its narrower measure",)),
        ("Beyond, it asks", (refer.question(rule.ask),)),
    ])  # fmt: skip


def style(rule: Style) -> Iterator[Block]:
    setting = rule.setting
    yield lines([
        ("Name", (spaced(rule.name),)),
        ("Head", (values_told(setting.heads),)),
        ("Shank", (spaced(setting.shank),)),
        ("Halo", () if setting.halo == "none" else (spaced(setting.halo),)),
        ("Shoulders", () if setting.shoulders is None else (spaced(setting.shoulders),)),
        ("Center lies", () if setting.orientation is None else (f"{setting.orientation} the finger",)),
        ("Other centers", (rule.elsewhere,)),
    ])  # fmt: skip


def _scope(positions: Sequence[str] | None, origins: Sequence[str] | None) -> tuple[str, ...]:
    """Places in the jewel and origins, where a rule names them."""
    places = {"center": "center stones", "side": "side stones", "melee": "melee"}
    where = any_of((places[position] for position in positions or ()), "and")
    origin = any_of(map(spaced, origins or ()))
    return (", ".join(filter(None, (where, origin))),) if where or origin else ()
