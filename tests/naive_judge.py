"""A second judge of single stones, written to be slow and plain, against which the real one is held.

It reads a version's YAML as plain text and numbers, resolves `extends` by itself, and walks all rules anew
for every stone and every setting that is not stated: nothing is compiled, tabled or kept. It was written from
`rulesets/README.md`, the decisions in `DEVELOPERS.md` and the meaning of the fields, and imports nothing of
`gradefloor.rules` or `gradefloor.judge`.

That both agree shows that the strict reader, the merging of an extending name, the compiler's choice of
rules, the tables made at load, the walk through all combinations of a guard and the judge's comparisons come
to what the rule file says. It shows nothing of what both share, which `naive_facts` names, and nothing of the
prose, the remedies and the questions.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import product
from pathlib import Path
from typing import Any, Final

import yaml

from naive_facts import (
    NOT_STATED,
    SCALES,
    SETTING_VALUES,
    Asked,
    among,
    fact,
    grade,
    measure,
    points,
    tone,
)

Plain = dict[str, Any]

# Kinds of rule that judge a single stone.
KINDS: Final = ("floors", "windows", "looks", "guards")
_KEYS: Final = {"sources": "id", "questions": "about", "issuers": "name", **dict.fromkeys(KINDS, "id")}
# Weight of what is said: a remark never changes the verdict.
WEIGHT: Final = {"silent": 0, "pass": 0, "note": 0, "ask": 1, "fail": 2}
_LOUDNESS: Final = ("pass", "note", "ask", "fail")
_BARE: Final = re.compile(r"-?[0-9]+(\.[0-9]+)?|true|false")


class Bare(str):
    """A number, `true` or `false` of a rule file, as it is written there; in quotes it would be a word."""

    __slots__ = ()


class _Loader(yaml.CBaseLoader):
    """Everything is text; a number without quotes is marked, so that it can be written again."""


def _scalar(_loader: _Loader, node: yaml.ScalarNode) -> str:
    bare = not node.style and _BARE.fullmatch(node.value)
    return Bare(node.value) if bare else str(node.value)


_Loader.add_constructor("tag:yaml.org,2002:str", _scalar)


def read_plain(root: Path, name: str, version: str) -> Plain:
    """A version as it stands in its file."""
    text = (root / name / version / "ruleset.yaml").read_text(encoding="utf-8")
    plain: Plain = yaml.load(text, Loader=_Loader)  # noqa: S506 - it only makes text, lists and mappings
    return plain


def read_whole(root: Path, name: str, version: str) -> Plain:
    """A version with all that it takes over from the version it extends."""
    own = read_plain(root, name, version)
    return overlaid(read_whole(root, *own["extends"].split("@")), own) if "extends" in own else own


def overlaid(base: Plain, own: Plain) -> Plain:
    """Parts of the base, those of the same id replaced, and those that are new."""
    whole = {**base, **own}
    for kind, key in _KEYS.items():
        replaced = {part[key] for part in own.get(kind, [])}
        kept = [part for part in base.get(kind, []) if part[key] not in replaced]
        whole[kind] = [*kept, *own.get(kind, [])]
    return whole


@dataclass(frozen=True, order=True)
class Heard:
    """What one rule says of one stone.

    `shown` is the grade, ratio or other number that it looked at, and `limits` what it was held to, in the
    order in which an answer tells them; empty for guards, which look at words.
    """

    rule: str
    verdict: str
    shown: str = ""
    limits: tuple[str, ...] = ()


@dataclass(frozen=True)
class Judged:
    """What the rules say of one stone. `heard` is in the order of the rules' ids."""

    verdict: str
    heard: tuple[Heard, ...]
    look: str | None


def judge_naively(rules: Plain, stone: Plain, context: Plain | None, as_of: date) -> Judged:
    """One stone as the wire takes it, judged by every rule there is."""
    asked = Asked(stone, context or {}, as_of, rules.get("issuers", []))
    heard = [*_guards(rules, asked), *_windows(rules, asked), *_floors(rules, asked)]
    looks = list(_looks(rules, asked))
    worst = max((WEIGHT[one.verdict] for one in heard), default=0)
    named = next((label for one in looks for label in one.limits), None)
    return Judged(("pass", "ask", "fail")[worst], tuple(sorted([*heard, *looks])), named)


