"""`/v1/rulesets/{name}/changes`: what differs between two versions, and whose verdict moves."""

from datetime import date
from typing import Annotated, Any, ClassVar, NotRequired

from fastapi import APIRouter, Query
from pydantic import Field, SkipValidation
from typing_extensions import TypedDict

from gradefloor.judge.findings import RuleSetName
from gradefloor.judge.impact import Impact, ImpactCount
from gradefloor.rules.catalog import Release
from gradefloor.rules.changes import Differences, differences
from gradefloor.trade.stones import Context, Stone, Wire
from gradefloor.web import gate
from gradefloor.web.lists import MAX_STONES, read_each
from gradefloor.web.problems import FieldError, Problem, ProblemError
from gradefloor.web.route import Answer
from gradefloor.web.rulesets import SOON, VERSION, Name, find_version
from gradefloor.web.service import Answered, AsOf, Service, around, name_of

_Version = Annotated[
    str, Field(pattern=VERSION, max_length=40, description="Version, exact or the beginning of one.")
]


class ChangesQuery(Wire):
    """Two versions of one name."""

    from_: _Version | None = Field(
        None, alias="from", description="Older version; the one before `to` if absent.", examples=["1.1.0"]
    )
    to: _Version | None = Field(
        None, description="Newer version, a draft as well; the newest in force if absent.", examples=["1.3.0"]
    )


class ImpactRequest(ChangesQuery):
    """Stones to judge by two versions of one name."""

    body_limit: ClassVar[int] = gate.LIST_LIMIT
    listed: ClassVar[str | None] = "stones"

    stones: list[SkipValidation[Stone | dict[str, Any]]] = Field(
        max_length=MAX_STONES, description="Stones; one that cannot be read is left out and told."
    )
    context: Context | None = Field(None, description="What the stones are meant for.")
    as_of: AsOf | None = None


class UnreadStone(TypedDict):
    """A stone that was not judged."""

    place: Annotated[int, Field(description="Its place in what was sent, from 0.")]
    problem: Annotated[Problem, Field(description="What is wrong with it.")]


class Changes(Answered):
    """What differs between two versions; `ruleset` is the newer one."""

    before: Annotated[RuleSetName, Field(description="The older version.")]
    differences: Differences
    impact: NotRequired[Annotated[Impact, Field(description="Whose verdict moves, where stones were sent.")]]
    unread: NotRequired[
        Annotated[list[UnreadStone], Field(description="Stones that could not be read, where any were sent.")]
    ]


def routes(router: APIRouter, service: Service) -> None:
    @router.get(
        "/v1/rulesets/{name}/changes",
        tags=["rule sets"],
        operation_id="compareVersions",
        response_model=Changes,
        summary="What differs between two versions",
    )
    async def compare_versions(name: Name, query: Annotated[ChangesQuery, Query()]) -> Answer:
        """Rules that came, went or read otherwise, with every place that differs."""
        return Answer(_compared(*_pair(service, name, query, None)), {"Cache-Control": SOON})

    @router.post(
        "/v1/rulesets/{name}/changes",
        tags=["rule sets"],
        operation_id="measureImpact",
        summary="Whose verdict moves between two versions",
    )
    async def measure_impact(name: Name, request: ImpactRequest) -> Changes:
        """The same differences, and what they do to your stones: how many verdicts move, from what to what,
        by which rules, with up to three of them as examples.
        """
        older, newer, day = _pair(service, name, request, request.as_of)
        if {older.rules.subject, newer.rules.subject} != {"stones"}:
            raise ProblemError("rules_missing")
        await service.prepare(older)
        await service.prepare(newer)
        counted = ImpactCount(older.compiled, newer.compiled, request.context, day)
        unread: list[UnreadStone] = []
        async for place, stone in read_each(Stone, request.stones, "stones"):
            if isinstance(stone, ProblemError):
                unread.append({"place": place, "problem": stone.problem()})
            else:
                counted.add(place, stone)
        compared = _compared(older, newer, day)
        compared["impact"] = counted.result()
        compared["unread"] = unread
        return compared


def _pair(
    service: Service, name: str, asked: ChangesQuery, as_of: date | None
) -> tuple[Release, Release, date]:
    """The older and the newer version, and the day to judge for."""
    newer, day = find_version(service, name, asked.to, as_of)
    if asked.from_ is not None:
        older, _ = find_version(service, name, asked.from_, as_of)
        if older.key > newer.key:
            place: FieldError = {"pointer": "/from", "found": "a newer version", "allowed": "one before `to`"}
            raise ProblemError("request_invalid", [place])
        return older, newer, day
    earlier = [one for one in service.catalog.releases[name] if one.key < newer.key]
    if not earlier:
        raise ProblemError("version_unknown")
    return earlier[-1], newer, day


def _compared(older: Release, newer: Release, day: date) -> Changes:
    answered = around(newer, day)
    return {
        "ruleset": answered["ruleset"],
        "as_of": answered["as_of"],
        "service_version": answered["service_version"],
        "before": name_of(older),
        "differences": differences(older.rules, newer.rules),
    }
