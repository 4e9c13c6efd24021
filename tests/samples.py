"""Invented requests, and trees of rule files, for the tests. Nothing here is a real stone."""

import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any, Final, get_args

from hypothesis import strategies as st

from gradefloor.judge.findings import Evaluation
from gradefloor.judge.stones import evaluate
from gradefloor.rules.catalog import Catalog, CatalogError, load
from gradefloor.rules.findings import Finding
from gradefloor.rules.strict_yaml import Fault
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.grades import CLARITY, COLOR, CULET, FINISH, FLUORESCENCE, GIRDLE
from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.stones import Context, Material, Metal, Stone, Treatment

ROOT: Final = Path(__file__).parent.parent
RULESETS: Final = ROOT / "rulesets"
DAY: Final = date(2026, 1, 1)
Wire = dict[str, Any]


@cache
def committed_catalog(*, drafts: bool = True) -> Catalog:
    """All committed rule sets, read once for all tests: reading takes a second, compiling them another."""
    return load(RULESETS, drafts=drafts, before=None if drafts else committed_catalog())


def committed(name: str, version: str = "1.0.0") -> CompiledRules:
    """A committed rule set."""
    release = committed_catalog().find(name, version)
    assert release is not None, f"{name} {version} is not committed"
    return release.compiled


def judge(rules: CompiledRules, stone: Wire, context: Wire | None = None, as_of: date = DAY) -> Evaluation:
    """One stone as the wire takes it, judged."""
    around = None if context is None else Context.model_validate(context)
    return evaluate(rules, Stone.model_validate(stone), around, as_of)


def verdicts(answer: Evaluation) -> dict[str, str]:
    return {finding["rule"]: finding["verdict"] for finding in answer["findings"]}


def about(answer: Evaluation, rule: str) -> Finding:
    """The finding of one rule."""
    return next(finding for finding in answer["findings"] if finding["rule"] == rule)


def put(request: Wire, path: str, value: Any) -> Wire:
    """The request with one member set; None takes it out."""
    head, _, rest = path.partition(".")
    if rest:
        return {**request, head: put(request.get(head) or {}, rest, value)}
    changed = {**request, head: value}
    return {name: member for name, member in changed.items() if member is not None}


# Requests


def grade_or_range(grades: tuple[str, ...]) -> st.SearchStrategy[str]:
    grade = st.sampled_from(grades)
    return grade | st.tuples(grade, grade).filter(lambda ends: ends[0] != ends[1]).map("-".join)


def hundredths(low: int, high: int) -> st.SearchStrategy[float]:
    return st.integers(low, high).map(lambda number: number / 100)


def _record(**members: st.SearchStrategy[Any]) -> st.SearchStrategy[Wire]:
    return st.fixed_dictionaries({}, optional=members)


COMMENTS: Final = (
    "Clarity grade is based on clouds that are not shown.",
    "Additional clouds are not shown.",
    "Internal graining is not shown.",
    "Surface-reaching feathers are present.",
    "This diamond has been clarity enhanced.",
    "Crown angles are greater than 42 degrees.",
    "A laser inscription is present.",
    "See the accompanying letter.",
)
_INCLUSIONS: Final = ("crystal", "dark_crystal", "cloud", "feather", "open_feather", "knot", "cavity", "chip")
_PLACES: Final = ("table_center", "crown", "girdle", "point")
_DATES: Final = ("2018-06-01", "2022-06-01", "2025-09-30", "2025-10-01", "2026-06-01")

reports: Final = _record(
    issuer=st.sampled_from(("GIA", "gia", "Some Laboratory")),
    date=st.sampled_from(_DATES),
    comments=st.lists(st.sampled_from(COMMENTS), max_size=3),
    assessment=st.sampled_from(("premium", "standard")),
)
observations: Final = _record(
    eye_clean=st.booleans(),
    bow_tie=st.sampled_from(("none", "slight", "moderate", "severe")),
    windowing=st.sampled_from(("none", "slight", "prominent")),
    haze=st.sampled_from(("none", "slight", "strong")),
    tint=st.sampled_from(("none", "yellow", "brown")),
    inclusion=_record(type=st.sampled_from(_INCLUSIONS), place=st.sampled_from(_PLACES)),
    seen_in=st.sampled_from(("hand", "photograph")),
    distance_mm=st.sampled_from((250, 250.0, 333.3)),
)