def write(number: Fraction | None) -> str:
    """A decimal number without needless zeros."""
    if number is None:
        return ""
    text = f"{float(number):.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _in(value: Fraction, limits: Plain) -> bool:
    """Half-open: `from` belongs to it, `below` does not."""
    above = "from" not in limits or value >= Fraction(limits["from"])
    return above and ("below" not in limits or value < Fraction(limits["below"]))


def _within(value: Fraction, limits: Plain) -> bool:
    """Closed: both ends belong to it."""
    return Fraction(limits["from"]) <= value <= Fraction(limits["to"])


# Which rule speaks


def _covers(rule: Plain, shape: str, **places: str) -> bool:
    """Whether a rule speaks of this shape, and of these positions, origins, tones or materials."""
    return among(shape, rule["shapes"]) and all(
        axis not in rule or value in rule[axis] for axis, value in places.items()
    )


def most_specific(rules: Iterable[Plain], shape: str, axes: tuple[str, ...]) -> Plain | None:
    """The rule that names more; at a tie, a shape beats a group and a group beats `all`."""

    def names(rule: Plain) -> tuple[int, int]:
        everything = rule["shapes"] == ["all"]
        named = sum(axis in rule for axis in axes) + (not everything)
        return named, 0 if everything else 2 if shape in rule["shapes"] else 1

    return max(rules, key=names, default=None)


def _material(asked: Asked) -> str:
    return str(asked.stone.get("material") or "diamond")


def _position(asked: Asked) -> str:
    return str(asked.context.get("position") or "center")


# Floors


def _floors(rules: Plain, asked: Asked) -> Iterator[Heard]:
    """Floors are for diamonds."""
    if _material(asked) == "diamond":
        yield _against(_floor(rules, asked, "clarity", None), asked, "clarity")
        yield _color(rules, asked)


def _floor(rules: Plain, asked: Asked, scale: str, head: str | None) -> Plain:
    places = {"positions": _position(asked), "origins": asked.stone.get("origin") or "natural"}
    if head is not None:
        places["tones"] = head
    shape = asked.stone["shape"]
    covering = [f for f in rules["floors"] if f["grade"] == scale and _covers(f, shape, **places)]
    floor = most_specific(covering, shape, ("positions", "origins", "tones"))
    assert floor is not None, f"no {scale} floor for {shape} {places}"
    return floor


def _color(rules: Plain, asked: Asked) -> Heard:
    """A head whose metal is not stated is never read as a particular one: where it matters, the answer asks.

    The floor of white heads then speaks for both.
    """
    stated = tone(asked)
    if stated is not None:
        return _against(_floor(rules, asked, "color", stated), asked, "color")
    white, warm = (
        _against(_floor(rules, asked, "color", head), asked, "color") for head in ("white", "warm")
    )
    if white.verdict == warm.verdict:
        return white
    return Heard(white.rule, "ask", white.shown, (*white.limits, *warm.limits))


def _against(floor: Plain, asked: Asked, scale: str) -> Heard:
    """Both ends of a grade against the band of its weight; nothing can be said without grade and weight."""
    span, carat = grade(asked, scale), asked.stone.get("carat")
    if span is None or carat is None:
        return Heard(floor["id"], "ask")
    weight = Fraction(points(carat), 100)
    band = next(band for band in floor["bands"] if _in(weight, band["carat"]))
    answers = {_end(band, scale, rank, _looked(asked, scale)) for rank in span}
    verdict = answers.pop() if len(answers) == 1 else "ask"
    shown = "-".join(dict.fromkeys(SCALES[scale][rank] for rank in span))
    return Heard(floor["id"], verdict, shown, (band["on_paper"],))


def _looked(asked: Asked, scale: str) -> bool | None:
    """Whether somebody looked and found it good; None if nobody has said."""
    if scale == "clarity":
        seen: bool | None = asked.member("stone", "observations", "eye_clean")
        return seen
    tint = asked.member("stone", "observations", "tint")
    return None if tint is None else tint == "none"


