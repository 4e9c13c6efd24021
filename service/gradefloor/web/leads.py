"""`/v1/leads`: what a customer asked, read, tagged and answered with the next questions."""

import asyncio
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field

from gradefloor.judge import lead_reading
from gradefloor.judge.advice_findings import ADVICE_NOTICE, Conflict
from gradefloor.judge.asking import LeadQuestion, ask_best, askings, decisiveness
from gradefloor.judge.leads import Priority, TagAnswer, is_an_errand, weigh
from gradefloor.judge.message_findings import OpenAnswer, ReadAnswer
from gradefloor.trade.leads import Lead
from gradefloor.web.advice import with_advice
from gradefloor.web.service import Answered, Asked, Service, around


class LeadRequest(Asked):
    """A lead, in fields and in its own words."""

    lead: Lead = Field(description="The lead. Names, addresses, telephones and mail addresses are refused.")


class LeadAnswer(Answered):
    """A lead, read."""

    lead_id: Annotated[str | None, Field(description="Your reference, repeated.")]
    language: Annotated[
        str | None, Field(description="Language by which the message was read; null if none.")
    ]
    tags: Annotated[list[TagAnswer], Field(description="Words for the CRM, each with its trigger.")]
    priority: Annotated[Priority | None, Field(description="How soon a person should look.")]
    questions: Annotated[
        list[LeadQuestion],
        Field(description="At most three, those whose answers change the advice most."),
    ]
    conflicts: Annotated[list[Conflict], Field(description="What of the wish cannot be had together.")]
    wish: Annotated[
        dict[str, Any], Field(description="The wish as read and stated, to send to specifications.")
    ]
    lead: Annotated[
        dict[str, Any], Field(description="What else was read or stated: day, finger guess and others.")
    ]
    read: Annotated[list[ReadAnswer], Field(description="What was read from the message, and where.")]
    open: Annotated[list[OpenAnswer], Field(description="What the message touches and does not settle.")]
    notice: Annotated[str, Field(description="What this answer is not.")]


def routes(router: APIRouter, service: Service) -> None:
    @router.post(
        "/v1/leads",
        tags=["advice"],
        operation_id="readLead",
        response_model=LeadAnswer,
        summary="Read a lead: tags, priority, conflicts, the next questions",
    )
    async def read_one(request: LeadRequest) -> dict[str, object]:
        """What a message and its fields wish for, as a wish ready for specifications, and what to ask next.

        Of the message only numbers, days and words of the contract come back, with where they stand, counted
        in code points; it is neither kept nor logged. A budget is never taken to be for the stone alone. What
        is asked is worked out: the questions whose answers change the advice most.
        """
        release, day = await service.rules(request.ruleset, request.as_of)
        rules, lead = with_advice(release.compiled), request.lead
        lead, reading = lead_reading.read_lead(rules, lead, day)
        weighed = weigh(rules, lead, day)
        questions: list[LeadQuestion] = []
        if not is_an_errand(lead):
            found = []
            for asking in askings(rules, lead, day):
                found.append((asking, decisiveness(rules, asking, day)))
                await asyncio.sleep(0)
            questions = ask_best(rules, found)
        read, still_open = lead_reading.told(reading)
        members = lead.model_dump(
            mode="json", exclude_none=True, exclude={"id", "message", "language", "wish"}
        )
        return {
            **around(release, day),
            "lead_id": lead.id,
            "language": reading.language,
            "tags": weighed.tags,
            "priority": weighed.priority,
            "questions": questions,
            "conflicts": weighed.conflicts,
            "wish": {} if lead.wish is None else lead.wish.model_dump(mode="json", exclude_none=True),
            "lead": members,
            "read": read,
            "open": still_open,
            "notice": ADVICE_NOTICE,
        }
