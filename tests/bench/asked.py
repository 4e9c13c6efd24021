"""What is asked in the benchmarks: an invented stone with about as many fields as a listing has."""

import json
from datetime import date
from pathlib import Path
from typing import Any, Final

ROOT: Final = Path(__file__).parents[2]
DAY: Final = date(2026, 11, 26)
RULESET: Final = "house"
CONTEXT: Final = {"metal": "platinum", "jewelry": "ring"}
STONE: Final[dict[str, Any]] = {
    "id": "A-17", "shape": "radiant", "origin": "natural", "carat": 2.18, "color": "H", "clarity": "SI1",
    "length_mm": 8.4, "width_mm": 6.56, "depth_mm": 4.4, "table_pct": 66, "polish": "excellent",
    "symmetry": "very_good", "fluorescence": "none", "girdle_min": "medium", "culet": "none",
    "report": {"issuer": "GIA", "number": "0000000000", "date": "2025-03-01"},
    "observations": {"eye_clean": True, "bow_tie": "slight"},
}  # fmt: skip


def _body(ruleset: str = RULESET, **members: Any) -> bytes:
    return json.dumps({**members, "context": CONTEXT, "ruleset": ruleset, "as_of": DAY.isoformat()}).encode()


def batch(count: int, ruleset: str = RULESET) -> bytes:
    """So many stones that differ in weight, size and grades as the stones of a list do."""
    return _body(ruleset, stones=[stone(place) for place in range(count)])


def requests(ruleset: str = RULESET) -> list[bytes]:
    """The same stones, one by one."""
    return [_body(ruleset, stone=stone(place)) for place in range(500)]


def stone(place: int) -> dict[str, Any]:
    """One of many."""
    return {
        **STONE,
        "id": f"A-{place}",
        "carat": round(0.7 + place % 280 / 100, 2),
        "color": "DEFGHIJK"[place % 8],
        "clarity": ("VVS1", "VVS2", "VS1", "VS2", "SI1", "SI2")[place % 6],
        "length_mm": round(8 + place % 97 / 100, 2),
        "table_pct": 60 + place % 13,
        "fluorescence": ("none", "faint", "medium")[place % 3],
    }


REQUEST: Final = _body(stone=STONE)
REQUESTS: Final = requests()
# The floors and windows of the house alone, as the peers serve them: seven checks.
FEW: Final = "few"
BATCH: Final = batch(1000)
