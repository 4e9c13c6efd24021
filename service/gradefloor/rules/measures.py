"""The closed list of numbers that a window may be laid over, and what brings each inside. Decides nothing."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from typing import Final

from gradefloor.rules.facts import Case
from gradefloor.trade.weights import exact


def _age_years(case: Case) -> Decimal | None:
    """Age of the report on the day of asking, in full hundredths of a year; negative for a date to come."""
    issued = case.report.date
    if issued is None:
        return None
    days = Decimal((case.as_of - issued).days)
    return (days / Decimal("365.25")).quantize(Decimal("0.01"), ROUND_FLOOR)


def _percent(name: str) -> Callable[[Case], Decimal | None]:
    def read(case: Case) -> Decimal | None:
        value = getattr(case.stone, name)
        return None if value is None else exact(value)

    return read


def _depth_gap(case: Case) -> Decimal | None:
    """Stated depth less the depth that the millimetres give, in points of percent."""
    stated, computed = case.stone.depth_pct, case.figures.depth_pct_from_mm
    return None if stated is None or computed is None else exact(stated) - computed


# What brings a measure to a value: members of the request, by dotted path.
Settings = dict[str, str | float]


def _make_round(case: Case, _value: Decimal) -> Settings:
    widest = max(case.stone.length_mm or 0, case.stone.width_mm or 0)
    return {"stone.length_mm": widest, "stone.width_mm": widest}


def _report_of_today(case: Case, _value: Decimal) -> Settings:
    return {"stone.report.date": case.as_of.isoformat()}


def _agree_in_depth(case: Case, value: Decimal) -> Settings:
    return {"stone.depth_pct": float((case.figures.depth_pct_from_mm or Decimal(0)) + value)}


@dataclass(frozen=True, slots=True)
class Measure:
    """A number a window may be laid over, and what brings it to a value inside the window.

    That is a member of the request that states it, or else what `reach` says of this request.
    """

    name: str
    title: str
    unit: str
    read: Callable[[Case], Decimal | None]
    reach: str | Callable[[Case, Decimal], Settings]

    def tell(self, value: Decimal) -> str:
        return f"{value}{self.unit}"


def _stated(name: str, title: str) -> Measure:
    return Measure(name, title, " %", _percent(name), f"stone.{name}")


MEASURES: Final[dict[str, Measure]] = {
    measure.name: measure
    for measure in (
        Measure("ratio", "Length to width", "", lambda case: case.figures.ratio, _make_round),
        Measure("depth_pct", "Depth", " %", lambda case: case.figures.depth_pct, "stone.depth_pct"),
        _stated("table_pct", "Table"),
        _stated("crown_height_pct", "Crown height"),
        _stated("girdle_pct", "Girdle"),
        Measure("depth_gap_points", "Stated depth less depth from millimetres", " points", _depth_gap,
                _agree_in_depth),
        Measure("report_age_years", "Age of the report", " years", _age_years, _report_of_today),
    )
}  # fmt: skip
