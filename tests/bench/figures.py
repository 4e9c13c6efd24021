"""A figure of the benchmark: taken in rounds that take turns, told as a median, held to a goal."""

import statistics
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal


@dataclass(frozen=True, slots=True)
class Goal:
    """What a figure should be at least, or at most."""

    bound: Literal["at least", "at most"]
    limit: float

    def holds(self, value: float) -> bool:
        return value >= self.limit if self.bound == "at least" else value <= self.limit


@dataclass(frozen=True, slots=True)
class Figure:
    """One line of the table. `rounds` are the single values; ratios have no unit."""

    what: str
    rounds: Sequence[float]
    goal: Goal | None = None
    unit: str = ""
    note: str = ""

    @property
    def median(self) -> float:
        return statistics.median(self.rounds)


def at_least(limit: float) -> Goal:
    return Goal("at least", limit)


def at_most(limit: float) -> Goal:
    return Goal("at most", limit)


def in_turns(what: Mapping[str, Callable[[], float]], rounds: int) -> dict[str, list[float]]:
    """Each measured once a round, one after the other, because the machine is shared and changes its pace."""
    taken: dict[str, list[float]] = {name: [] for name in what}
    for _ in range(rounds):
        for name, measure in what.items():
            taken[name].append(measure())
    return taken


def ratios(above: Sequence[float], below: Sequence[float]) -> list[float]:
    """Round by round."""
    return [one / other for one, other in zip(above, below, strict=True)]


_HEAD: Final = f"{'':66} {'median':>9} {'lowest':>9} {'highest':>9}  goal"


def show(title: str, figures: Iterable[Figure]) -> None:
    """One part of the table."""
    print(f"\n{title}\n{_HEAD}")
    for one in figures:
        values = "".join(f" {_number(v):>9}" for v in (one.median, min(one.rounds), max(one.rounds)))
        goal = "" if one.goal is None else f"{one.goal.bound} {one.goal.limit:g}"
        held = "" if one.goal is None else "held" if one.goal.holds(one.median) else "MISSED"
        name = f"{one.what}{f', {one.unit}' if one.unit else ''}"
        print(f"{name:66}{values}  {goal:14} {held} {one.note}".rstrip())


def _number(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.2f}"
