"""`/v1/readings`: supplier rows read into stones, with everything that stayed open."""

from typing import Annotated, Any, ClassVar, Final, Literal

from fastapi import APIRouter
from pydantic import AfterValidator, Field, SkipValidation
from typing_extensions import TypedDict

from gradefloor.judge.findings import Measures
from gradefloor.judge.measures import take_measures
from gradefloor.trade.columns import FIELDS
from gradefloor.trade.feed import Asking, FeedReader, ReportCard, report_card, separate_reused
from gradefloor.trade.figures import Figures
from gradefloor.trade.reading import Reading, propose_columns
from gradefloor.trade.stones import Origin, Stone
from gradefloor.web import gate
from gradefloor.web.load import Turn
from gradefloor.web.problems import FieldError, ProblemError
from gradefloor.web.service import Answered, Asked, Service, around

MAX_ROWS: Final = 10_000
NumberFormat = Literal["point", "comma"]


def _known_field(name: str) -> str:
    if name not in FIELDS:
        raise ValueError(f"one of {', '.join(sorted(FIELDS))}")
    return name


FieldName = Annotated[str, AfterValidator(_known_field), Field(json_schema_extra={"enum": [*sorted(FIELDS)]})]


class ReadingsRequest(Asked):
    """Rows as a supplier sent them."""

    body_limit: ClassVar[int] = gate.LIST_LIMIT

    rows: list[SkipValidation[dict[str, Any]]] = Field(
        max_length=MAX_ROWS, description="Rows: objects of any keys, one for each stone."
    )
    columns: dict[Annotated[str, Field(max_length=200)], FieldName] | None = Field(
        None,
        max_length=200,
        description="Field for each header that is to be read; proposed from the headers if absent.",
    )
    number_format: NumberFormat | dict[str, NumberFormat] | None = Field(
        None,
        description="What the decimal mark is, for the feed or by header; without it `1,234` stays open.",
    )
    origin: Origin | None = Field(None, description="What you know of the origin of the whole feed.")


class RowRemark(TypedDict):
    """Something about one field that its value alone does not tell."""

    field: Annotated[str, Field(description="Field of the stone.")]
    seen: Annotated[str, Field(description="What stood there, shortened to 80 characters.")]
    read_as: Annotated[str | None, Field(description="What it was read as, or the likeliest reading.")]
    kind: Annotated[str, Field(description="assumed, ambiguous, unreadable, contradiction or not_stated.")]
    ask: Annotated[str | None, Field(description="The question that would settle it.")]


class RowReading(TypedDict):
    """One row, read."""

    row: Annotated[int, Field(description="Place of the row in the request, counted from 0.")]
    outcome: Annotated[
        str, Field(description="accepted, ask (a question is open) or set_aside (of no use so far).")
    ]
    stone: Annotated[
        dict[str, Any] | None,
        Field(description="What was read, a Stone as evaluations take it; null if no shape is certain."),
    ]
    measures: Annotated[Measures, Field(description="What follows from the numbers that were read.")]
    remarks: Annotated[list[RowRemark], Field(description="What was assumed and what stayed open.")]


class Readings(Answered):
    """Rows in order, and what the feed is like."""

    results: Annotated[list[RowReading], Field(description="One for each row, in order.")]
    columns: Annotated[dict[str, str], Field(description="Field that each header was taken for.")]
    open_columns: Annotated[list[str], Field(description="Headers that were not read.")]
    report_card: Annotated[ReportCard, Field(description="What the feed is like.")]


def routes(router: APIRouter, service: Service) -> None:
    @router.post(
        "/v1/readings",
        tags=["readings"],
        operation_id="readRows",
        response_model=Readings,
        summary="Read supplier rows into stones",
    )
    async def read_rows(request: ReadingsRequest) -> dict[str, Any]:
        """Rows of free keys become stones that evaluations take; what stayed open is said, never guessed.

        Only mapped columns are read and repeated; the others appear by their header alone. Numbers are held
        against each other, and rows that share a report number against each other.
        """
        release, day = service.resolve(request.ruleset, request.as_of)
        _check(request)
        headers = list(dict.fromkeys(header for row in request.rows for header in row))
        columns = request.columns
        if columns is None:
            columns = propose_columns(headers).columns
        reader = FeedReader(Asking(columns, request.number_format, request.origin))
        readings, turn = [], Turn()
        for row in request.rows:
            if turn.over:
                await turn.next()
            readings.append(reader.read(row)[0])
        results, readings = [], separate_reused(readings)
        for index, reading in enumerate(readings):
            if turn.over:
                await turn.next()
            results.append(_result(index, reading))
        return {
            **around(release, day),
            "results": results,
            "columns": columns,
            "open_columns": [header for header in headers if header not in columns],
            "report_card": report_card(request.rows, readings, columns),
        }


def _check(request: ReadingsRequest) -> None:
    errors: list[FieldError] = [
        {"pointer": f"/rows/{index}", "found": "no object", "allowed": "a row"}
        for index, row in enumerate(request.rows)
        if not isinstance(row, dict)
    ]
    if errors:
        raise ProblemError("request_invalid", errors)


def _measures(reading: Reading) -> Measures:
    return {} if reading.stone is None else take_measures(Figures(Stone.model_validate(reading.stone)))


def _result(index: int, reading: Reading) -> dict[str, Any]:
    return {
        "row": index,
        "outcome": reading.outcome,
        "stone": reading.stone,
        "measures": _measures(reading),
        "remarks": [
            {
                "field": remark.field,
                "seen": remark.seen,
                "read_as": remark.read_as,
                "kind": remark.kind,
                "ask": remark.ask,
            }
            for remark in reading.remarks
        ],
    }
