"""What the routes of advice share: a version that has such rules, and lists of priced stones."""

from datetime import date
from typing import Any, Final

from gradefloor.judge.shortlists import Judged, judge
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.wishes import PricedStone, Wish
from gradefloor.web.lists import read_each
from gradefloor.web.problems import Problem, ProblemError

MAX_PRICED: Final = 5_000
# Problems of a list that are told one by one; their number is told, too.
MAX_TOLD: Final = 50


def with_advice(rules: CompiledRules) -> CompiledRules:
    """The rules themselves; a version that advises nothing is a 404."""
    if not rules.advice:
        raise ProblemError("rules_missing")
    return rules


async def judge_listed(
    rules: CompiledRules, stones: list[Any], wish: Wish, day: date
) -> tuple[list[Judged], list[Problem], int]:
    """Priced stones judged under a wish; the problems of those that cannot be read, and how many they are."""
    judged, problems, unreadable = list[Judged](), list[Problem](), 0
    async for index, stone in read_each(PricedStone, stones, "stones"):
        if isinstance(stone, ProblemError):
            unreadable += 1
            if len(problems) < MAX_TOLD:
                problems.append(stone.problem())
        else:
            judged.append(judge(rules, index, stone, wish, day))
    return judged, problems, unreadable
