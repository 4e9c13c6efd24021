"""The contract held to very many made-up requests. Read by the long run alone: reading takes long, too."""

from typing import Any

import pytest
import schemathesis
from hypothesis import settings

from test_schemathesis import CONTRACT, hold

pytestmark = pytest.mark.long


@pytest.mark.parametrize("turn", range(10))
@CONTRACT.parametrize()
@settings(max_examples=60, deadline=None, derandomize=False, database=None)
def test_the_contract_is_kept_whatever_is_made_up(case: schemathesis.Case[Any], turn: int) -> None:
    """Ten turns of other requests each: at least 15,000 cases in all."""
    del turn
    hold(case)
