"""Which stones of a list are beaten in everything by another. Knows numbers only."""

from collections.abc import Sequence

import numpy as np


def undominated(points: Sequence[Sequence[float]]) -> list[int | None]:
    """For each point None, or the index of an undominated point that dominates it.

    Every coordinate is better when larger. A point dominates another if it is at least as good in every
    coordinate and better in one, so equal points never dominate each other. Of several dominators the one
    with the largest coordinates is named, compared from the first coordinate on; of equal ones the earliest.
    So which points are beaten, and by what content, does not depend on the order of the points.

    ValueError for points of different lengths and for a coordinate that is not a number.
    """
    if not points:
        return []
    table = np.array(points, dtype=np.float64)
    if np.isnan(table).any():
        raise ValueError("a coordinate is not a number")
    count, width = table.shape
    if width == 0:
        return [None] * count
    # From the largest down, compared from the first coordinate on; the sort keeps equal points in order.
    order = np.lexsort(-table.T[::-1])
    ordered = table[order]
    fresh = np.append(True, (ordered[1:] != ordered[:-1]).any(axis=1))
    heads, member_of = order[fresh], np.cumsum(fresh) - 1
    # A dominator comes before what it dominates. So a point that nothing before it has struck out is
    # undominated, and the first to strike is the one to name. Equal points are one here, so what is nowhere
    # larger is smaller somewhere.
    strikers = np.full(heads.size, -1)
    left, rest = np.arange(heads.size), np.ascontiguousarray(ordered[fresh].T)
    while left.size:
        first, top = left[0], rest[:, :1]
        left, rest = left[1:], rest[:, 1:]
        struck = (rest <= top).all(axis=0)
        if struck.any():
            strikers[left[struck]] = first
            left, rest = left[~struck], rest[:, ~struck]
    beaten_by: list[int | None] = [None] * count
    for index, striker in zip(order.tolist(), strikers[member_of].tolist(), strict=True):
        if striker >= 0:
            beaten_by[index] = int(heads[striker])
    return beaten_by
