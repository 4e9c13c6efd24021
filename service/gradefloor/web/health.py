"""`/health`: whether the process lives, and whether it is ready to answer."""

from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter
from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.web.problems import ProblemError
from gradefloor.web.route import Answer
from gradefloor.web.service import Service


class Live(TypedDict):
    """The process answers."""

    status: Annotated[str, Field(description="live", examples=["live"])]


class RulesState(TypedDict):
    """How the last look at the rule files went."""

    state: Annotated[
        str,
        Field(
            description="current, or refused: what was found has faults, and the last good rules answer.",
            examples=["current"],
        ),
    ]
    since: Annotated[str, Field(description="Since when it has been so (UTC).")]
    looked_at: Annotated[str, Field(description="When the files were last looked at (UTC).")]
    reason: Annotated[str | None, Field(description="How many faults, and where the first is; null if none.")]


class Ready(TypedDict):
    """The catalogue is loaded."""

    status: Annotated[str, Field(description="ready", examples=["ready"])]
    rulesets: Annotated[list[str], Field(description="Versions that can be asked for.")]
    rules: RulesState


def routes(router: APIRouter, service: Service) -> None:
    @router.get(
        "/health/live",
        tags=["operations"],
        operation_id="getLiveness",
        response_model=Live,
        summary="Does it live",
    )
    async def get_liveness() -> Answer:
        """Answers as long as the process does; never depends on rules."""
        return Answer({"status": "live"}, {"Cache-Control": "no-store"})

    @router.get(
        "/health/ready",
        tags=["operations"],
        operation_id="getReadiness",
        response_model=Ready,
        summary="Is it ready",
    )
    async def get_readiness() -> Answer:
        """Answers once the catalogue is loaded.

        Not ready from the moment that it is asked to stop, so that no new work is sent. Stays ready while
        newer rule files are refused: the last good ones answer, and `rules` says so.
        """
        if service.load.draining:
            raise ProblemError("draining")
        names = [f"{release.name}@{release.version}" for release in service.catalog]
        last = service.renewal
        rules: RulesState = {
            "state": last.state,
            "since": _moment(last.since),
            "looked_at": _moment(last.looked_at),
            "reason": last.reason,
        }
        return Answer({"status": "ready", "rulesets": names, "rules": rules}, {"Cache-Control": "no-store"})


def _moment(moment: datetime) -> str:
    """RFC 3339, whole seconds, UTC."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
