"""`/bench`: a page to judge one stone at the counter, to change it, and to lay up to four beside each other.

The form is made from the models of the wire, so the page types no word of the trade a second time. Everything
the page says of a stone it asks for under `/v1/`, as any other client does.
"""

import types
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin

import orjson
from fastapi import FastAPI
from pydantic import BaseModel
from starlette.requests import Request
from starlette.responses import Response

from gradefloor.judge.findings import NOTICE, Measures
from gradefloor.rules.catalog import Catalog, Release, UnknownVersionError
from gradefloor.trade.grades import CLARITY, COLOR
from gradefloor.trade.rings import TABLES, SizeSystem
from gradefloor.trade.settings import Orientation
from gradefloor.trade.shapes import SHAPES, ShapeName
from gradefloor.trade.stones import Context, Stone
from gradefloor.web.bench_words import FREE_ROW
from gradefloor.web.pages import render, respond
from gradefloor.web.service import DEFAULT_RULESETS, Service

MOST_KEPT: Final = 4
# Callers who may see different rule sets have different pages; more than these are made anew.
_MOST_PAGES: Final = 16

# What people see first. The stone is invented, and the page says so.
EXAMPLE: Final = {
    "stone.shape": "emerald",
    "stone.carat": "1.52",
    "stone.color": "G",
    "stone.clarity": "VS2",
    "stone.length_mm": "8.00",
    "stone.width_mm": "5.80",
    "stone.depth_mm": "3.77",
    "stone.material": "diamond",
    "stone.origin": "natural",
    "context.jewelry": "ring",
    "context.metal": "platinum",
    "finger.size": "6",
    "finger.system": "us",
}
# What is asked for every day stands first; all else is one tap away.
_COMMON: Final = (
    "stone.shape", "stone.carat", "stone.origin", "stone.color", "stone.clarity",
    "stone.length_mm", "stone.width_mm", "stone.depth_mm", "stone.table_pct",
    "stone.observations.eye_clean", "context.jewelry", "context.metal", "context.protection", "context.wear",
)  # fmt: skip
# The bench is for rings: this stays where a stone is taken out, until a person chooses otherwise.
_STANDING: Final = "context.jewelry"
_GROUPS: Final = {
    "stone.observations.": "What somebody saw",
    "stone.report.": "Report",
    "stone.": "More about the stone",
    "context.": "More about the jewel",
}
_LABELS: Final = {
    "stone.id": "Your reference",
    "stone.color": "Color",
    "stone.observations.eye_clean": "Seen eye-clean",
    "stone.observations.bow_tie": "Bow-tie",
    "stone.observations.seen_on": "Seen on (date)",
    "stone.observations.distance_mm": "Viewing distance, mm",
    "stone.report.issuer": "Report issuer",
    "stone.report.number": "Report number",
    "stone.report.date": "Report date",
    "stone.report.comments": "Report comments, one a line",
    "stone.report.assessment": "Quality class on report",
    "stone.girdle_min": "Girdle at its thinnest",
    "stone.girdle_max": "Girdle at its thickest",
    "stone.observations.inclusion.type": "Main inclusion",
    "stone.observations.inclusion.place": "Place of the inclusion",
    "stone.observations.inclusion.relief": "Relief of the inclusion",
    "stone.observations.inclusion.size_mm": "Size of the inclusion, mm",
    "context.metal": "Metal of the head",
}
_UNITS: Final = {"mm": "mm", "pct": "%", "mm2": "mm²"}
_LETTERS: Final = {"hpht", "yag", "ggg"}
_KEY_MEASURES: Final = ("carat", "ratio", "look", "face_up_mm2", "faces_like_carat", "depth_pct")
_MEASURE_LABELS: Final = {
    "carat": "Carat, as a laboratory rounds",
    "ratio": "Length to width",
    "look": "Look of that ratio",
    "face_up_mm2": "Shows from above, mm²",
    "faces_like_carat": "Faces like, ct",
    "estimated_carat": "Weight by formula, ct",
    "estimate_gap_pct": "Formula against stated, %",
    "visible_mm": "One arc minute spans, mm",
    "fill_coefficient": "Fill, ct/mm³",
    "depth_pct": "Depth, %",
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One field of the form.

    `path` is its dotted place in a request (`finger.` is for drawings alone). `kind` says how it is entered:
    choice, grade, flag, number, date, text, lines or several. `options` are words to send and words to show.
    """

    path: str
    label: str
    kind: str
    hint: str = ""
    options: tuple[tuple[str, str], ...] = ()
    start: str = ""

    @property
    def standing(self) -> bool:
        return self.path == _STANDING

    @property
    def id(self) -> str:
        return self.path.replace(".", "-")


def routes(app: FastAPI, service: Service) -> None:
    """The page is made once for each list of rule sets to choose from."""
    made: dict[Entry, str] = {}

    async def get_bench(request: Request) -> Response:
        rules = _rulesets(service.catalog, service.clock())
        if rules not in made:
            if len(made) >= _MOST_PAGES:
                made.clear()
            made[rules] = _page(rules)
        return respond(request, made[rules])

    app.add_route("/bench", get_bench, methods=["GET"])


def _page(rules: Entry) -> str:
    entries = {entry.path: entry for entry in _entries()}
    common = [entries.pop(path) for path in _COMMON]
    groups: dict[str, list[Entry]] = {title: [] for title in _GROUPS.values()}
    for path, entry in entries.items():
        groups[next(title for prefix, title in _GROUPS.items() if path.startswith(prefix))].append(entry)
    return render(
        "bench.html",
        common=common,
        groups=groups,
        rules=[rules, Entry("as_of", "Judged for the day", "date", "Today (UTC) if empty.")],
        finger=_finger(),
        measures=_measures(),
        most_kept=MOST_KEPT,
        notice=NOTICE,
        free_row=orjson.dumps(FREE_ROW).decode(),
    )


def _entries() -> Iterator[Entry]:
    """Every field of a stone and of its context, in the order of the wire."""
    yield from _of_model("stone", Stone)
    yield from _of_model("context", Context)


def _of_model(prefix: str, model: type[BaseModel]) -> Iterator[Entry]:
    for name, field in model.model_fields.items():
        path, kind = f"{prefix}.{name}", _core(field.annotation)
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            yield from _of_model(path, kind)
        else:
            yield _entry(path, kind, field.description or "")


def _entry(path: str, core: Any, hint: str) -> Entry:
    label, start = _label(path), EXAMPLE.get(path, "")
    scale = {"stone.color": COLOR, "stone.clarity": CLARITY}.get(path)
    if scale is not None:
        return Entry(path, label, "grade", hint, tuple((grade, grade) for grade in scale.grades), start)
    if get_origin(core) is Literal:
        return Entry(path, label, "choice", hint, _options(core), start)
    if get_origin(core) is list:
        words = _core(get_args(core)[0])
        kind = "several" if get_origin(words) is Literal else "lines"
        return Entry(path, label, kind, hint, _options(words) if kind == "several" else (), start)
    return Entry(
        path, label, {bool: "flag", float: "number", date: "date", str: "text"}[core], hint, (), start
    )


def _core(annotation: Any) -> Any:
    """The type itself, without what may be absent and without bounds."""
    origin = get_origin(annotation)
    if origin is Annotated:
        return _core(get_args(annotation)[0])
    if origin in {Union, types.UnionType}:
        return _core(next(kind for kind in get_args(annotation) if kind is not type(None)))
    return annotation


def _options(words: Any) -> tuple[tuple[str, str], ...]:
    if words is ShapeName:
        return tuple((shape.name, _capital(shape.title)) for shape in SHAPES.values())
    return tuple((word, _words(word)) for word in get_args(words))


def _label(path: str) -> str:
    """`stone.length_mm` is "Length, mm"."""
    name, _, unit = path.rpartition(".")[2].rpartition("_")
    if path in _LABELS:
        return _LABELS[path]
    return f"{_words(name)}, {_UNITS[unit]}" if unit in _UNITS else _words(path.rpartition(".")[2])


def _words(word: str) -> str:
    return word.upper() if word in _LETTERS else _capital(word.replace("_", " "))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _rulesets(catalog: Catalog, now: datetime) -> Entry:
    """Rule sets about stones: the newest in force by name, and every exact version."""
    options = []
    for name, releases in catalog.releases.items():
        if releases[-1].rules.subject != "stones":
            continue
        if _in_force(catalog, name, now):
            options.append((name, f"{name}, newest in force"))
        options += [
            (f"{name}@{release.version}", f"{name} {release.version}{_state(release, now)}")
            for release in reversed(releases)
        ]
    return Entry("ruleset", "Judged by", "choice", "", tuple(options), DEFAULT_RULESETS["stones"])


def _in_force(catalog: Catalog, name: str, now: datetime) -> bool:
    try:
        catalog.resolve(name, now.astimezone(UTC).date(), now)
    except UnknownVersionError:
        return False
    return True


def _state(release: Release, now: datetime) -> str:
    """What keeps a version from being in force: that it is a draft, or its first day."""
    if release.draft:
        return " (draft)"
    first = release.effective
    if release.activate_at is not None:
        first = max(first, release.activate_at.astimezone(UTC).date())
    return f" (from {first.isoformat()})" if first > now.astimezone(UTC).date() else ""


def _finger() -> list[Entry]:
    """What only the drawings need."""
    size, system = EXAMPLE["finger.size"], EXAMPLE["finger.system"]
    return [
        Entry("finger.size", "Finger size", "text", "", (), size),
        Entry("finger.system", "Size system", "choice", "", _systems(), system),
        Entry("finger.orientation", "Stone lies", "choice", "", _options(Orientation)),
    ]


def _systems() -> tuple[tuple[str, str], ...]:
    """Systems by the country of their title; where two share it, with what tells them apart."""
    parts = {system: TABLES[system].title.split(", ") for system in get_args(SizeSystem)}
    shared = Counter(first for first, *_ in parts.values())
    return tuple(
        (system, first if shared[first] == 1 else f"{first} ({apart.partition(' of ')[0]})")
        for system, (first, apart, *_) in parts.items()
    )


def _measures() -> list[dict[str, Any]]:
    """Measures in the order in which a jeweller reads them, then all others."""
    names = [*_KEY_MEASURES, *(name for name in Measures.__annotations__ if name not in _KEY_MEASURES)]
    return [
        {"name": name, "label": _MEASURE_LABELS.get(name, _label(name)), "key": name in _KEY_MEASURES}
        for name in names
    ]
