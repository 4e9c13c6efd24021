"""Invented requests in great number, crowded around the edges that the rules of a version name.

The same seed gives the same stones. None of them is a real stone.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, get_args

from gradefloor.trade.shapes import SHAPES
from gradefloor.trade.stones import Material, Metal, Treatment
from naive_facts import ORDERED_VALUES, SCALES
from naive_judge import Plain

DAYS: Final = (date(2025, 10, 1), date(2026, 1, 1), date(2028, 2, 29))
_ISSUERS: Final = ("GIA", "gia", "Gemological Institute of America", "Some Laboratory")
_REPORT_DAYS: Final = (
    "2020-12-31", "2021-01-01", "2023-01-01", "2023-01-02", "2025-09-30", "2025-10-01", "2026-01-02",
)  # fmt: skip
_COMMENTS: Final = (
    "Clarity grade is based on clouds that are not shown.",
    "Additional clouds are not shown.",
    "Internal graining is not shown.",
    "Surface-reaching feathers are present.",
    "This diamond has been clarity enhanced.",
    "Crown angles are greater than 42 degrees.",
    "A laser inscription is present.",
    "See the accompanying letter.",
)
_INCLUSIONS: Final = (
    "dark_crystal", "open_feather", "open_feather", "knot", "cavity", "chip", "bruise", "cloud", "feather",
)  # fmt: skip
_PLACES: Final = ("table_center", "table_edge", "crown", "pavilion", "girdle", "point")
# A stone that no rule minds. Random ones have so many faults that one more would not change the verdict.
_SOUND: Final[Plain] = {
    "material": "diamond",
    "color": "D",
    "clarity": "IF",
    "carat": 0.9,
    "polish": "excellent",
    "symmetry": "excellent",
    "cut_grade": "excellent",
    "girdle_min": "medium",
    "girdle_max": "medium",
    "treatments": [],
    "report": {"issuer": "GIA"},
    "observations": {
        "eye_clean": True,
        "bow_tie": "none",
        "windowing": "none",
        "haze": "none",
        "tint": "none",
    },
}
_MEASURES: Final = ("length_mm", "width_mm", "depth_mm", "table_pct", "depth_pct")
_WIDTHS: Final = (4.0, 5.0, 6.4, 8.0)  # a ratio of three decimals times one of these is again in hundredths


@dataclass(frozen=True)
class Request:
    """A stone as the wire takes it, around it its context, and the day of asking."""

    stone: Plain
    context: Plain | None
    as_of: date


@dataclass(frozen=True)
class Edges:
    """Numbers at which some rule of a version changes its mind."""

    carat: tuple[float, ...]
    ratio: tuple[float, ...]
    percent: dict[str, tuple[float, ...]]


def edges(rules: Plain) -> Edges:
    """All ends of bands and windows that a version names."""
    carats = {
        float(end) for floor in rules["floors"] for band in floor["bands"] for end in band["carat"].values()
    }
    bands = [band for look in rules["looks"] for band in look["bands"]]
    ratios = {float(band[end]) for band in bands for end in ("from", "below") if end in band}
    ratios |= {float(end) for guard in rules["guards"] for end in guard.get("ratio", {}).values()}
    percent: dict[str, set[float]] = {}
    for window in rules["windows"]:
        ends = percent.setdefault(window["measure"], set())
        ends |= {float(end) for part in ("comfort", "tolerated") for end in window[part].values()}
    ratios |= percent.get("ratio", set())
    return Edges(
        tuple(sorted(carats)),
        tuple(sorted(ratios)),
        {name: tuple(sorted(ends)) for name, ends in percent.items()},
    )


class Stones:
    """An endless run of invented requests."""

    def __init__(self, rules: Plain, seed: int, shapes: tuple[str, ...] = tuple(SHAPES)) -> None:
        self.shapes = shapes
        self.at = random.Random(seed)  # noqa: S311 - the same stones in every run
        self.edges = edges(rules)

    def some(self, count: int) -> Iterator[Request]:
        return (self.request() for _ in range(count))

    def request(self) -> Request:
        at = self.at
        # How much is stated differs from stone to stone, from next to nothing to everything.
        stated = at.choice((0.2, 0.6, 0.85, 0.95, 1.0))
        stone = self.stone(stated)
        if at.random() < 0.4:
            stone = self.mended(stone)
        context = self.kept(stated, {
            "metal": at.choice(get_args(Metal)),
            "position": at.choice(("center", "center", "center", "side", "melee")),
            "jewelry": at.choice(("ring", "ring", "earring", "pendant")),
            "protection": at.choice(("claws", "v_claws", "bezel")),
        })  # fmt: skip
        return Request(stone, context if context or at.random() < 0.5 else None, at.choice(DAYS))

    def kept(self, stated: float, members: Plain) -> Plain:
        """Each member with this chance; nothing empty."""
        return {
            name: value for name, value in members.items() if value is not None and self.at.random() < stated
        }

    def stone(self, stated: float) -> Plain:
        at = self.at
        members: dict[str, Any] = {
            "material": at.choice(("diamond",) * 30 + get_args(Material)),
            "origin": at.choice(("natural", "natural", "laboratory_grown")),
            "carat": self.carat(),
            "color": self.grade("color"),
            "clarity": self.grade("clarity"),
            **self.millimetres(),
            "table_pct": self.percent("table_pct", (40, 85)),
            "depth_pct": self.percent("depth_pct", (10, 90)) if at.random() < 0.6 else None,
            "crown_height_pct": self.percent("crown_height_pct", (5, 25)),
            "girdle_pct": self.percent("girdle_pct", (1, 10)),
            **{name: at.choice(ORDERED_VALUES[name]) for name in ("polish", "symmetry", "cut_grade")},
            "fluorescence": at.choice(ORDERED_VALUES["fluorescence"]),
            "girdle_min": at.choice(ORDERED_VALUES["girdle_min"]),
            "girdle_max": at.choice(ORDERED_VALUES["girdle_min"]),
            "culet": at.choice(ORDERED_VALUES["culet"]),
            "treatments": at.sample(get_args(Treatment), at.choice((0, 0, 0, 1, 2))),
            "report": self.report(stated),
            "observations": self.observations(stated),
        }
        stone = {"shape": at.choice(self.shapes), **self.kept(stated, members)}
        sizes = [stone[name] for name in ("length_mm", "width_mm", "depth_mm") if name in stone]
        if len(sizes) == 3 and at.random() < 0.6:
            # A weight that such a stone may have, or nearly.
            block = sizes[0] * sizes[1] * sizes[2]
            stone["carat"] = max(round(block * at.uniform(0.0045, 0.0105), 2), 0.01)
        return stone

    def mended(self, stone: Plain) -> Plain:
        """The same stone, sound but for a few of its members."""
        at = self.at
        spared = at.sample((*_SOUND, *_MEASURES), at.randint(0, 4))
        kept = {name: value for name, value in stone.items() if name not in _MEASURES or name in spared}
        if stone["shape"] != "round":
            spared.append("cut_grade")
            kept.pop("cut_grade", None)
        return {**kept, **{name: value for name, value in _SOUND.items() if name not in spared}}

    def carat(self) -> float:
        if self.at.random() < 0.3:
            return self.at.randint(1, 700) / 100
        # At an edge, a hundredth beside it, and where a laboratory's rounding decides.
        steps = (-0.02, -0.011, -0.01, -0.002, -0.001, -0.0005, 0, 0, 0.001, 0.01)
        return max(round(self.at.choice(self.edges.carat) + self.at.choice(steps), 4), 0.001)

    def grade(self, scale: str) -> str:
        grades = SCALES[scale]
        # Floors lie in the middle of the scales, so most grades do.
        place = int(self.at.triangular(0, len(grades), 5)) % len(grades)
        if self.at.random() < 0.7:
            return grades[place]
        other = min(max(place + self.at.choice((-3, -1, 0, 1, 1, 2)), 0), len(grades) - 1)
        return f"{grades[place]}-{grades[other]}"

    def millimetres(self) -> Plain:
        at = self.at
        width = at.choice(_WIDTHS)
        if at.random() < 0.7:
            # Half a hundredth beside an edge is where rounding decides.
            ratio = at.choice(self.edges.ratio) + at.choice(
                (-0.015, -0.01, -0.006, -0.005, -0.004, 0, 0.005, 0.01)
            )
        else:
            ratio = at.uniform(0.8, 2.6)
        length = round(width * ratio, 3)
        if at.random() < 0.1:
            length, width = width, length
        low, high = min(length, width) * 0.25, min(length, width) * 0.8
        depth = round(at.uniform(low, high), 2)
        if at.random() < 0.5:
            depth = round(
                width * at.choice(self.edges.percent["depth_pct"]) / 100 + at.choice((-0.01, 0, 0.01)), 3
            )
        return {"length_mm": length, "width_mm": width, "depth_mm": max(depth, 0.1)}

    def percent(self, name: str, usual: tuple[int, int]) -> float:
        ends = self.edges.percent.get(name)
        if ends is None or self.at.random() < 0.3:
            return round(self.at.uniform(*usual), 1)
        near = self.at.choice(ends) + self.at.choice((-1, -0.1, -0.01, 0, 0, 0.01, 0.1, 1))
        return min(round(near, 2), 100)

    def report(self, stated: float) -> Plain | None:
        at = self.at
        found = self.kept(stated, {
            "issuer": at.choice(_ISSUERS),
            "date": at.choice(_REPORT_DAYS),
            "comments": at.sample(_COMMENTS, at.choice((0, 0, 1, 1, 2))),
            "assessment": at.choice(("premium", "standard")) if at.random() < 0.15 else None,
        })  # fmt: skip
        return found or None

    def observations(self, stated: float) -> Plain | None:
        at = self.at
        inclusion = self.kept(stated, {
            "type": at.choice(_INCLUSIONS),
            "place": at.choice(_PLACES),
            "size_mm": at.choice((0.05, 0.07, 0.072, 0.073, 0.08, 0.2)),
        })  # fmt: skip
        found = self.kept(stated * 0.7, {
            "eye_clean": at.random() < 0.7,
            "bow_tie": at.choice(ORDERED_VALUES["bow_tie"]),
            "windowing": at.choice(ORDERED_VALUES["windowing"]),
            "haze": at.choice(("none", "none", "slight", "strong")),
            "tint": at.choice(("none", "none", "yellow", "brown", "green", "gray")),
            "inclusion": inclusion or None,
            "seen_in": at.choice(("hand", "video", "photograph")),
            "distance_mm": at.choice((250, 247.5, 333.3)),
        })  # fmt: skip
        return found or None
