"""Rule sets changed by chance, written as rule files: grades, limits, rows, which rule is narrower.

A change is made on the plain data of a committed version. The compiler refuses many, as it should.
"""

import random
from collections.abc import Callable
from copy import deepcopy
from fractions import Fraction
from json import dumps
from pathlib import Path
from typing import Any, Final

from naive_facts import ORDERED_VALUES, SCALES, SETTING_VALUES, expand
from naive_judge import KINDS, Bare, Plain, write

Change = Callable[[Plain, random.Random], None]

BASES: Final = (("house", "1.0.0"), ("house", "1.3.0"), ("strict", "1.3.0"))
_WHY: Final = "Changed by chance, so that two judges can be held against each other."
_MADE: Final = {
    "title": "Made up by chance, to see what becomes of it",
    "because": _WHY,
    "disagreement": "high",
}
_VERDICTS: Final = ("silent", "pass", "note", "ask", "fail")


def dump(value: Any) -> str:
    """Plain data as YAML: words in quotes, numbers without."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{dumps(key)}: {dump(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(dump, value)) + "]"
    return str(value) if isinstance(value, Bare) else dumps(value, ensure_ascii=False)


def write_version(root: Path, rules: Plain) -> None:
    """A version and one case, so that it can be loaded as a draft."""
    folder = root / rules["name"] / rules["version"]
    folder.mkdir(parents=True)
    lines: list[str] = []
    for key, value in rules.items():
        if isinstance(value, list):
            lines += [f"{key}:", *(f"  - {dump(part)}" for part in value)] if value else []
        else:
            lines.append(f"{key}: {dump(value)}")
    (folder / "ruleset.yaml").write_text("\n".join([*lines, "...", ""]), encoding="utf-8")
    (folder / "cases.yaml").write_text(
        "cases:\n  - case: An invented stone\n    stone: {shape: round}\n...\n"
    )


def alone(base: Plain, changed: Plain, name: str) -> Plain:
    """The changed rules as a version that stands by itself; only what judges a single stone."""
    kept = {key: value for key, value in changed.items() if key not in KINDS and isinstance(value, str)}
    parts = {key: deepcopy(changed[key]) for key in ("sources", "questions", "issuers", *KINDS)}
    for kind in KINDS:
        for rule in parts[kind]:
            rule.pop("instead_because", None)
    kept.pop("extends", None)
    return {**kept, "name": name, "version": "1.0.0", "about": base["about"], **parts}


def over(base: Plain, changed: Plain, name: str) -> Plain:
    """The changed rules as a version that extends the base and writes down only what differs."""
    own: Plain = {
        "name": name,
        "version": "1.0.0",
        "effective": base["effective"],
        "title": "Rules changed by chance",
        "about": _WHY,
        "extends": f"{base['name']}@{base['version']}",
    }
    before = {note["name"]: note for note in base["issuers"]}
    own["issuers"] = [note for note in changed["issuers"] if note != before.get(note["name"])]
    for kind in KINDS:
        inherited = {rule["id"]: rule for rule in base[kind]}
        own[kind] = []
        for rule in deepcopy(changed[kind]):
            if rule == inherited.get(rule["id"]):
                continue
            rule.pop("instead_because", None)
            if rule["id"] in inherited:
                rule["instead_because"] = _WHY
            own[kind].append(rule)
    return own


# Changes


def _moved(number: str, by: Fraction) -> Bare:
    return Bare(write(Fraction(number) + by))


def grade_of_a_floor(rules: Plain, at: random.Random) -> None:
    floor = at.choice(rules["floors"])
    grades, band = SCALES[floor["grade"]], at.choice(floor["bands"])
    place = grades.index(band["on_paper"]) + at.choice((-2, -1, 1, 2))
    band["on_paper"] = grades[min(max(place, 0), len(grades) - 1)]
    if "if_seen" in band and grades.index(band["if_seen"]) < grades.index(band["on_paper"]):
        del band["if_seen"]


def what_a_look_allows(rules: Plain, at: random.Random) -> None:
    floor = at.choice(rules["floors"])
    grades, band = SCALES[floor["grade"]], at.choice(floor["bands"])
    if "if_seen" in band and at.random() < 0.4:
        del band["if_seen"]
    else:
        place = grades.index(band["on_paper"]) + at.choice((0, 1, 2, 3))
        band["if_seen"] = grades[min(place, len(grades) - 1)]


def limit_of_a_band(rules: Plain, at: random.Random) -> None:
    bands = at.choice([floor for floor in rules["floors"] if len(floor["bands"]) > 1])["bands"]
    place = at.randrange(len(bands) - 1)
    edge = _moved(bands[place]["carat"]["below"], Fraction(at.choice((-10, -1, 1, 10, 37)), 100))
    bands[place]["carat"]["below"] = bands[place + 1]["carat"]["from"] = edge


def band_in_two(rules: Plain, at: random.Random) -> None:
    floor = at.choice(rules["floors"])
    last, grades = floor["bands"][-1], SCALES[floor["grade"]]
    edge = _moved(last["carat"].get("from", "0"), Fraction(at.choice((1, 50, 101)), 100))
    higher = {"carat": {"from": edge}, "on_paper": grades[max(grades.index(last["on_paper"]) - 1, 0)]}
    last["carat"]["below"] = edge
    floor["bands"].append(higher)


def ends_of_a_window(rules: Plain, at: random.Random) -> None:
    window = at.choice(rules["windows"])
    for part in at.sample(("comfort", "tolerated"), at.randint(1, 2)):
        end = at.choice(("from", "to"))
        outwards = (part == "tolerated") == (end == "to")
        step = Fraction(at.choice((1, 10, 50, 100)), 100)
        window[part][end] = _moved(window[part][end], step if outwards else -step)


def what_settles_a_window(rules: Plain, at: random.Random) -> None:
    window = at.choice(rules["windows"])
    side = window[at.choice(("low", "high"))]
    values = ORDERED_VALUES["windowing"]
    side["settled_by"] = {"windowing": at.sample(values, at.randint(1, 2)), "protection": ["bezel"]}
    if at.random() < 0.3:
        window["unstated"] = "silent" if window.get("unstated") != "silent" else "note"


def edge_of_a_look(rules: Plain, at: random.Random) -> None:
    bands = at.choice([look for look in rules["looks"] if len(look["bands"]) > 1])["bands"]
    place = at.randrange(len(bands) - 1)
    edge = _moved(bands[place]["below"], Fraction(at.choice((-3, -1, 1, 3)), 100))
    bands[place]["below"] = bands[place + 1]["from"] = edge


def verdict_of_a_row(rules: Plain, at: random.Random) -> None:
    guard = at.choice(rules["guards"])
    row = at.choice(guard["rows"])
    _say(row, at.choice(_VERDICTS))


def _say(row: Plain, verdict: str) -> None:
    row["verdict"] = verdict
    if verdict in {"ask", "fail"}:
        row.setdefault("remedy", "Another stone, or another setting for it.")
    else:
        row.pop("remedy", None)
    if verdict == "ask":
        row.setdefault("ask", "setter")
    else:
        row.pop("ask", None)


def facts_of_a_row(rules: Plain, at: random.Random) -> None:
    guard = at.choice([guard for guard in rules["guards"] if len(guard["rows"]) > 2])
    row = at.choice(guard["rows"])
    if row["when"] and at.random() < 0.5:
        name = at.choice(sorted(row["when"]))
        if len(row["when"][name]) > 1 and at.random() < 0.7:
            row["when"][name].pop()
        else:
            del row["when"][name]
    else:
        name = at.choice(sorted(SETTING_VALUES))
        row["when"][name] = at.sample(SETTING_VALUES[name], 1)


def reach_of_a_guard(rules: Plain, at: random.Random) -> None:
    guard = at.choice(rules["guards"])
    kind = at.choice(("positions", "materials", "ratio", "shapes"))
    if kind == "ratio":
        guard["ratio"] = {"from": Bare(at.choice(("1.00", "1.06", "1.25", "1.5"))), "below": Bare("2.06")}
    elif kind == "shapes":
        guard["shapes"] = at.choice((["all"], ["fancies"], ["steps", "oval"], ["cushions", "round"]))
    elif kind in guard and at.random() < 0.5:
        del guard[kind]
    else:
        guard[kind] = (
            at.choice((["center"], ["side", "melee"])) if kind == "positions" else ["diamond", "yag"]
        )


def new_guard(rules: Plain, at: random.Random) -> None:
    """A table over one to three facts, each row within the one before, with verdicts by chance."""
    settings = at.sample(sorted(SETTING_VALUES), at.choice((0, 1, 1, 2)))
    others = at.sample(sorted(ORDERED_VALUES), at.choice((1, 1, 2)))
    names = [*settings, *others][:3]
    at.shuffle(names)
    within: dict[str, list[str]] = {}
    rows = [(within, _any_verdict(at))]
    for name in names:
        values = SETTING_VALUES.get(name) or ORDERED_VALUES[name]
        some = at.sample(values, at.randint(1, len(values) - 1))
        within = {**within, name: [*some, "not_stated"] if at.random() < 0.2 else some}
        rows.append((within, _any_verdict(at)))
    rules["guards"].append(added_guard(rules, rows, f"chance_{at.randrange(10**9)}"))


def _any_verdict(at: random.Random) -> str:
    return at.choice(("pass", "note", *_VERDICTS))


def added_guard(rules: Plain, rows: list[tuple[dict[str, list[str]], str]], name: str = "up") -> Plain:
    """A guard of rows: what each names, and what it says then."""
    written: list[Plain] = [{"when": deepcopy(when)} for when, _ in rows]
    for row, (_, verdict) in zip(written, rows, strict=True):
        _say(row, verdict)
    return {
        "id": f"made.{name}",
        "topic": "durability",
        **_MADE,
        "source": rules["sources"][0]["id"],
        "shapes": ["all"],
        "remedied_by": sorted({fact for when, _ in rows for fact in when}),
        "rows": written,
    }


def narrower_floor(rules: Plain, at: random.Random) -> None:
    """Another floor for one shape or one group of a floor's, naming more or fewer places than it does."""
    floor = deepcopy(at.choice(rules["floors"]))
    floor["id"] += f".narrow_{at.randrange(10**9)}"
    floor["shapes"] = at.choice(([at.choice(sorted(expand(floor["shapes"])))], floor["shapes"], ["all"]))
    for axis, values in (
        ("positions", ("center", "side", "melee")),
        ("origins", ("natural", "laboratory_grown")),
        ("tones", ("white", "warm")),
    ):
        if at.random() < 0.4 and not (axis == "tones" and floor["grade"] == "clarity"):
            floor[axis] = at.sample(values, at.randint(1, len(values)))
        elif at.random() < 0.15:
            floor.pop(axis, None)
    grades = SCALES[floor["grade"]]
    for band in floor["bands"]:
        band.pop("if_seen", None)
        band["on_paper"] = grades[max(grades.index(band["on_paper"]) + at.choice((-2, -1, 1)), 0)]
    rules["floors"].append(floor)