def stones(*shapes: str, **more: st.SearchStrategy[Any]) -> st.SearchStrategy[Wire]:
    """Stones as the wire takes them; `more` takes the place of a member, always present."""
    optional: dict[str, st.SearchStrategy[Any]] = {
        "id": st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=8),
        "material": st.sampled_from(("diamond",) * 20 + get_args(Material)),
        "origin": st.sampled_from(("natural", "laboratory_grown")),
        "carat": hundredths(10, 600),
        "color": grade_or_range(COLOR.grades[:12]),
        "clarity": grade_or_range(CLARITY.grades),
        "length_mm": hundredths(400, 1000),
        "width_mm": hundredths(400, 1000),
        "depth_mm": hundredths(250, 600),
        "table_pct": st.integers(40, 80) | hundredths(4000, 8000),
        "depth_pct": hundredths(2000, 8000),
        "polish": st.sampled_from(FINISH.grades),
        "symmetry": st.sampled_from(FINISH.grades),
        "cut_grade": st.sampled_from(FINISH.grades),
        "fluorescence": st.sampled_from(FLUORESCENCE.grades),
        "girdle_min": st.sampled_from(GIRDLE.grades),
        "culet": st.sampled_from(CULET.grades),
        "treatments": st.lists(st.sampled_from(get_args(Treatment)), max_size=2, unique=True),
        "report": reports,
        "observations": observations,
    }
    required = {"shape": st.sampled_from(shapes or tuple(SHAPES)), **more}
    kept = {name: strategy for name, strategy in optional.items() if name not in required}
    return st.fixed_dictionaries(required, optional=kept)


contexts: Final = _record(
    metal=st.sampled_from(get_args(Metal)),
    position=st.sampled_from(("center", "center", "side", "melee")),
    jewelry=st.sampled_from(("ring", "earring", "pendant")),
    protection=st.sampled_from(("claws", "v_claws", "bezel")),
)


# Trees of rule files


@dataclass(frozen=True)
class Tree:
    """A folder of rule sets to edit and to load."""

    root: Path

    @classmethod
    def copy(cls, root: Path) -> "Tree":
        """The first versions of the committed rule sets, all of them drafts."""
        for name in ("house", "strict"):
            shutil.copytree(RULESETS / name / "1.0.0", root / name / "1.0.0")
        (root / "RELEASED").write_text("end 0\n")
        return cls(root)

    def file(self, name: str = "house", version: str = "1.0.0", file: str = "ruleset.yaml") -> Path:
        return self.root / name / version / file

    def edit(self, old: str, new: str, name: str = "house", file: str = "ruleset.yaml") -> int:
        """Replace the one place where `old` stands; gives the line where the new text begins."""
        path = self.file(name, file=file)
        text = path.read_text()
        assert text.count(old) == 1, f"{old!r} occurs {text.count(old)} times"
        path.write_text(text.replace(old, new))
        return text[: text.index(old)].count("\n") + 1

    def load(self, *, drafts: bool = True) -> Catalog:
        return load(self.root, drafts=drafts)

    def faults(self, *, drafts: bool = True) -> list[Fault]:
        """All that reading and compiling refuse."""
        try:
            return [fault for found in self.load(drafts=drafts) for fault in found.faults]
        except CatalogError as error:
            return error.faults


TINY: Final = """\
name: {name}
version: "{version}"
effective: "{effective}"
title: An invented rule set
about: It has no rules and is there to be found.
sources:
  - {{id: memory, title: From memory, checked: "2025-12-01"}}
  - {{id: practice, title: Common practice, checked: "2025-12-02"}}
...
"""


def write_tiny(root: Path, name: str, version: str, effective: str = "2026-01-01") -> Path:
    """A version of an invented rule set without rules; gives its file."""
    folder = root / name / version
    folder.mkdir(parents=True)
    (folder / "cases.yaml").write_text(
        "cases:\n  - case: An invented stone\n    stone: {shape: round}\n...\n"
    )
    file = folder / "ruleset.yaml"
    file.write_text(TINY.format(name=name, version=version, effective=effective))
    return file


def release(root: Path, activate: Mapping[str, str] | None = None, end: str | None = None) -> None:
    """A manifest of all that is there, with the moment at which a version is activated."""
    (root / "RELEASED").write_text("end 0\n")
    lines = []
    for found in load(root, drafts=True):
        moment = (activate or {}).get(found.version)
        words = (found.name, found.version, str(found.effective), found.digest, moment)
        lines.append(" ".join(filter(None, words)) + "\n")
    (root / "RELEASED").write_text("".join(lines) + (f"end {len(lines)}\n" if end is None else end))


def load_faults(root: Path, *, drafts: bool = False) -> list[Fault]:
    """What reading refuses; nothing, if it refuses nothing."""
    try:
        load(root, drafts=drafts)
    except CatalogError as error:
        return error.faults
    return []
