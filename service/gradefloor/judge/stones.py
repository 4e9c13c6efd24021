"""One stone judged by one version of the rules: pure, and the same bytes for the same request."""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from typing import Final, NamedTuple

import orjson

from gradefloor import __version__
from gradefloor.judge import sentences
from gradefloor.judge.findings import NOTICE, Evaluation, Measures, Question
from gradefloor.judge.measures import take_measures
from gradefloor.rules.facts import Case
from gradefloor.rules.findings import SEVERITY, Changed, Said, say
from gradefloor.rules.tables import (
    Band,
    CompiledFloor,
    CompiledGuard,
    CompiledLook,
    CompiledRules,
    CompiledWindow,
    ShapeRules,
)
from gradefloor.trade.grades import COLOR, Scale, Span
from gradefloor.trade.stones import Context, Stone

_NO_CONTEXT: Final = Context()


def evaluate(rules: CompiledRules, stone: Stone, context: Context | None, as_of: date) -> Evaluation:
    """Every rule that applies to this stone, the worst verdict among them, and what to ask next."""
    case = Case(stone, context or _NO_CONTEXT, as_of, rules.issuers)
    tables = rules.shapes[stone.shape]
    said = sorted(_say_all(tables, case), key=_place)
    return {
        "ruleset": {
            "name": rules.name,
            "version": rules.version,
            "effective": rules.effective,
            "digest": rules.digest,
        },
        "as_of": as_of.isoformat(),
        "service_version": __version__,
        "evaluation_id": evaluation_id(rules.digest, stone, context, as_of),
        "stone_id": stone.id,
        "verdict": worst_verdict(said),
        # Copies, because most findings are made at load and shared by all answers.
        "findings": [finding.copy() for _, finding, _ in said],
        "questions": questions(rules, said),
        "measures": _measures(case, tables.look),
        "notice": NOTICE,
    }


def evaluation_id(digest: str, stone: Stone, context: Context | None, as_of: date) -> str:
    """sha256 over the RFC 8785 form of what was asked and of whom; absent and null members are left out."""
    asked = {
        "as_of": as_of,
        "digest": digest,
        "stone": _canonical(stone.model_dump(exclude_none=True)),
    }
    if context is not None:
        asked["context"] = context.model_dump(exclude_none=True)
    return hashlib.sha256(orjson.dumps(asked, option=orjson.OPT_SORT_KEYS)).hexdigest()


def _canonical(value: object) -> object:
    """Whole numbers without a point. In the range our models admit, orjson writes all others as RFC 8785."""
    if isinstance(value, dict):
        return {key: _canonical(inner) for key, inner in value.items()}
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value


def _place(said: Said) -> int:
    return said[0]


def _say_all(tables: ShapeRules, case: Case) -> Iterator[Said]:
    material = case.stone.material or "diamond"
    yield from say_guards(tables.guards[material, case.position], case)
    if material == "diamond":
        floors = tables.floors[case.position, case.stone.origin or "natural"]
        yield _clarity(floors.clarity, case)
        yield _color(floors.color["white"], floors.color["warm"], case)
    for window in tables.windows[material]:
        yield from _window(window, case)
    if tables.look is not None:
        yield _look(tables.look, case)


def say_guards(guards: Iterable[CompiledGuard], case: Case) -> Iterator[Said]:
    """What guards say of one stone."""
    for guard in guards:
        if (said := _guard(guard, case)) is not None:
            yield said


def _guard(guard: CompiledGuard, case: Case) -> Said | None:
    if guard.ratio is not None and (case.ratio is None or case.ratio not in guard.ratio):
        return None
    said = guard.cells[tuple([read(case) for read in guard.reads])]
    if said is None or not guard.quotes:
        return said
    quoted = [word for quote in guard.quotes if (word := quote(case))]
    if not quoted:
        return said
    place, finding, asks = said
    return place, {**finding, "observed": f"{finding['observed']} ({', '.join(quoted)})"}, asks


# Floors


def _unstated(floor: CompiledFloor, about: str, what: str) -> Said:
    reason = f"The {what} is not stated, and this floor hangs on it. {floor.stamp.because}"
    return say(floor.stamp, "ask", None, None, reason, f"State the {what}.", asks=(about,))


class _Told(NamedTuple):
    """What a request tells of one grade: the grade as it is read, and whether somebody looked.

    `shift` is how many grades lower than stated this laboratory's grades are read at the most.
    """

    span: Span
    looked: bool | None
    note: str
    shift: int


def _told(case: Case, scale: Scale, read: str, stated: str | None, looked: bool | None) -> _Told:
    note = sentences.seen(case.observations) if looked is not None else ""
    offset = case.offset(scale)
    if offset is not None and stated is not None:
        note = f", stated as {stated} by {case.report.issuer}{note}"
    return _Told(scale.span(read), looked, note, offset.worst if offset else 0)


def _clarity(floor: CompiledFloor, case: Case) -> Said:
    if case.clarity is None:
        return _unstated(floor, "stone.clarity", "clarity")
    if case.points is None:
        return _unstated(floor, "stone.carat", "carat weight")
    told = _told(case, floor.scale, case.clarity, case.stone.clarity, case.observations.eye_clean)
    return _graded(floor, floor.band(case.points), told)


