"""The contract held to very many made-up requests. Read by the long run alone: reading takes long, too."""

from typing import Any

import pytest
import requests
import schemathesis
from hypothesis import settings

from test_schemathesis import BY_THE_BOOK, CONTRACT, contract, hold, session

__all__ = ["session"]  # a fixture is found by its name

pytestmark = pytest.mark.long


@contract(by_the_book=True).exclude(path_regex=BY_THE_BOOK).parametrize()
@settings(max_examples=8, deadline=None)
def test_everything_is_kept_by_the_book(case: schemathesis.Case[Any], session: requests.Session) -> None:
    """What the short run leaves out."""
    hold(case, session)


@pytest.mark.parametrize("turn", range(10))
@CONTRACT.parametrize()
@settings(max_examples=60, deadline=None, derandomize=False, database=None)
def test_the_contract_is_kept_whatever_is_made_up(
    case: schemathesis.Case[Any], turn: int, session: requests.Session
) -> None:
    """Ten turns of other requests each: at least 15,000 cases in all."""
    del turn
    hold(case, session)
