"""Rows together: each read and held to its own numbers, the same report in two rows, and a report card."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Annotated, Any, Final

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.trade.cells import Remark
from gradefloor.trade.consistency import contradictions
from gradefloor.trade.figures import length_and_width
from gradefloor.trade.reading import Reading, RowReader
from gradefloor.trade.stones import Stone
from gradefloor.trade.weights import exact, fill_coefficient, fill_verdict

# One report is one stone: dimensions under the same number that differ by more are another stone's.
SAME_STONE_MM: Final = Decimal("0.05")
SAME_STONE_CARAT: Final = 0.005
# Of each kind of trouble a report card names this many; the count is of all of them.
NAMED: Final = 100


@dataclass(frozen=True, slots=True)
class Asking:
    """How the rows of one feed are to be read."""

    columns: Mapping[str, str]
    number_format: str | Mapping[str, str] | None = None
    origin: str | None = None


class ColumnRead(TypedDict):
    """How well one column was read."""

    header: Annotated[str, Field(description="Header of the column.")]
    field: Annotated[str, Field(description="What it was taken for.")]
    read: Annotated[int, Field(description="Rows whose cell was read.")]
    blank: Annotated[int, Field(description="Rows whose cell states nothing.")]
    open: Annotated[int, Field(description="Rows whose cell stayed open.")]
    read_pct: Annotated[float, Field(description="Cells read, in % of all rows.")]


class FaultCount(TypedDict):
    """How often one kind of remark was made on one field."""

    field: Annotated[str, Field(description="Field of the stone.")]
    kind: Annotated[str, Field(description="assumed, ambiguous, unreadable, contradiction, not_stated.")]
    count: Annotated[int, Field(description="Rows that have it.")]


class Outcomes(TypedDict):
    """Rows by what to do with them."""

    accepted: Annotated[int, Field(description="Read, with no question open.")]
    ask: Annotated[int, Field(description="At least one question is open.")]
    set_aside: Annotated[int, Field(description="Of no use until something is cleared up.")]


class ReportCard(TypedDict):
    """What one feed is like."""

    rows: Annotated[int, Field(description="Rows read.")]
    outcomes: Annotated[Outcomes, Field(description="Rows by outcome.")]
    columns: Annotated[list[ColumnRead], Field(description="How well each mapped column was read.")]
    faults: Annotated[list[FaultCount], Field(description="Remarks by field and kind, commonest first.")]
    duplicate_rows: Annotated[
        list[list[int]], Field(description="Groups of rows that are the same, at most 100, by row number.")
    ]
    duplicate_reports: Annotated[
        list[list[int]], Field(description="Groups of rows with the same report and the same stone.")
    ]
    reused_reports: Annotated[
        list[list[int]], Field(description="Groups of rows with one report number and different stones.")
    ]


class FeedReader:
    """Rows of one feed read one by one, each held to its own numbers."""

    def __init__(self, asking: Asking) -> None:
        self._rows = RowReader(
            asking.columns, number_format=asking.number_format, origin=asking.origin, fill=_fills
        )

    def read(self, row: Mapping[str, object]) -> tuple[Reading, Stone | None]:
        """What the row says, and the stone in it."""
        reading = self._rows.read(row)
        if reading.stone is None:
            return reading, None
        stone = Stone.model_validate(reading.stone)
        found = list(contradictions(stone))
        if not found:
            return reading, stone
        remarks, outcome = list(reading.remarks), reading.outcome
        for each in found:
            remarks.append(Remark(each.field, each.seen, each.told or None, "contradiction", each.ask))
            outcome = "set_aside" if each.breaks or outcome == "set_aside" else "ask"
        return Reading(reading.stone, tuple(remarks), outcome), stone


def read_one(row: Mapping[str, object], asking: Asking) -> Reading:
    """One row by itself; of many rows, a `FeedReader` resolves the columns once."""
    return FeedReader(asking).read(row)[0]


def _fills(shape: str, carat: Decimal, length_mm: Decimal, width_mm: Decimal, depth_mm: Decimal) -> bool:
    """Whether a diamond of this shape may have this weight at these dimensions."""
    coefficient = fill_coefficient(carat, length_mm, width_mm, depth_mm)
    return fill_verdict(shape, coefficient) == "within"


def separate_reused(readings: Sequence[Reading]) -> list[Reading]:
    """The same readings, with every row set aside whose report number another stone has, too."""
    result = list(readings)
    for group in _reports(readings):
        if not _one_stone(readings, group):
            for index in group:
                reading = readings[index]
                remark = Remark(
                    "report_number",
                    _number(reading) or "",
                    f"the number of {len(group)} rows with different stones",
                    "contradiction",
                    "Which of these stones does the report describe?",
                )
                result[index] = replace(reading, remarks=(*reading.remarks, remark), outcome="set_aside")
    return result


def report_card(
    rows: Sequence[Mapping[str, object]], readings: Sequence[Reading], columns: Mapping[str, str]
) -> ReportCard:
    """What the feed as a whole is like. `rows` and `readings` are in the same order."""
    outcomes = Counter(reading.outcome for reading in readings)
    faults = Counter((r.field, r.kind) for reading in readings for r in dict.fromkeys(_kinds(reading)))
    reports = list(_reports(readings))
    return {
        "rows": len(rows),
        "outcomes": {
            "accepted": outcomes["accepted"],
            "ask": outcomes["ask"],
            "set_aside": outcomes["set_aside"],
        },
        "columns": [_column(header, field, rows, readings) for header, field in columns.items()],
        "faults": [
            {"field": field, "kind": kind, "count": count}
            for (field, kind), count in faults.most_common(NAMED)
        ],
        "duplicate_rows": list(_same_rows(rows))[:NAMED],
        "duplicate_reports": [group for group in reports if _one_stone(readings, group)][:NAMED],
        "reused_reports": [group for group in reports if not _one_stone(readings, group)][:NAMED],
    }


def _kinds(reading: Reading) -> Iterator[Remark]:
    """Remarks reduced to field and kind, so that each row counts once."""
    return (Remark(remark.field, "", None, remark.kind) for remark in reading.remarks)


def _column(
    header: str, field: str, rows: Sequence[Mapping[str, object]], readings: Sequence[Reading]
) -> ColumnRead:
    blank = opened = 0
    for row, reading in zip(rows, readings, strict=True):
        kinds = {remark.kind for remark in reading.remarks if remark.field == field}
        if header not in row or row[header] is None or "not_stated" in kinds:
            blank += 1
        elif kinds & {"ambiguous", "unreadable"}:
            opened += 1
    read = len(rows) - blank - opened
    share = round(100 * read / len(rows), 1) if rows else 0.0
    return {
        "header": header, "field": field, "read": read, "blank": blank, "open": opened, "read_pct": share,
    }  # fmt: skip


def _same_rows(rows: Sequence[Mapping[str, object]]) -> Iterator[list[int]]:
    groups: defaultdict[str, list[int]] = defaultdict(list)
    for index, row in enumerate(rows):
        groups[repr(sorted(row.items(), key=lambda item: item[0]))].append(index)
    return (group for group in groups.values() if len(group) > 1)


def _reports(readings: Sequence[Reading]) -> Iterator[list[int]]:
    """Groups of rows that name the same report."""
    groups: defaultdict[tuple[str, str], list[int]] = defaultdict(list)
    for index, reading in enumerate(readings):
        number = _number(reading)
        if number is not None:
            groups[_report(reading).get("issuer", ""), number].append(index)
    return (group for group in groups.values() if len(group) > 1)


def _report(reading: Reading) -> dict[str, Any]:
    report = (reading.stone or {}).get("report")
    return report if isinstance(report, dict) else {}


def _number(reading: Reading) -> str | None:
    return _report(reading).get("number")


def _one_stone(readings: Sequence[Reading], group: Sequence[int]) -> bool:
    """Whether all rows of a group can describe one stone, as far as they say anything."""
    stones = [Stone.model_validate(readings[index].stone) for index in group]
    first = stones[0]
    return all(_may_be_one(first, other) for other in stones[1:])


def _may_be_one(one: Stone, other: Stone) -> bool:
    if one.carat is not None and other.carat is not None and abs(one.carat - other.carat) > SAME_STONE_CARAT:
        return False
    sides, others = length_and_width(one), length_and_width(other)
    pairs = list(zip(sides, others, strict=True)) if sides and others else []
    if one.depth_mm is not None and other.depth_mm is not None:
        pairs.append((exact(one.depth_mm), exact(other.depth_mm)))
    return all(abs(a - b) <= SAME_STONE_MM for a, b in pairs)