def _color(white: CompiledFloor, warm: CompiledFloor, case: Case) -> Said:
    floor = warm if case.tone == "warm" else white
    if case.color is None:
        return _unstated(floor, "stone.color", "color")
    if case.points is None:
        return _unstated(floor, "stone.carat", "carat weight")
    tint = case.observations.tint
    told = _told(case, COLOR, case.color, case.stone.color, None if tint is None else tint == "none")
    said = _graded(floor, floor.band(case.points), told)
    if case.tone is not None:
        return said
    # No metal is never read as a particular one: both heads are asked, and only a difference matters.
    other = _graded(warm, warm.band(case.points), told)
    if said[1]["verdict"] == other[1]["verdict"]:
        return said
    better = min(said, other, key=lambda s: SEVERITY[s[1]["verdict"]])
    change: list[Changed]
    if better[1]["verdict"] == "pass":
        tone, metal = ("yellow or rose", "yellow_gold") if better is other else ("white", "platinum")
        remedy = f"A {tone} head, where it passes."
        change = [{"field": "context.metal", "value": metal}]
    else:
        grade = COLOR.grades[max(white.band(case.points).on_paper - told.shift, 0)]
        remedy = f"{grade}, which is good enough in any head."
        change = [{"field": "stone.color", "value": grade}]
        if told.looked is False:
            change.append({"field": "stone.observations.tint", "value": "none"})
    return say(
        floor.stamp,
        "ask",
        COLOR.write(told.span) + told.note,
        sentences.both_limits(COLOR, white.band(case.points), warm.band(case.points)),
        f"It depends on the metal of the head. {floor.stamp.because}",
        remedy,
        change,
        tuple(dict.fromkeys(("context.metal", *better[2]))),
    )


def _graded(floor: CompiledFloor, band: Band, told: _Told) -> Said:
    """Both ends of the grade against the two limits of a band."""
    span, looked = told.span, told.looked
    scale = floor.scale
    best, worst = _end(band, span.best, looked), _end(band, span.worst, looked)
    verdict = best if best == worst else "ask"
    observed, threshold = scale.write(span) + told.note, sentences.limits(scale, band)
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
    remedy, change = _turn(scale, band, told, verdict)
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


# Windows and looks


def _window(window: CompiledWindow, case: Case) -> Iterator[Said]:
    value = window.measure.read(case)
    stamp, threshold = window.stamp, window.threshold
    if value is None:
        if window.unstated == "note":
            reason = f"{window.measure.title} is not stated. {stamp.because}"
            yield say(stamp, "note", None, threshold, reason)
        return
    observed = sentences.measured(window.measure, value)
    if value in window.comfort:
        yield say(stamp, "pass", observed, threshold, stamp.because)
        return
    low = value < window.comfort.from_
    side = window.low if low else window.high
    if value in window.tolerated:
        yield say(stamp, "note", observed, threshold, side.says)
        return
    if side.settled(case):
        yield say(stamp, "note", observed, threshold, f"{side.says} Whoever looked did not find it so.")
        return
    edge = window.tolerated.from_ if low else window.tolerated.to
    bound = "at least" if low else "at most"
    remedy = f"{window.measure.title} {bound} {sentences.measured(window.measure, edge)}."
    change: list[Changed] = [
        {"field": field, "value": to} for field, to in window.measure.reach(case, edge).items()
    ]
    yield say(stamp, "ask", observed, threshold, side.says, remedy, change, (side.ask,))


def _look(look: CompiledLook, case: Case) -> Said:
    ratio = case.ratio
    if ratio is None:
        reason = f"Length and width are not stated. {look.stamp.because}"
        return say(look.stamp, "note", None, None, reason)
    band = look.band(ratio)
    threshold = f"{band.look.replace('_', ' ')}: {band.write()}"
    return say(look.stamp, "note", str(ratio), threshold, sentences.look_reason(case, ratio, band))


# What stands around the findings


def worst_verdict(said: Sequence[Said]) -> str:
    """pass, ask or fail: of findings in their order, the first is the worst."""
    worst = said[0][1]["verdict"] if said else "pass"
    return "pass" if SEVERITY[worst] == 0 else worst


def _same(about: str) -> str:
    return about


def questions(
    rules: CompiledRules, said: Sequence[Said], member: Callable[[str], str] = _same
) -> list[Question]:
    """Each thing to learn once, the one that settles most rules first; `member` names it in the request."""
    settles: dict[str, list[str]] = {}
    for _, finding, asks in said:
        for about in asks:
            settles.setdefault(about, []).append(finding["rule"])
    ranked = sorted(settles.items(), key=lambda item: -len(item[1]))
    return [{"about": member(about), "ask": rules.questions[about], "settles": ids} for about, ids in ranked]


def _measures(case: Case, look: CompiledLook | None) -> Measures:
    measures = take_measures(case.stone)
    if look is not None and case.ratio is not None:
        measures["look"] = look.band(case.ratio).look
    return measures
