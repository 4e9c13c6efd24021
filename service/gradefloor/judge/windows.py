"""Measures held against their windows, and ratios named by how they look. Neither ever fails a stone."""

from decimal import Decimal
from functools import lru_cache
from typing import Final

from gradefloor.judge import sentences
from gradefloor.rules.facts import Case
from gradefloor.rules.findings import Changed, Said, say
from gradefloor.rules.tables import CompiledLook, CompiledWindow

_KEPT: Final = 1024


def in_window(window: CompiledWindow, case: Case) -> Said | None:
    """The measure against its window; None where it is not stated and nobody minds."""
    value = window.measure.read(case)
    if value is None:
        return window.unstated
    observed = sentences.measured(window.measure, value)
    if value in window.comfort:
        return window.inside.observing(observed)
    low = value < window.comfort.from_
    side = window.low if low else window.high
    if value in window.tolerated:
        return side.noted.observing(observed)
    if side.settled(case):
        return side.cleared.observing(observed)
    edge = window.tolerated.from_ if low else window.tolerated.to
    bound = "at least" if low else "at most"
    remedy = f"{window.measure.title} {bound} {sentences.measured(window.measure, edge)}."
    change: list[Changed] = [
        {"field": field, "value": to} for field, to in window.measure.reach(case, edge).items()
    ]
    return say(window.stamp, "ask", observed, window.threshold, side.says, remedy, change, (side.ask,))


def look_of(look: CompiledLook, case: Case) -> Said:
    """The ratio by the name of its look."""
    return _named(look, case.stone.shape, case.figures.ratio)


@lru_cache(_KEPT)
def _named(look: CompiledLook, shape: str, ratio: Decimal | None) -> Said:
    if ratio is None:
        reason = f"Length and width are not stated. {look.stamp.because}"
        return say(look.stamp, "note", None, None, reason)
    band = look.band(ratio)
    threshold = f"{band.look.replace('_', ' ')}: {band.write()}"
    return say(look.stamp, "note", str(ratio), threshold, sentences.look_reason(shape, ratio, band))
