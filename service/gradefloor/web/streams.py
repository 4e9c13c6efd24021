"""`/v1/evaluations/stream`: any number of stones, line by line."""

from datetime import date
from typing import Annotated, Any, Final, NotRequired

import orjson
from fastapi import APIRouter, Query, Request
from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.judge.findings import Evaluation
from gradefloor.rules.catalog import Release
from gradefloor.trade.stones import Context, Stone, Wire
from gradefloor.web import gate, lines
from gradefloor.web.journal import record
from gradefloor.web.lines import Answerer, LineStream
from gradefloor.web.problems import Problem, ProblemError
from gradefloor.web.service import AsOf, RuleSetReference, Service

PATH: Final = "/v1/evaluations/stream"


class LineRequest(Wire):
    """One line of a stream: a stone, with or without a context of its own."""

    stone: Stone = Field(description="The stone.")
    context: Context | None = Field(None, description="What it is meant for; the query's if absent.")


class LineAnswer(TypedDict):
    """One line of the answer: an evaluation or a problem."""

    line: Annotated[int, Field(description="Number of the line that is answered, counted from 1.")]
    evaluation: NotRequired[Annotated[Evaluation, Field(description="The stone of that line, judged.")]]
    problem: NotRequired[Annotated[Problem, Field(description="Why that line cannot be judged.")]]


class StreamQuery(Context):
    """What holds for every line of a stream that says nothing else."""

    ruleset: RuleSetReference | None = None
    as_of: AsOf | None = None


# A schema describes one JSON text, and a stream is many: the contract says what each line is.
_CONTRACT: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": {
            lines.MEDIA_TYPE: {
                "schema": {"type": "string", "description": "One Stone or LineRequest a line, in UTF-8."},
                "x-line-schema": {
                    "anyOf": [
                        {"$ref": "#/components/schemas/Stone"},
                        {"$ref": "#/components/schemas/LineRequest"},
                    ]
                },
            }
        },
    },
    "responses": {
        "200": {
            "description": "One line for every line that is not blank, in order.",
            "content": {
                lines.MEDIA_TYPE: {
                    "schema": {"type": "string", "description": "One LineAnswer a line, in UTF-8."},
                    "x-line-schema": {"$ref": "#/components/schemas/LineAnswer"},
                }
            },
        }
    },
}


def routes(router: APIRouter, service: Service) -> None:
    @router.post(
        PATH,
        tags=["evaluations"],
        operation_id="evaluateStream",
        openapi_extra=_CONTRACT,
        summary="Judge any number of stones, line by line",
    )
    async def evaluate_stream(query: Annotated[StreamQuery, Query()], request: Request) -> LineStream:
        """NDJSON in, NDJSON out: one answer line for every line that is not blank, in order.

        A line is a stone, or an object with `stone` and `context`. A line that cannot be read gets a
        problem in its place. Answers begin before the body ends, and a client need not read before it has
        sent everything.
        """
        gate.check_headers(request, lines.MEDIA_TYPE)
        release, day = await service.rules(query.ruleset, query.as_of)
        flat = query.model_dump(exclude_none=True, exclude={"ruleset", "as_of"})
        context = Context.model_validate(flat) if flat else None
        return LineStream(_line_answerer(service, release, context, day), service.load)


def _line_answerer(service: Service, release: Release, context: Context | None, day: date) -> Answerer:
    """Judges one line of a stream; whatever is wrong with it is said in its place."""

    told = record.get()

    def answer(number: int, line: bytes | None) -> bytes | None:
        if line is None:
            too_long = ProblemError("body_too_large", detail="A line of a stream takes 64 KB.")
            return orjson.dumps({"line": number, "problem": too_long.problem()})
        if not line.strip():
            return None
        try:
            value = gate.read_json(line)
            wrapped = value if isinstance(value, dict) and "stone" in value else {"stone": value}
            asked = gate.validate(LineRequest, wrapped)
        except ProblemError as error:
            return orjson.dumps({"line": number, "problem": error.problem()})
        judged = service.judge(release, asked.stone, asked.context or context, day)
        if told is not None:
            told.count(judged.verdict)
        return orjson.dumps({"line": number, "evaluation": orjson.Fragment(judged.written)})

    return answer
