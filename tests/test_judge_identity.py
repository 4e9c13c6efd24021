"""The same request is the same request everywhere. The stones are invented.

Invariants:
1. anybody can recompute the evaluation id (RFC 8785);
2. the order of fields never matters;
3. the same request gives the same bytes, whoever asked before, in any process.
"""

import hashlib
import os
import subprocess
import sys
from typing import Any

import orjson
import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from gradefloor.judge.findings import Evaluation
from samples import DAY, ROOT, RULESETS, Wire, committed, contexts, judge, stones

HOUSE = committed("house")


def backwards(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: backwards(inner) for key, inner in reversed(value.items())}
    return value


@given(stones(), contexts)
def test_the_order_of_fields_never_matters(stone: Wire, context: Wire) -> None:
    """Invariants 2 and 3."""
    one = judge(HOUSE, stone, context)
    other = judge(HOUSE, backwards(stone), backwards(context))
    assert orjson.dumps(one) == orjson.dumps(other)


def without_nulls(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: without_nulls(inner) for key, inner in value.items() if inner is not None}
    return value


def recomputed(answer: Evaluation, stone: Wire, context: Wire | None) -> str:
    asked = {
        "as_of": answer["as_of"],
        "digest": answer["ruleset"]["digest"],
        "stone": stone,
        "context": context,
    }
    return hashlib.sha256(rfc8785.dumps(without_nulls(asked))).hexdigest()


@given(stones() | stones(carat=st.none(), report=st.none()), contexts | st.none())
def test_the_evaluation_id_can_be_recomputed(stone: Wire, context: Wire | None) -> None:
    """Invariant 1. RFC 8785, as the rfc8785 package writes it."""
    answer = judge(HOUSE, stone, context)
    assert answer["evaluation_id"] == recomputed(answer, stone, context)


# The smallest and the largest that the contract takes, whole numbers both ways, and long fractions.
NUMBERS = [
    0.01,
    0.010000000000000002,
    0.1,
    0.5,
    1,
    1.0,
    33.333333333333336,
    66,
    99.99999999999999,
    100,
    100.0,
]


@pytest.mark.parametrize("number", NUMBERS)
def test_numbers_of_every_size_are_written_as_rfc_8785_has_them(number: float) -> None:
    """Invariant 1. RFC 8785, as the rfc8785 package writes it."""
    stone = {"shape": "round", "table_pct": number, "crown_height_pct": number, "length_mm": number}
    answer = judge(HOUSE, stone)
    assert answer["evaluation_id"] == recomputed(answer, stone, None)


def test_what_is_done_to_an_answer_does_not_reach_the_next() -> None:
    """Invariant 3."""
    first = judge(HOUSE, {"shape": "heart"})
    before = orjson.dumps(first)
    for finding in first["findings"]:
        finding["reason"] = "Changed by whoever got it."
    again = orjson.dumps(judge(HOUSE, {"shape": "heart"}))
    for finding, untouched in zip(first["findings"], orjson.loads(before)["findings"], strict=True):
        finding["reason"] = untouched["reason"]
    assert again == before


PROGRAM = f"""
import sys
from pathlib import Path
import orjson
from gradefloor.rules.catalog import load
from samples import judge
rules = load(Path({str(RULESETS)!r}), drafts=True).releases["house"][0].compiled
for line in sys.stdin:
    request = orjson.loads(line)
    sys.stdout.buffer.write(orjson.dumps(judge(rules, request["stone"], request["context"])) + b"\\n")
"""
REQUESTS: list[Wire] = [
    {"stone": {"shape": "cushion", "treatments": ["hpht", "coated"]}, "context": {"metal": "platinum"}},
    {"stone": {"shape": "round", "carat": 1, "color": "K-I", "clarity": "SI1-VS2"}, "context": {}},
    {"stone": {"shape": "pear", "report": {"comments": ["A cavity is present.", "Graining is not shown."]}},
     "context": {"protection": "claws"}},
]  # fmt: skip


def test_two_processes_give_the_same_bytes() -> None:
    """Invariant 3."""
    sent = b"".join(orjson.dumps(request) + b"\n" for request in REQUESTS)
    here = b"".join(orjson.dumps(judge(HOUSE, r["stone"], r["context"], DAY)) + b"\n" for r in REQUESTS)
    path = os.pathsep.join((str(ROOT / "service"), str(ROOT / "tests")))
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": path}
        there = subprocess.run(
            [sys.executable, "-c", PROGRAM], input=sent, env=environment, capture_output=True, check=True
        )
        assert there.stdout == here
