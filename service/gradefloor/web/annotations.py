"""`/v1/annotations`: what a shop's page says of its stones, and the script that shows it there."""

import asyncio
from typing import Annotated, Any, ClassVar, Final

from fastapi import APIRouter, FastAPI, Query
from pydantic import Field, SkipValidation, create_model
from starlette.requests import Request
from starlette.responses import Response

from gradefloor.judge.findings import RuleSetName
from gradefloor.judge.listings import Annotation, annotate
from gradefloor.judge.wording import WORDING_NOTICE
from gradefloor.trade.listings import Language, Listing, Market
from gradefloor.trade.stones import Wire
from gradefloor.web import gate
from gradefloor.web.addresses import StoneQuery, freshness, stone_of
from gradefloor.web.lists import read_each
from gradefloor.web.pages import read_asset
from gradefloor.web.problems import Problem, ProblemError
from gradefloor.web.route import Answer
from gradefloor.web.service import Answered, Asked, RuleSetReference, Service, around, name_of

MAX_LISTINGS: Final = 1_000
# Some 40 ms a stone: whoever sends more waits for it only if they ask for it.
MAX_FITTED: Final = 50
PATH: Final = "/v1/annotations"
SCRIPT_PATH: Final = "/embed/stone-note.js"

WordingReference = Annotated[
    RuleSetReference | None,
    Field(description="Rule set about wording, by name or name@version; `wording` if absent."),
]


class AnnotationRequest(Asked):
    """Listings to annotate."""

    body_limit: ClassVar[int] = gate.LIST_LIMIT
    listed: ClassVar[str | None] = "listings"

    listings: list[SkipValidation[Listing | dict[str, Any]]] = Field(
        max_length=MAX_LISTINGS,
        description="Listings; one that cannot be read gets a problem in its place.",
    )
    wording_ruleset: WordingReference = None
    fits: bool | None = Field(
        None,
        strict=True,
        description="Whether to work out what goes with each stone, which is nearly all of the work; absent, "
        f"it is done for up to {MAX_FITTED} listings.",
    )


class Annotations(Answered):
    """Answers in the order of the listings."""

    wording_ruleset: RuleSetName
    results: Annotated[
        list[Annotation | Problem], Field(description="An annotation, or a problem, for each listing.")
    ]
    notice: Annotated[str, Field(description="What the audit of wording is not.")]


AnnotationQuery: Final[type[Wire]] = create_model(
    "AnnotationQuery",
    __base__=StoneQuery,
    __doc__="One listing in an address: the flat fields of its stone and context.",
    market=(Market, Field(description="Whose guidance the texts are held to.")),
    language=(Language | None, Field(None, description="Language to answer in.")),
    wording_ruleset=(WordingReference, None),
    fits=(bool | None, Field(None, description="Whether to work out what goes with it; yes if absent.")),
)


def routes(router: APIRouter, service: Service) -> None:
    @router.post(
        PATH,
        tags=["listings"],
        operation_id="annotateListings",
        response_model=Annotations,
        summary="Write what a shop's page says of its stones",
    )
    async def annotate_listings(request: AnnotationRequest) -> dict[str, Any]:
        """Labels, a short and a long sentence, size, what fits, cautions, what is missing, wording, JSON-LD.

        Everything is written from the findings of an evaluation, in English or French, in words that the
        market accepts; the shop's own title and description are audited beside it. The data for search
        engines names only what is stated.
        """
        release, day = await service.rules(request.ruleset, request.as_of)
        wording, _ = await service.rules(request.wording_ruleset, request.as_of, "wording")
        fits = len(request.listings) <= MAX_FITTED if request.fits is None else request.fits
        results: list[Annotation | Problem] = []
        async for _, listing in read_each(Listing, request.listings, "listings"):
            if isinstance(listing, ProblemError):
                results.append(listing.problem())
            else:
                results.append(annotate(release.compiled, wording.compiled, listing, day, fits=fits))
                await asyncio.sleep(0)
        return {
            **around(release, day),
            "wording_ruleset": name_of(wording),
            "results": results,
            "notice": WORDING_NOTICE,
        }

    @router.get(
        PATH,
        tags=["listings"],
        operation_id="annotateListingFromAddress",
        response_model=Annotations,
        summary="Write what a page says of one stone, from an address that can be cached",
    )
    async def annotate_address(query: Annotated[AnnotationQuery, Query()]) -> Answer:
        """The same answer as by POST for one stone of flat fields, for a page view.

        May be kept for five minutes, and for ever where both rule sets are exact versions and `as_of` is
        given. The script at `/embed/stone-note.js` shows it in a page.
        """
        flat = query.model_dump(exclude_none=True)
        as_of, references = flat.get("as_of"), (flat.get("ruleset"), flat.get("wording_ruleset"))
        release, day = await service.rules(references[0], as_of)
        wording, _ = await service.rules(references[1], as_of, "wording")
        stone, context = stone_of(flat)
        listing = Listing(stone=stone, context=context, market=flat["market"], language=flat.get("language"))
        answer = {
            **around(release, day),
            "wording_ruleset": name_of(wording),
            "results": [
                annotate(release.compiled, wording.compiled, listing, day, fits=flat.get("fits", True))
            ],
            "notice": WORDING_NOTICE,
        }
        fresh = freshness(as_of, (references[0], release), (references[1], wording))
        return Answer(answer, {"Cache-Control": fresh, "Content-Language": listing.spoken})


def serve_script(app: FastAPI) -> None:
    """The script for a shop's page; any page may load it, since it holds nothing of anybody."""
    script = read_asset("stone-note.js")

    async def get_script(_request: Request) -> Response:
        return Response(
            script,
            media_type="text/javascript",
            headers={
                "Cache-Control": "public, max-age=300",
                "Access-Control-Allow-Origin": "*",
                "Cross-Origin-Resource-Policy": "cross-origin",
                "X-Content-Type-Options": "nosniff",
            },
        )

    app.add_route(SCRIPT_PATH, get_script, methods=["GET"])
