"""Grades held against floors: what is good enough on paper, and what only once somebody has looked."""

from functools import lru_cache
from typing import Final, NamedTuple

from gradefloor.judge import sentences
from gradefloor.rules.facts import Case
from gradefloor.rules.findings import Changed
from gradefloor.rules.said import SEVERITY, Said, say
from gradefloor.rules.tables import Band, CompiledFloor
from gradefloor.trade.grades import COLOR, Scale, Span

# What is said of a grade hangs on few things, so it is kept for the next stone: with all its words some 2 KB.
_KEPT: Final = 4096


class _Told(NamedTuple):
    """What a request tells of one grade: the grade as it is read, and whether somebody looked.

    `shift` is how many grades lower than stated this laboratory's grades are read at the most.
    """

    span: Span
    looked: bool | None
    shift: int


def clarity(floor: CompiledFloor, case: Case) -> Said:
    """The clarity against its floor."""
    grade, points, looked = case.clarity, case.figures.points, case.observations.eye_clean
    if grade is None:
        return _unstated(floor, "stone.clarity", "clarity")
    if points is None:
        return _unstated(floor, "stone.carat", "carat weight")
    said = _graded(floor, floor.band(points), grade, looked, _shift(case, floor.scale))
    return _noting(said, case, floor.scale, case.stone.clarity, looked)


def color(white: CompiledFloor, warm: CompiledFloor, case: Case) -> Said:
    """The color against the floor for the tone of the head; against both while no metal is stated."""
    grade, points, tint, tone = case.color, case.figures.points, case.observations.tint, case.tone
    floor = warm if tone == "warm" else white
    if grade is None:
        return _unstated(floor, "stone.color", "color")
    if points is None:
        return _unstated(floor, "stone.carat", "carat weight")
    looked, shift = None if tint is None else tint == "none", _shift(case, COLOR)
    if tone is None:
        said = _in_any_head(white, white.band(points), warm, warm.band(points), grade, looked, shift)
    else:
        said = _graded(floor, floor.band(points), grade, looked, shift)
    return _noting(said, case, COLOR, case.stone.color, looked)


def _shift(case: Case, scale: Scale) -> int:
    offset = case.offset(scale) if case.issuer is not None else None
    return 0 if offset is None else offset.worst


def _noting(said: Said, case: Case, scale: Scale, stated: str | None, looked: bool | None) -> Said:
    """With the words of whoever graded otherwise, and how it was looked at."""
    note = "" if looked is None else sentences.seen(case.observations)
    if case.issuer is not None and stated is not None and case.offset(scale) is not None:
        note = f", stated as {stated} by {case.report.issuer}{note}"
    return said.observing(f"{said.finding['observed']}{note}") if note else said


@lru_cache(_KEPT)
def _unstated(floor: CompiledFloor, about: str, what: str) -> Said:
    reason = f"The {what} is not stated, and this floor hangs on it. {floor.stamp.because}"
    return say(floor.stamp, "ask", None, None, reason, f"State the {what}.", asks=(about,))


@lru_cache(_KEPT)
def _in_any_head(  # noqa: PLR0913, PLR0917 - all that the finding hangs on
    white: CompiledFloor,
    white_band: Band,
    warm: CompiledFloor,
    warm_band: Band,
    grade: str,
    looked: bool | None,
    shift: int,
) -> Said:
    """No metal is never read as a particular one: both heads are asked, and only a difference matters."""
    said = _graded(white, white_band, grade, looked, shift)
    other = _graded(warm, warm_band, grade, looked, shift)
    if said.verdict == other.verdict:
        return said
    better = min(said, other, key=lambda s: SEVERITY[s.verdict])
    change: list[Changed]
    if better.verdict == "pass":
        tone, metal = ("yellow or rose", "yellow_gold") if better is other else ("white", "platinum")
        remedy = f"A {tone} head, where it passes."
        change = [{"field": "context.metal", "value": metal}]
    else:
        enough = COLOR.grades[max(white_band.on_paper - shift, 0)]
        remedy = f"{enough}, which is good enough in any head."
        change = [{"field": "stone.color", "value": enough}]
        if looked is False:
            change.append({"field": "stone.observations.tint", "value": "none"})
    return say(
        white.stamp,
        "ask",
        COLOR.write(COLOR.span(grade)),
        sentences.both_limits(COLOR, white_band, warm_band),
        f"It depends on the metal of the head. {white.stamp.because}",
        remedy,
        change,
        tuple(dict.fromkeys(("context.metal", *better.asks))),
    )


@lru_cache(_KEPT)
def _graded(floor: CompiledFloor, band: Band, grade: str, looked: bool | None, shift: int) -> Said:
    """Both ends of the grade against the two limits of a band."""
    scale = floor.scale
    span = scale.span(grade)
    best, worst = _end(band, span.best, looked), _end(band, span.worst, looked)
    verdict = best if best == worst else "ask"
    observed, threshold = scale.write(span), sentences.limits(scale, band)
    reason = floor.stamp.because
    if verdict == "pass":
        return say(floor.stamp, verdict, observed, threshold, reason)
    asks: list[str] = []
    seen_as, seen_at = sentences.LOOKED[scale.name]
    unseen = looked is None and band.on_paper < span.worst <= band.if_seen
    if unseen:
        asks.append(seen_at)
    if best != worst:
        asks.append(f"stone.{scale.name}")
    remedy, change = _turn(scale, band, _Told(span, looked, shift), verdict)
    if verdict == "ask" and looked is False and span.worst <= band.on_paper:
        reason = f"Good enough on paper, but whoever looked did not find it so. {reason}"
        asks.append(seen_at)
    elif unseen:
        reason = f"Good enough only once {seen_as}. {reason}"
    elif best != worst:
        reason = f"One end of the range is good enough and the other is not. {reason}"
    return say(floor.stamp, verdict, observed, threshold, reason, remedy, change, tuple(asks))


def _end(band: Band, rank: int, looked: bool | None) -> str:
    """One grade against the limits: what a look has shown outranks the paper on its own ground only."""
    if rank <= band.on_paper:
        return "ask" if looked is False else "pass"
    if rank > band.if_seen:
        return "fail"
    return "ask" if looked is None else "pass" if looked else "fail"


def _turn(scale: Scale, band: Band, told: _Told, verdict: str) -> tuple[str, list[Changed]]:
    """The smallest change that makes this verdict better, in words and as data."""
    span, looked = told.span, told.looked
    seen_as, seen_at = sentences.LOOKED[scale.name]
    seen: Changed = {"field": seen_at, "value": True if scale.name == "clarity" else "none"}
    paper = scale.grades[max(band.on_paper - told.shift, 0)]
    look = scale.grades[max(band.if_seen - told.shift, 0)]
    to_paper: Changed = {"field": f"stone.{scale.name}", "value": paper}
    to_look: Changed = {"field": f"stone.{scale.name}", "value": look}
    if looked is False and span.worst <= band.if_seen:
        return f"{scale.write(span)}, {seen_as} after all.", [seen]
    if looked is None and span.worst <= band.if_seen:
        return f"{scale.write(span)} {seen_as}, or {paper} on paper.", [seen]
    if looked is True and look != paper:
        return f"{look}, as it has been {seen_as}.", [to_look]
    if looked is False and verdict == "ask":
        return f"{paper} on paper, and {seen_as} after all.", [to_paper, seen]
    if verdict == "fail" and looked is None and look != paper:
        return f"{look} once {seen_as}, or {paper} on paper.", [to_look]
    return f"{paper} on paper.", [to_paper]
