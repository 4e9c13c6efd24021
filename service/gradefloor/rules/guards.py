"""A guard becomes what is said of every combination of its facts, made once at load."""

from collections.abc import Sequence

from gradefloor.rules.combinations import Cell, Combinations, Refuse, Settled, observed
from gradefloor.rules.facts import Case
from gradefloor.rules.findings import Changed
from gradefloor.rules.format import Guard
from gradefloor.rules.said import Said, Stamp, say
from gradefloor.rules.terms import NOT_STATED, Fact


def fill(guard: Guard, stamp: Stamp, facts: Sequence[Fact[Case]], refuse: Refuse) -> dict[Cell, Said | None]:
    """What the guard says of every combination; None where it is silent."""
    when = [row.when for row in guard.rows]
    table = Combinations(guard.rows, when, facts, guard.remedied_by, guard.because, refuse)

    def said(cell: Cell, settled: Settled) -> Said:
        changes: list[Changed] = []
        if settled.turn is not None:
            place, value = settled.turn
            fact = facts[place]
            settable = None if value == NOT_STATED else fact.settable
            changes = [{"field": fact.about, "value": settable and settable(value)}]
        return say(
            stamp,
            settled.verdict,
            observed(facts, cell, settled.told),
            guard.threshold,
            settled.reason,
            settled.remedy,
            changes,
            settled.asks,
        )

    return {cell: None if found is None else said(cell, found) for cell, found in table.settle().items()}
