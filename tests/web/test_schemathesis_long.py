"""The contract held to very many made-up requests. Read by the long run alone: reading takes long, too.

All of them are drawn by chance: those by the book are the same in every run, and the short one has them all.
"""

from typing import Any, Final

import pytest
import requests
import schemathesis
from hypothesis import settings

from test_schemathesis import contract, hold, session

__all__ = ["session"]  # a fixture is found by its name

pytestmark = pytest.mark.long
CONTRACT: Final = contract(by_the_book=False)


@pytest.mark.parametrize("turn", range(10))
@CONTRACT.parametrize()
@settings(max_examples=60, deadline=None, derandomize=False, database=None)
def test_the_contract_is_kept_whatever_is_made_up(
    case: schemathesis.Case[Any], turn: int, session: requests.Session
) -> None:
    """Ten turns of other requests each: at least 15,000 cases in all."""
    del turn
    hold(case, session)
