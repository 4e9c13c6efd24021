"""Points beaten in everything by another, checked against the definition itself.

Invariants of every set of points:
- a point is beaten exactly if the definition says so of some other point (brute force over all pairs);
- the point named is itself undominated, and dominates;
- equal points have the same answer, but for which of equal dominators is named;
- the order of the points changes neither who is beaten nor the coordinates of the one named;
- a strictly rising change of every coordinate changes nothing;
- of the points that are kept, none is beaten when they are asked again.
"""

import math
import random
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradefloor.judge.dominance import undominated

Point = tuple[float, ...]


def dominates(a: Sequence[float], b: Sequence[float]) -> bool:
    """The definition, word for word."""
    return all(x >= y for x, y in zip(a, b, strict=True)) and any(x > y for x, y in zip(a, b, strict=True))


def named(points: Sequence[Point]) -> list[Point | None]:
    """Coordinates of each point's dominator."""
    return [None if by is None else points[by] for by in undominated(points)]


# Few values, so that ties and equal points are common.
coordinate = st.integers(-2, 2).map(float) | st.floats(allow_nan=False)
sets = st.integers(1, 6).flatmap(lambda width: st.lists(st.tuples(*[coordinate] * width), max_size=12))


def test_a_thousand_random_sets_agree_with_brute_force() -> None:
    chance = random.Random(20261125)  # noqa: S311 - the same sets in every run
    for _ in range(1000):
        count, width, most = chance.randint(1, 25), chance.randint(1, 6), chance.choice((1, 3, 1000))
        points = [tuple(float(chance.randint(0, most)) for _ in range(width)) for _ in range(count)]
        for point, by in zip(points, undominated(points), strict=True):
            assert (by is not None) == any(dominates(other, point) for other in points)


@given(sets)
def test_beaten_means_that_another_is_as_good_everywhere_and_better_somewhere(points: list[Point]) -> None:
    beaten = [by is not None for by in undominated(points)]
    assert beaten == [any(dominates(other, point) for other in points) for point in points]


@given(sets)
def test_the_one_named_is_undominated_and_dominates(points: list[Point]) -> None:
    answer = undominated(points)
    for point, by in zip(points, answer, strict=True):
        if by is not None:
            assert answer[by] is None
            assert dominates(points[by], point)


@given(sets, st.randoms(use_true_random=False))
def test_the_order_of_the_points_changes_nothing(points: list[Point], chance: random.Random) -> None:
    order = list(range(len(points)))
    chance.shuffle(order)
    straight = named(points)
    assert named([points[place] for place in order]) == [straight[place] for place in order]


@given(st.lists(st.tuples(*[st.integers(-50, 50)] * 3), max_size=12))
def test_only_the_order_along_a_coordinate_counts(points: list[tuple[int, int, int]]) -> None:
    curved = [(x / 7, math.atan(y), float(z) ** 3) for x, y, z in points]
    assert undominated(curved) == undominated(points)


@given(sets)
def test_nobody_among_the_kept_is_beaten(points: list[Point]) -> None:
    kept = [point for point, by in zip(points, undominated(points), strict=True) if by is None]
    assert undominated(kept) == [None] * len(kept)


@pytest.mark.parametrize(
    ("points", "answer"),
    [
        ([], []),
        ([()], [None]),
        ([(), ()], [None, None]),
        ([(1.0,)], [None]),
        ([(1.0,), (1.0,)], [None, None]),  # equal
        ([(1.0,), (1.5,)], [1, None]),
        ([(1.0, 2.0), (2.0, 1.0)], [None, None]),  # each better in one
        ([(1.0, 2.0), (1.0, 2.5)], [1, None]),  # equal in one, better in the other
        ([(0.0, 0.0), (-0.0, 0.0)], [None, None]),  # both zeros are one number
        ([(math.inf, 0.0), (math.inf, 1.0), (-math.inf, 9.0)], [1, None, None]),
        ([(0.0, 0.0), (1.0, 3.0), (3.0, 1.0)], [2, None, None]),  # two beat it; the larger is named
        ([(0.0, 0.0), (3.0, 1.0), (3.0, 1.0)], [1, None, None]),  # of equal ones the earliest
        ([(1.0, 1.0), (2.0, 2.0), (3.0, 3.0)], [2, 2, None]),  # the undominated one, not the next
    ],
)
def test_small_sets(points: list[Point], answer: list[int | None]) -> None:
    assert undominated(points) == answer


def test_a_coordinate_that_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match="not a number"):
        undominated([(1.0, math.nan)])


def test_points_of_different_lengths_are_refused() -> None:
    with pytest.raises(ValueError, match="inhomogeneous"):
        undominated([(1.0, 2.0), (1.0,)])
