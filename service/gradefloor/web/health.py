"""`/health`: whether the process lives, and whether it is ready to answer."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.web.route import Answer
from gradefloor.web.service import Service


class Live(TypedDict):
    """The process answers."""

    status: Annotated[str, Field(description="live", examples=["live"])]


class Ready(TypedDict):
    """The catalogue is loaded."""

    status: Annotated[str, Field(description="ready", examples=["ready"])]
    rulesets: Annotated[list[str], Field(description="Versions that can be asked for.")]


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
        """Answers once the catalogue is loaded."""
        names = [f"{release.name}@{release.version}" for release in service.catalog]
        return Answer({"status": "ready", "rulesets": names}, {"Cache-Control": "no-store"})
