"""`/v1/evaluations`: one stone by POST or GET, many by batch."""

from datetime import date
from typing import Annotated, Any, ClassVar, Final

import orjson
from fastapi import APIRouter, Query
from pydantic import Field, SkipValidation, create_model
from typing_extensions import TypedDict

from gradefloor.judge.findings import Evaluation
from gradefloor.rules.catalog import Release
from gradefloor.trade.stones import Stone, Wire
from gradefloor.web import gate
from gradefloor.web.addresses import StoneQuery, freshness, stone_of
from gradefloor.web.lists import MAX_STONES, read_each
from gradefloor.web.problems import Problem, ProblemError
from gradefloor.web.route import Answer, LongList
from gradefloor.web.service import Answered, AskedOfStones, Service, around


class EvaluationRequest(AskedOfStones):
    """One stone to judge."""

    stone: Stone = Field(description="The stone.")


class BatchRequest(AskedOfStones):
    """Many stones to judge by the same rules and in the same context."""

    body_limit: ClassVar[int] = gate.LIST_LIMIT
    listed: ClassVar[str | None] = "stones"

    stones: list[SkipValidation[Stone | dict[str, Any]]] = Field(
        max_length=MAX_STONES,
        description="Stones; one that cannot be read gets a problem in its place.",
    )


Counts = TypedDict(
    "Counts",
    {
        "pass": Annotated[int, Field(description="Stones that pass.")],
        "ask": Annotated[int, Field(description="Stones about which something has to be learned first.")],
        "fail": Annotated[int, Field(description="Stones below a floor.")],
        "problem": Annotated[int, Field(description="Stones that could not be read.")],
    },
)


class Batch(Answered):
    """Answers in the order of the stones."""

    results: Annotated[
        list[Evaluation | Problem], Field(description="An evaluation, or a problem, for each stone.")
    ]
    counts: Annotated[Counts, Field(description="How many got which verdict.")]


EvaluationQuery: Final[type[Wire]] = create_model(
    "EvaluationQuery",
    __base__=StoneQuery,
    __doc__="One stone in an address: the flat fields of stone and context.",
)


def routes(router: APIRouter, service: Service) -> None:
    @router.post(
        "/v1/evaluations",
        tags=["evaluations"],
        operation_id="evaluateStone",
        response_model=Evaluation,
        summary="Judge one stone",
    )
    async def evaluate_stone(request: EvaluationRequest) -> Answer:
        """Every rule that applies to the stone, the worst verdict among them, and what to ask next.

        `pass` is good enough as stated, `fail` is below a floor, and `ask` means that something has to be
        learned first: the questions say what. The same request, exact version, `as_of` and service version
        give the same bytes.
        """
        release, day = await service.rules(request.ruleset, request.as_of)
        judged = service.judge(release, request.stone, request.context, day)
        return Answer(judged.written, verdict=judged.verdict)

    @router.get(
        "/v1/evaluations",
        tags=["evaluations"],
        operation_id="evaluateStoneFromAddress",
        response_model=Evaluation,
        summary="Judge one stone from an address that can be cached",
    )
    async def evaluate_address(query: Annotated[EvaluationQuery, Query()]) -> Answer:
        """The same answer as by POST, for a stone of flat fields.

        May be kept for five minutes, and for ever where `ruleset` is an exact version and `as_of` is given.
        """
        flat = query.model_dump(exclude_none=True)
        release, day = await service.rules(flat.get("ruleset"), flat.get("as_of"))
        judged = service.judge(release, *stone_of(flat), day)
        fresh = freshness(flat.get("as_of"), (flat.get("ruleset"), release))
        return Answer(judged.written, {"Cache-Control": fresh}, judged.verdict)

    @router.post(
        "/v1/evaluations/batch",
        tags=["evaluations"],
        operation_id="evaluateStones",
        response_model=Batch,
        summary="Judge many stones",
    )
    async def evaluate_stones(request: BatchRequest) -> Answer:
        """Up to 10,000 stones by the same rules and in the same context, answered in order.

        A stone that cannot be read gets a problem in its place; the others are judged.
        """
        release, day = await service.rules(request.ruleset, request.as_of)
        results, counts = await _judge_all(service, release, request, day)
        return Answer(LongList({**around(release, day), "results": [], "counts": counts}, "results", results))


async def _judge_all(
    service: Service, release: Release, request: BatchRequest, day: date
) -> tuple[list[bytes], dict[str, int]]:
    """Answers as bytes, which are smaller than what they are made from, and their count by verdict."""
    counts = {"pass": 0, "ask": 0, "fail": 0, "problem": 0}
    results = []
    async for _, stone in read_each(Stone, request.stones, "stones"):
        if isinstance(stone, ProblemError):
            answer, verdict = orjson.dumps(stone.problem()), "problem"
        else:
            judged = service.judge(release, stone, request.context, day)
            answer, verdict = judged.written, judged.verdict
        counts[verdict] += 1
        results.append(answer)
    return results, counts