def places_of_a_floor(rules: Plain, at: random.Random) -> None:
    floor = at.choice(rules["floors"])
    axis = at.choice(("positions", "origins", "tones"))
    if axis in floor:
        del floor[axis]
    elif axis == "origins":
        floor[axis] = ["natural", "laboratory_grown"]  # names more, and still leaves no gap
    elif axis == "positions":
        floor[axis] = ["center", "side", "melee"]
    elif floor["grade"] == "color":
        floor[axis] = ["white", "warm"]


def narrower_window(rules: Plain, at: random.Random) -> None:
    window = deepcopy(at.choice(rules["windows"]))
    window["id"] += f".narrow_{at.randrange(10**9)}"
    if at.random() < 0.6:
        window["shapes"] = [at.choice(sorted(expand(window["shapes"])))]
    if at.random() < 0.6:
        window["materials"] = at.choice((["diamond"], ["diamond", "moissanite"], ["yag"]))
    window["comfort"]["to"] = window["comfort"]["from"]
    rules["windows"].append(window)


def narrower_look(rules: Plain, at: random.Random) -> None:
    look = deepcopy(at.choice(rules["looks"]))
    look["id"] += f".narrow_{at.randrange(10**9)}"
    look["shapes"] = [at.choice(sorted(expand(at.choice((look["shapes"], ["cushions"], ["side_shapes"])))))]
    look["bands"] = [{"look": "small", "below": Bare("1.25")}, {"look": "large", "from": Bare("1.25")}]
    rules["looks"].append(look)


