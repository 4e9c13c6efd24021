"""A straight line through many points of which some are slips of the pen: Huber's estimate.

Huber 1964, Ann. Math. Stat. 35, 73. Knows numbers only.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Huber's constant for 95 % efficiency at normal errors, and the factor that makes the median absolute
# deviation of normal errors their standard deviation: both as in Huber, Robust Statistics, 1981, from memory.
HUBER_K: Final = 1.345
_MAD: Final = NormalDist().inv_cdf(0.75)
# Targets are logarithms: nothing is told apart that differs by less than a thousandth. House, no source.
SMALLEST_SPREAD: Final = 0.001
# A share of another column in this one that is worth naming: half a percent, house, no source.
SHARE_TOLD: Final = 0.005

_MOST_ROUNDS: Final = 200
_SETTLED: Final = 1e-10


# Columns


@dataclass(frozen=True, slots=True)
class Columns:
    """Columns of a fit, made independent of each other.

    `basis` (stones × kept) is orthonormal and spans them; `kept` are the columns that are no sum of those
    before them; the coefficients of all that are in `told` do not depend on which ones were dropped.
    """

    basis: Floats
    kept: tuple[int, ...]
    told: frozenset[int]
    to_coefficients: Floats


def independent(columns: Floats, least: Sequence[float]) -> Columns:
    """Columns (stones × columns) in order, less each of which no more than `least` is its own (as a length).

    Dropping it changes no fitted value. It only cannot be told any more which of the columns that go together
    is paid for: none of them is told.
    """
    count = columns.shape[1]
    basis = np.empty_like(columns)
    kept: list[int] = []
    for place in range(count):
        found = basis[:, : len(kept)]
        own = columns[:, place] - found @ (columns[:, place] @ found)
        length = sqrt(float(own @ own))
        if length > least[place]:
            basis[:, len(kept)] = own / length
            kept.append(place)
    basis = basis[:, : len(kept)]
    to_coefficients: Floats = np.linalg.inv(basis.T @ columns[:, kept]).astype(np.float64)
    dropped = [place for place in range(count) if place not in kept]
    shares = np.abs(to_coefficients @ (basis.T @ columns[:, dropped])) > SHARE_TOLD
    told = frozenset(place for place, row in zip(kept, shares, strict=True) if not row.any())
    return Columns(basis, tuple(kept), told, to_coefficients)


# Huber's estimate


@dataclass(frozen=True, slots=True)
class Estimate:
    """A robust fit: for each stone what it expects, the weight it got and its leverage.

    `coordinates` go with the basis; `scale` is the median absolute deviation as a standard deviation.
    """

    coordinates: Floats
    fitted: Floats
    weights: Floats
    leverage: Floats
    scale: float


def huber(basis: Floats, target: Floats) -> Estimate:
    """Huber's M-estimate on an orthonormal basis by iterated reweighting, scale anew in each round.

    Scales under `SMALLEST_SPREAD` are raised to it. After 200 rounds the last one counts: few stones with
    very long tails may swing between neighbouring lines for ever, always in the same way.
    """
    start = coordinates = target @ basis
    fitted = basis @ coordinates
    whole = np.eye(basis.shape[1])
    for _ in range(_MOST_ROUNDS):
        size, scale = _sizes(target - fitted)
        # The basis is orthonormal: with all weights 1 the cross product is `whole`. So only those are counted
        # off that weigh less, some 20 %.
        far = size > HUBER_K
        lost = basis[far] * (1 - HUBER_K / size[far])[:, None]
        cross, moment = whole - basis[far].T @ lost, start - target[far] @ lost
        coordinates = np.linalg.solve(cross, moment).astype(np.float64)
        last, fitted = fitted, basis @ coordinates
        if float(np.abs(fitted - last).max()) < _SETTLED:
            break
    size, scale = _sizes(target - fitted)
    leverage = (basis * basis).sum(axis=1)
    return Estimate(coordinates, fitted, HUBER_K / np.maximum(size, HUBER_K), leverage, scale)


def _sizes(residuals: Floats) -> tuple[Floats, float]:
    """Residuals in units of their scale, without sign, and that scale."""
    size = np.abs(residuals)
    scale = max(float(np.median(size)) / _MAD, SMALLEST_SPREAD)
    return size / scale, scale
