"""`/v1/shortlists`: two to four stones with different roles out of many."""

from typing import Annotated, Any, ClassVar

from fastapi import APIRouter
from pydantic import Field, SkipValidation
from starlette.concurrency import run_in_threadpool

from gradefloor.judge.advice_findings import ADVICE_NOTICE
from gradefloor.judge.shortlist_findings import Shortlist
from gradefloor.judge.shortlists import shortlist
from gradefloor.trade.wishes import Currency, PricedStone, Wish
from gradefloor.web import gate
from gradefloor.web.advice import MAX_PRICED, judge_listed, with_advice
from gradefloor.web.problems import Problem
from gradefloor.web.service import Answered, Asked, Service, around


class ShortlistRequest(Asked):
    """A wish, and stones to choose from."""

    body_limit: ClassVar[int] = gate.LIST_LIMIT
    listed: ClassVar[str | None] = "stones"

    wish: Wish = Field(description="What is wished.")
    currency: Currency = Field(description="ISO 4217 code of all prices.")
    stones: list[SkipValidation[PricedStone | dict[str, Any]]] = Field(
        min_length=1,
        max_length=MAX_PRICED,
        description="Stones with their prices; one that cannot be read is counted and told.",
    )


class ShortlistAnswer(Answered, Shortlist):
    """Stones worth showing."""

    currency: Annotated[str, Field(description="Currency of all prices, repeated.")]
    problems: Annotated[
        list[Problem], Field(description="Stones of the list that could not be read, at most 50.")
    ]
    notice: Annotated[str, Field(description="What this answer is not.")]


def routes(router: APIRouter, service: Service) -> None:
    @router.post(
        "/v1/shortlists",
        tags=["advice"],
        operation_id="shortlistStones",
        response_model=ShortlistAnswer,
        summary="Choose two to four stones with different roles",
    )
    async def shortlist_stones(request: ShortlistRequest) -> dict[str, object]:
        """The closest to the wish, the largest, the most for the money, one that bends a wish and says which.

        No stone that fails a rule is picked. The ranking is a sum, and every term of it is in the answer; the
        order of the stones does not matter. Prices are placed against the other prices of this list only:
        that is neither a market price nor an appraisal.
        """
        release, day = await service.rules(request.ruleset, request.as_of)
        rules = with_advice(release.compiled)
        judged, problems, unreadable = await judge_listed(rules, request.stones, request.wish, day)
        # Thousands of stones take a second; in a thread they do not keep page views waiting for all of it.
        found = await run_in_threadpool(shortlist, rules, request.wish, judged, unreadable, request.currency)
        return {
            **around(release, day),
            "currency": request.currency,
            **found,
            "problems": problems,
            "notice": ADVICE_NOTICE,
        }
