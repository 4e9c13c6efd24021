"""`/v1/wording`: selling copy held to the guidance of its market."""

import asyncio
from typing import Annotated, Any, ClassVar, Final

from fastapi import APIRouter
from pydantic import Field, SkipValidation
from typing_extensions import TypedDict

from gradefloor.judge.wording import WORDING_NOTICE, WordingResult, audit
from gradefloor.trade.listings import WordingText
from gradefloor.web.lists import read_each
from gradefloor.web.problems import Problem, ProblemError
from gradefloor.web.service import Answered, Asked, RuleSetReference, Service, around

MAX_TEXTS: Final = 1_000
# A text costs some ten microseconds a character, so a larger body would hold a worker for minutes.
MAX_BYTES: Final = 1024 * 1024


class WordingRequest(Asked):
    """Texts to hold to their markets' guidance."""

    body_limit: ClassVar[int] = MAX_BYTES
    listed: ClassVar[str | None] = "texts"

    texts: list[SkipValidation[WordingText | dict[str, Any]]] = Field(
        max_length=MAX_TEXTS, description="Texts; one that cannot be read gets a problem in its place."
    )
    ruleset: RuleSetReference | None = Field(
        None, description="Rule set about wording, by name or name@version; `wording` if absent."
    )


class WordingCounts(TypedDict):
    """How many texts got which verdict."""

    clear: Annotated[int, Field(description="Texts in which nothing was found.")]
    ask: Annotated[int, Field(description="Texts about which a person should be asked.")]
    change: Annotated[int, Field(description="Texts to change or to have cleared.")]
    problem: Annotated[int, Field(description="Texts that could not be read.")]


class WordingAnswer(Answered):
    """Answers in the order of the texts."""

    results: Annotated[
        list[WordingResult | Problem], Field(description="A result, or a problem, for each text.")
    ]
    counts: WordingCounts
    notice: Annotated[str, Field(description="What this answer is not.")]


def routes(router: APIRouter, service: Service) -> None:
    @router.post(
        "/v1/wording",
        tags=["listings"],
        operation_id="auditWording",
        response_model=WordingAnswer,
        summary="Hold selling copy to the guidance of its market",
    )
    async def audit_wording(request: WordingRequest) -> dict[str, Any]:
        """What was found in each text, where, which provision it touches, why, and a wording that would do.

        `ask` means ask a person who may say so; `change` means change it or have it cleared, and is said only
        where the provision itself was read. A text is held to one market and read in one language; spans
        count code points. Texts are neither kept nor logged. Never legal advice.
        """
        release, day = await service.rules(request.ruleset, request.as_of, "wording")
        counts: WordingCounts = {"clear": 0, "ask": 0, "change": 0, "problem": 0}
        results: list[WordingResult | Problem] = []
        async for _, said in read_each(WordingText, request.texts, "texts"):
            if isinstance(said, ProblemError):
                counts["problem"] += 1
                results.append(said.problem())
            else:
                result = audit(release.compiled, said, day)
                counts[result["verdict"]] += 1  # type: ignore[literal-required]
                results.append(result)
                await asyncio.sleep(0)
        return {**around(release, day), "results": results, "counts": counts, "notice": WORDING_NOTICE}