def _end(band: Plain, scale: str, rank: int, looked: bool | None) -> str:
    on_paper = SCALES[scale].index(band["on_paper"])
    if_seen = SCALES[scale].index(band.get("if_seen", band["on_paper"]))
    if rank > if_seen:
        return "fail"
    if looked is None:
        return "pass" if rank <= on_paper else "ask"
    if looked:
        return "pass"
    # Whoever looked did not find it good: the paper says otherwise, or nothing does.
    return "ask" if rank <= on_paper else "fail"


# Windows and looks


def _windows(rules: Plain, asked: Asked) -> Iterator[Heard]:
    """For each measure the most specific window; one that names no material is for diamonds."""
    shape, material = asked.stone["shape"], _material(asked)
    for name in sorted({window["measure"] for window in rules.get("windows", [])}):
        covering = [
            window
            for window in rules["windows"]
            if window["measure"] == name
            and among(shape, window["shapes"])
            and material in window.get("materials", ["diamond"])
        ]
        window = most_specific(covering, shape, ("materials",))
        if window is not None:
            yield from _window(window, asked)


def _window(window: Plain, asked: Asked) -> Iterator[Heard]:
    value = measure(asked, window["measure"])
    ends = (window[part][end] for part in ("comfort", "tolerated") for end in ("from", "to"))
    limits = tuple(write(Fraction(end)) for end in ends)
    if value is None:
        if window.get("unstated", "note") == "note":
            yield Heard(window["id"], "note", "", limits)
        return
    side = window["low"] if value < Fraction(window["comfort"]["from"]) else window["high"]
    settled = any(fact(asked, name) in values for name, values in side.get("settled_by", {}).items())
    if _within(value, window["comfort"]):
        verdict = "pass"
    elif _within(value, window["tolerated"]) or settled:
        verdict = "note"
    else:
        verdict = "ask"
    yield Heard(window["id"], verdict, write(value), limits)


def _looks(rules: Plain, asked: Asked) -> Iterator[Heard]:
    """The label of the ratio's band, a matter of taste; side shapes may have none."""
    shape, ratio = asked.stone["shape"], measure(asked, "ratio")
    look = most_specific((look for look in rules.get("looks", []) if _covers(look, shape)), shape, ())
    if look is None:
        return
    if ratio is None:
        yield Heard(look["id"], "note")
        return
    band = next(band for band in look["bands"] if _in(ratio, band))
    yield Heard(look["id"], "note", write(ratio), (band["look"],))


# Guards


def _guards(rules: Plain, asked: Asked) -> Iterator[Heard]:
    """Every guard that speaks of the stone, each by itself."""
    ratio = measure(asked, "ratio")
    for guard in rules.get("guards", []):
        if not _covers(guard, asked.stone["shape"], materials=_material(asked), positions=_position(asked)):
            continue
        if "ratio" in guard and (ratio is None or not _in(ratio, guard["ratio"])):
            continue
        verdict = _row_by_row(guard, asked)
        if verdict != "silent":
            yield Heard(guard["id"], verdict)


def _row_by_row(guard: Plain, asked: Asked) -> str:
    """What the table says; settings that are not stated take all their values in turn."""
    names = {name for row in guard["rows"] for name in row["when"]}
    facts = {name: fact(asked, name) for name in sorted(names)}
    tried = [name for name, value in facts.items() if value == NOT_STATED and _is_open(guard, name)]
    answers = {
        _row({**facts, **dict(zip(tried, values, strict=True))}, guard)
        for values in product(*(SETTING_VALUES[name] for name in tried))
    }
    if len({WEIGHT[answer] for answer in answers}) > 1:
        return "ask"
    # They differ in remarks at most: what does not hold in every setting is not said of all of them.
    return "silent" if "silent" in answers else max(answers, key=_LOUDNESS.index)


def _is_open(guard: Plain, name: str) -> bool:
    """Whether it is a setting, and no row says what it means that nobody has stated it."""
    return name in SETTING_VALUES and all(
        NOT_STATED not in row["when"].get(name, ()) for row in guard["rows"]
    )


def _row(facts: dict[str, str], guard: Plain) -> str:
    """The row that names more facts wins."""
    matching = [
        row for row in guard["rows"] if all(facts[name] in values for name, values in row["when"].items())
    ]
    return str(max(matching, key=lambda row: len(row["when"]))["verdict"])
