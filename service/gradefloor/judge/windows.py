"""Measures held against their windows, and ratios named by how they look. Neither ever fails a stone."""

from decimal import Decimal
from functools import lru_cache
from typing import Final

from gradefloor.judge import sentences
from gradefloor.rules.facts import Case
from gradefloor.rules.findings import Changed
from gradefloor.rules.said import Said, say
from gradefloor.rules.tables import CompiledLook, CompiledWindow

_KEPT: Final = 1024


def in_window(window: CompiledWindow, case: Case) -> Said | None:
    """The measure against its window; None where it is not stated and nobody minds."""
    measure = window.measure
    value = measure.read(case)
    if value is None:
        return window.unstated
    observed = measure.tell(value)
    if value in window.comfort:
        return window.inside.observing(observed)
    side = window.low if value < window.comfort.from_ else window.high
    if value in window.tolerated:
        return side.noted.observing(observed)
    if side.settled(case):
        return side.cleared.observing(observed)
    if isinstance(measure.reach, str):
        return side.asked.observing(observed)
    changes: list[Changed] = [
        {"field": field, "value": to} for field, to in measure.reach(case, side.edge).items()
    ]
    return side.asked.observing(observed).changed(changes)


@lru_cache(_KEPT)
def look_of(look: CompiledLook, shape: str, ratio: Decimal | None) -> tuple[Said, str | None]:
    """The name of the look that a ratio has, and what is said of it."""
    if ratio is None:
        reason = f"Length and width are not stated. {look.stamp.because}"
        return say(look.stamp, "note", None, None, reason), None
    band = look.band(ratio)
    threshold = f"{band.look.replace('_', ' ')}: {band.write()}"
    reason = sentences.look_reason(shape, ratio, band)
    return say(look.stamp, "note", str(ratio), threshold, reason), band.look
