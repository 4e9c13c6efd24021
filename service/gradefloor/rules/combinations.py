"""The rows of a table become one answer for every combination of the facts they name.

Proves that the rows leave no gap and no overlap, that every row speaks somewhere, and that the remedy of
every ask and fail turns it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import Any, Final, Protocol

from gradefloor.rules.said import SEVERITY, VERDICT_ORDER
from gradefloor.rules.terms import NOT_STATED, Fact

MAX_CELLS: Final = 50_000

Cell = tuple[str, ...]
Refuse = Callable[..., None]


class Row(Protocol):
    """What a row says. When it does is told apart from it."""

    @property
    def verdict(self) -> str: ...
    @property
    def says(self) -> str | None: ...
    @property
    def remedy(self) -> str | None: ...
    @property
    def ask(self) -> str | None: ...


@dataclass(frozen=True, slots=True)
class Settled:
    """What is said of one combination.

    `told` are the places of the facts to repeat; `turn` is the place of the fact that makes the verdict
    better, and the value that does.
    """

    verdict: str
    reason: str
    remedy: str | None
    asks: tuple[str, ...]
    told: tuple[int, ...]
    turn: tuple[int, str] | None


# Verdict, the row whose reason is told, the row whose remedy is told, and the settings that would decide.
_Answer = tuple[str, Row, Row, tuple[str, ...]]


class Combinations:
    """Walks all combinations of the facts of one table and settles what each is answered.

    `when` gives, for each row, the values that each fact it names may have.
    """

    def __init__(  # noqa: PLR0913, PLR0917 - each is another part of the table
        self,
        rows: Sequence[Row],
        when: Sequence[Mapping[str, Sequence[str]]],
        facts: Sequence[Fact[Any]],
        remedied_by: Sequence[str],
        because: str,
        refuse: Refuse,
    ) -> None:
        self.rows = rows
        self.when = when
        self.facts = facts
        self.remedied_by = remedied_by
        self.because = because
        self.refuse = refuse
        self.places = {id(row): index for index, row in enumerate(rows)}
        self.open = [self.is_open(fact) for fact in facts]

    def is_open(self, fact: Fact[Any]) -> bool:
        """Whether no row says what an unstated setting means, so that its values decide together."""
        named = any(NOT_STATED in when.get(fact.name, ()) for when in self.when)
        used = any(fact.name in when for when in self.when)
        return fact.of_the_setting and used and not named

    def settle(self) -> dict[Cell, Settled | None]:
        """One answer for each combination, None where the table is silent; empty where it is refused."""
        domains = [f.values if o else f.domain for f, o in zip(self.facts, self.open, strict=True)]
        places = assign(self.when, self.facts, domains, self.refuse)
        if places is None:
            return {}
        settled = {cell: self.rows[place] for cell, place in places.items()}
        answers: dict[Cell, _Answer] = {cell: (row.verdict, row, row, ()) for cell, row in settled.items()}
        for cell in product(*(fact.domain for fact in self.facts)):
            if cell not in settled:
                answers[cell] = self.together(cell, settled)
        return {cell: self.outcome(cell, answers) for cell in answers}

    def together(self, cell: Cell, settled: Mapping[Cell, Row]) -> _Answer:
        """What holds while a setting is unstated: the common verdict, or an ask for what would decide it."""
        missing = [index for index, value in enumerate(cell) if value == NOT_STATED and self.open[index]]
        choices = product(*(f.values if i in missing else (cell[i],) for i, f in enumerate(self.facts)))
        rows = [settled[choice] for choice in choices]
        severities = {SEVERITY[row.verdict] for row in rows}
        # Of remarks that differ a note is told before a pass, whichever setting comes first in the list.
        worst = min(rows, key=lambda row: VERDICT_ORDER.get(row.verdict, len(VERDICT_ORDER)))
        mildest = min(rows, key=lambda row: SEVERITY[row.verdict])
        if len(severities) > 1:
            abouts = tuple(self.facts[index].about for index in missing if self.matters(index, cell, settled))
            return "ask", worst, mildest, abouts
        verdicts = {row.verdict for row in rows}
        silent = "silent" in verdicts and len(verdicts) > 1
        return ("silent" if silent else worst.verdict), worst, mildest, ()

    def matters(self, index: int, cell: Cell, settled: Mapping[Cell, Row]) -> bool:
        """Whether this unstated fact alone can change the verdict, whatever the other unstated ones are."""
        others = product(
            *(
                ("",) if i == index else f.values if self.open[i] and cell[i] == NOT_STATED else (cell[i],)
                for i, f in enumerate(self.facts)
            )
        )
        for other in others:
            filled = [(*other[:index], value, *other[index + 1 :]) for value in self.facts[index].values]
            if len({SEVERITY[settled[choice].verdict] for choice in filled}) > 1:
                return True
        return False

    def outcome(self, cell: Cell, answers: Mapping[Cell, _Answer]) -> Settled | None:
        verdict, row, mildest, abouts = answers[cell]
        if verdict == "silent":
            return None
        reason, told = row.says or self.because, self.told(cell, row)
        if SEVERITY[verdict] == 0:
            return Settled(verdict, reason, None, (), told, None)
        asks = abouts or ((row.ask,) if row.ask else ())
        turn = self.turn(cell, answers)
        if turn is None and not self.unsaid(cell):
            found = f"no remedy that turns {verdict} for {_tell(self.facts, cell)}"
            self.refuse(found, "a fact among remedied_by that does", "remedied_by")
        remedy = row.remedy
        if abouts:
            # What decides is not known, so the worst case is only a warning, and its remedy is not yet one.
            words = " and ".join(about.rpartition(".")[2].replace("_", " ") for about in abouts)
            reason = f"It depends on the {words}, not stated. At the worst: {reason}"
            remedy = mildest.remedy or f"A {words} with which it passes."
        return Settled(verdict, reason, remedy, asks, told, turn)

    def turn(self, cell: Cell, answers: Mapping[Cell, _Answer]) -> tuple[int, str] | None:
        """The first fact among the remedies, at its nearest value, that makes the verdict better."""
        severity = SEVERITY[answers[cell][0]]
        names = [fact.name for fact in self.facts]
        for name in self.remedied_by:
            index = names.index(name)
            fact = self.facts[index]
            for value in (*_nearest(fact, cell[index]), NOT_STATED):
                turned = (*cell[:index], value, *cell[index + 1 :])
                if SEVERITY[answers[turned][0]] < severity:
                    return index, value
        return None

    def unsaid(self, cell: Cell) -> bool:
        """Whether this hangs on something that no single value can stand for, and nobody has said."""
        return any(
            value == NOT_STATED and fact.settable is None and fact.name in self.remedied_by
            for fact, value in zip(self.facts, cell, strict=True)
        )

    def told(self, cell: Cell, row: Row) -> tuple[int, ...]:
        """Facts to repeat: those that the row names, or the first fact where it names none."""
        named = list(self.when[self.places[id(row)]]) or [fact.name for fact in self.facts[:1]]
        return tuple(
            index
            for index, (fact, value) in enumerate(zip(self.facts, cell, strict=True))
            if value != NOT_STATED and fact.told and fact.name in named
        )


def assign(
    when: Sequence[Mapping[str, Sequence[str]]],
    facts: Sequence[Fact[Any]],
    domains: Sequence[Sequence[str]],
    refuse: Refuse,
) -> dict[Cell, int] | None:
    """The place of the row that answers each combination: the one that names more facts wins.

    `domains` are the values to walk. None where there are too many, or a combination without a row; rows
    that overlap or never speak are refused, too.
    """
    size = prod(map(len, domains))
    if size > MAX_CELLS:
        refuse(f"{size} combinations", f"rows over facts with at most {MAX_CELLS} combinations", "rows")
        return None
    found: dict[Cell, int] = {}
    gap = overlapping = False
    for cell in product(*domains):
        values = dict(zip((fact.name for fact in facts), cell, strict=True))
        matching = sorted(
            (-len(named), place)
            for place, named in enumerate(when)
            if all(values[name] in allowed for name, allowed in named.items())
        )
        if not matching:
            refuse(f"a gap: no row for {_tell(facts, cell)}", "a row for every combination", "rows")
            gap = True
            continue
        (most, place), *others = matching
        if others and others[0][0] == most:
            overlapping = True
            first, second = place, others[0][1]
            fault = f"an overlap of rows {first} and {second} for {_tell(facts, cell)}"
            refuse(fault, "one of the two naming more facts", "rows", second)
        found[cell] = place
    used = set(found.values())
    for place in range(len(when)):
        # Where two rows overlap, one of them loses without being idle.
        if place not in used and not overlapping:
            refuse("a row that never speaks", "no such row", "rows", place)
    return None if gap else found


def _tell(facts: Sequence[Fact[Any]], cell: Cell) -> str:
    """A combination as a rule keeper reads it in a fault."""
    return ", ".join(f"{fact.name} {value}" for fact, value in zip(facts, cell, strict=True))


def observed(facts: Sequence[Fact[Any]], cell: Cell, told: Sequence[int]) -> str | None:
    """The facts that are told, in words; None if there are none."""
    stated = [(facts[index], cell[index]) for index in told]
    if len(stated) == 1 and not stated[0][0].title:
        return stated[0][1].replace("_", " ")
    return ", ".join(fact.tell(value) for fact, value in stated) or None


def _nearest(fact: Fact[Any], now: str) -> tuple[str, ...]:
    """Values that a remedy may name, the smallest change first; none for a fact that cannot be set."""
    if fact.settable is None:
        return ()
    if not fact.ordered or now == NOT_STATED:
        return fact.values
    place = fact.values.index(now)
    return tuple(sorted(fact.values, key=lambda value: abs(fact.values.index(value) - place)))
