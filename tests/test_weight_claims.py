"""Weights in copy: US 16 CFR 23.18(c), its own example (.5 stands for .495 to .504), on, under and over.

A report's weight is rounded by the laboratories' rule (up only from a nine), so it leaves an interval.
"""

from decimal import Decimal

import pytest

from gradefloor.trade.weight_claims import claimed, fit, weighed


@pytest.mark.parametrize(
    ("claim", "decimals", "least", "most"),
    [
        (".5", 1, ".495", ".504"),  # the example of 23.18(c)
        (".50", 2, ".495", ".504"),
        ("1", 0, ".995", "1.004"),
        (".482", 3, ".4815", ".4824"),
    ],
)
def test_a_figure_stands_for_these_weights(claim: str, decimals: int, least: str, most: str) -> None:
    assert claimed(Decimal(claim), decimals) == (Decimal(least), Decimal(most))


@pytest.mark.parametrize(
    ("carat", "least", "most"), [(0.49, ".489", ".498"), (1.0, ".999", "1.008"), (0.495, ".495", ".495")]
)
def test_a_stated_weight_stands_for_these_weights(carat: float, least: str, most: str) -> None:
    assert weighed(carat) == (Decimal(least), Decimal(most))


@pytest.mark.parametrize(
    ("claim", "decimals", "carat", "fits"),
    [
        # Balance readings around the edges of ".5".
        (".5", 1, 0.494, "differs"),
        (".5", 1, 0.495, "agrees"),
        (".5", 1, 0.504, "agrees"),
        (".5", 1, 0.505, "differs"),
        # A report of 0.49 may have weighed .489 to .498, one of 0.50 .499 to .508, one of 0.51 .509 to .518.
        (".5", 1, 0.48, "differs"),
        (".5", 1, 0.49, "undecidable"),
        (".5", 1, 0.50, "undecidable"),
        (".5", 1, 0.51, "differs"),
        # A report's own figure may be repeated.
        (".50", 2, 0.50, "as_stated"),
        (".49", 2, 0.49, "as_stated"),
        ("1.00", 2, 1.00, "as_stated"),
        ("1", 0, 1.00, "as_stated"),
        (".50", 2, 0.482, "differs"),
        (".48", 2, 0.482, "agrees"),
        ("1.01", 2, 1.00, "undecidable"),
        ("1.02", 2, 1.00, "differs"),
    ],
)
def test_a_claim_is_true_of_a_weight(claim: str, decimals: int, carat: float, fits: str) -> None:
    assert fit(Decimal(claim), decimals, carat) == fits