def laboratory(rules: Plain, at: random.Random) -> None:
    note = rules["issuers"][0]
    scale = at.choice(("color_offset", "clarity_offset"))
    least = at.randint(0, 2)
    note[scale] = {"at_least": Bare(str(least)), "at_most": Bare(str(least + at.randint(0, 2)))}
    if at.random() < 0.5:
        note["aliases"] = [*note.get("aliases", []), "Some Laboratory"]
        note["cut_grade_shapes"] = ["circular", "oval"]
        note["laboratory_grown_letters_until"] = "2021-01-01"


CHANGES: Final[tuple[Change, ...]] = (
    grade_of_a_floor, what_a_look_allows, limit_of_a_band, band_in_two, narrower_floor, places_of_a_floor,
    ends_of_a_window, what_settles_a_window, narrower_window, edge_of_a_look, narrower_look,
    verdict_of_a_row, facts_of_a_row, reach_of_a_guard, new_guard, laboratory,
)  # fmt: skip


def mutant(base: Plain, name: str, seed: int) -> tuple[Plain, list[str]]:
    """A version made of a whole one by some changes, and what they were; every second one extends it."""
    at = random.Random(seed)  # noqa: S311 - the same changes in every run
    changed, made = deepcopy(base), []
    for change in at.choices(CHANGES, k=at.randint(1, 4)):
        change(changed, at)
        made.append(change.__name__)
    return (over if seed % 2 else alone)(base, changed, name), made
