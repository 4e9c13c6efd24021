"""`/v1/specifications`: a wish turned into what to look for."""

import asyncio
from typing import Annotated, Any, ClassVar

from fastapi import APIRouter
from pydantic import Field, SkipValidation
from starlette.concurrency import run_in_threadpool

from gradefloor.judge import budgets
from gradefloor.judge.advice_findings import ADVICE_NOTICE, BudgetAdvice, Conflict, ShapeAdvice
from gradefloor.judge.shortlists import hold_against
from gradefloor.judge.wishes import Advising
from gradefloor.trade.wishes import PricedStone, Wish
from gradefloor.web import gate
from gradefloor.web.advice import MAX_PRICED, judge_listed, with_advice
from gradefloor.web.problems import Problem
from gradefloor.web.service import Answered, Asked, Service, around


class SpecificationRequest(Asked):
    """A wish, and the list it may be fulfilled from."""

    body_limit: ClassVar[int] = gate.LIST_LIMIT
    listed: ClassVar[str | None] = "stones"

    wish: Wish = Field(description="What is wished.")
    stones: list[SkipValidation[PricedStone | dict[str, Any]]] | None = Field(
        None,
        max_length=MAX_PRICED,
        description="Stones of your own list with prices, in the currency of the budget; they show what it "
        "reaches. One that cannot be read is counted and told.",
    )


class Specification(Answered):
    """What to look for."""

    shapes: Annotated[list[ShapeAdvice], Field(description="Shapes that serve the wish, best first.")]
    conflicts: Annotated[list[Conflict], Field(description="What of the wish cannot be had together.")]
    budget: Annotated[BudgetAdvice | None, Field(description="What the budget covers; null without one.")]
    problems: Annotated[
        list[Problem], Field(description="Stones of the list that could not be read, at most 50.")
    ]
    notice: Annotated[str, Field(description="What this answer is not.")]


def routes(router: APIRouter, service: Service) -> None:
    @router.post(
        "/v1/specifications",
        tags=["advice"],
        operation_id="specifyWish",
        response_model=Specification,
        summary="Turn a wish into what to look for",
    )
    async def specify_wish(request: SpecificationRequest) -> dict[str, object]:
        """For each shape that serves the wish: floors, ratio, windows, millimetres, settings, what gives way.

        Whatever is advised passes its own evaluation once the conditions hold that only a look can tell.
        What of the wish cannot be had together comes back as a named conflict with the ways out.
        """
        release, day = await service.rules(request.ruleset, request.as_of)
        rules, wish = with_advice(release.compiled), request.wish
        judged, problems, _ = await judge_listed(rules, request.stones or [], wish, day)
        advising = Advising(rules, wish, day)
        for _ in advising.each_shape():
            await asyncio.sleep(0)
        conflicts, budget = advising.conflicts(), None
        rows = await run_in_threadpool(hold_against, rules, wish, judged)
        if request.stones is not None:
            budgets.tell_rows(advising.shapes, rows)
        if wish.budget is not None:
            budget, conflict = await run_in_threadpool(budgets.advise, wish.budget, rows)
            conflicts += [conflict] if conflict else []
        return {
            **around(release, day),
            "shapes": advising.shapes,
            "conflicts": conflicts,
            "budget": budget,
            "problems": problems,
            "notice": ADVICE_NOTICE,
        }
