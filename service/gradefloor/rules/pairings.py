"""A pairing becomes one settled answer for every combination of its facts and its measures' intervals.

The rows' ranges cut each measure into intervals, so a measure too has finitely many values, and the proofs of
`combinations` hold for it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from gradefloor.rules.combinations import Cell, Combinations, Refuse, Settled
from gradefloor.rules.entries import Range
from gradefloor.rules.findings import Changed
from gradefloor.rules.ring_facts import RING_FACTS
from gradefloor.rules.ring_format import Pairing
from gradefloor.rules.ring_measures import RING_MEASURES, RingMeasure
from gradefloor.rules.said import Said, Stamp, say
from gradefloor.rules.terms import NOT_STATED, Fact
from gradefloor.trade.assembly import Ring


@dataclass(frozen=True, slots=True)
class Intervals:
    """A measure cut into intervals, each with a label."""

    measure: RingMeasure
    ranges: Mapping[str, Range]

    def read(self, ring: Ring) -> str:
        value = self.measure.read(ring)
        if value is None:
            return NOT_STATED
        return next(label for label, part in self.ranges.items() if value in part)

    def reach(self, ring: Ring, label: str) -> list[Changed]:
        """What brings the measure to the nearest value of an interval."""
        target, value = self.ranges[label], self.measure.read(ring)
        upwards = value is None or (target.from_ is not None and value < target.from_)
        if upwards and target.from_ is not None:
            return self.measure.reach(ring, target.from_)
        if target.below is None:
            return []
        return self.measure.reach(ring, target.below - self.measure.step)

    def labels(self, wanted: Range) -> list[str]:
        """Intervals that lie in a range."""
        return [label for label, part in self.ranges.items() if _inside(part, wanted)]

    def fact(self) -> Fact[Ring]:
        measure = self.measure
        return Fact(
            measure.name,
            tuple(self.ranges),
            self.read,
            measure.about,
            ordered=True,
            settable=str,
            reach=self.reach,
        )


def _inside(part: Range, whole: Range) -> bool:
    low = whole.from_ is None or (part.from_ is not None and part.from_ >= whole.from_)
    high = whole.below is None or (part.below is not None and part.below <= whole.below)
    return low and high


def cut(measure: RingMeasure, ranges: Sequence[Range]) -> Intervals:
    """Intervals between all ends that the rows name."""
    ends = sorted({end for part in ranges for end in (part.from_, part.below) if end is not None})
    edges: list[Decimal | None] = [None, *ends, None]
    parts = [Range.model_construct(from_=low, below=high) for low, high in pairwise(edges)]
    return Intervals(measure, {part.write(): part for part in parts})


@dataclass(frozen=True, slots=True)
class CompiledPairing:
    """What is settled of every combination of the facts it reads; None where it is silent."""

    stamp: Stamp
    threshold: str | None
    facts: tuple[Fact[Ring], ...]
    cells: Mapping[Cell, Settled | None]

    def say(self, ring: Ring) -> Said | None:
        """What this pairing says of a ring."""
        settled = self.cells[tuple([fact.read(ring) for fact in self.facts])]
        if settled is None:
            return None
        changes: list[Changed] = []
        if settled.turn is not None:
            place, value = settled.turn
            changes = self.facts[place].changes(ring, value)
        return say(
            self.stamp,
            settled.verdict,
            self.observed(ring, settled),
            self.threshold,
            settled.reason,
            settled.remedy,
            changes,
            settled.asks,
        )

    def observed(self, ring: Ring, settled: Settled) -> str | None:
        words = []
        for place in settled.told:
            fact = self.facts[place]
            measure = RING_MEASURES.get(fact.name)
            words.append(fact.tell(fact.read(ring)) if measure is None else measure.tell(ring))
        return ", ".join(words) or None


def compile_pairing(pairing: Pairing, stamp: Stamp, refuse: Refuse) -> CompiledPairing:
    """One table over facts and intervals, proved as guards are."""
    names = list(dict.fromkeys(name for row in pairing.rows for name in (*row.when, *row.measured)))
    names += [name for name in pairing.remedied_by if name not in names]
    intervals = {
        name: cut(RING_MEASURES[name], [row.measured[name] for row in pairing.rows if name in row.measured])
        for name in names
        if name in RING_MEASURES
    }
    facts = [intervals[name].fact() if name in intervals else RING_FACTS[name] for name in names]
    when = [
        {**row.when, **{name: intervals[name].labels(part) for name, part in row.measured.items()}}
        for row in pairing.rows
    ]
    table = Combinations(pairing.rows, when, facts, pairing.remedied_by, pairing.because, refuse)
    return CompiledPairing(stamp, pairing.threshold, tuple(facts), table.settle())
