"""`/v1/pairings` and `/v1/side-stones`: a ring judged, and what to order for its sides."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import Field

from gradefloor.judge.bill import draw_up
from gradefloor.judge.cautions import cautions
from gradefloor.judge.findings import Question
from gradefloor.judge.geometry import take_geometry, tell_levers
from gradefloor.judge.ring_findings import (
    RING_NOTICE,
    Assumption,
    BillLine,
    Caution,
    Geometry,
    LeverAnswer,
    RankedSetting,
    Refused,
    SideStoneWindow,
)
from gradefloor.judge.rings import judge_ring, member
from gradefloor.judge.settings import rank_settings
from gradefloor.judge.side_stones import MOST, windows
from gradefloor.judge.stones import questions, worst_verdict
from gradefloor.rules.findings import Finding
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.assembly import Ring
from gradefloor.trade.settings import Finger, RingParts, Setting
from gradefloor.trade.shapes import ShapeName
from gradefloor.trade.stones import Stone
from gradefloor.web.problems import ProblemError
from gradefloor.web.service import Answered, Asked, Service, around


class PairingRequest(Asked, RingParts):
    """A ring to judge as a whole."""


class Pairing(Answered):
    """A ring, judged."""

    verdict: Annotated[
        str, Field(description="pass, ask or fail: the worst verdict among the findings.", examples=["ask"])
    ]
    findings: Annotated[list[Finding], Field(description="Worst first; every rule that applies.")]
    questions: Annotated[list[Question], Field(description="What to learn next; the first settles most.")]
    geometry: Geometry
    assumed: Annotated[
        list[Assumption], Field(description="What the geometry had to assume, by name and value.")
    ]
    levers: Annotated[
        list[LeverAnswer], Field(description="What closes the gap to a straight band, the cheapest first.")
    ]
    bill: Annotated[list[BillLine], Field(description="Stones to order.")]
    cautions: Annotated[list[Caution], Field(description="What to be careful with, whatever the verdict.")]
    settings: Annotated[
        list[RankedSetting],
        Field(description="Settings for this center, best first; only where the request has none."),
    ]
    notice: Annotated[str, Field(description="What this answer is not.")]


class SideStonesRequest(Asked):
    """A center that wants side stones."""

    center: Stone = Field(description="The stone in the middle, with its length and width.")
    setting: Setting | None = Field(None, description="What holds it.")
    finger: Finger | None = Field(None, description="Finger it is for; without it no span is kept.")
    side_shapes: list[ShapeName] | None = Field(
        None,
        min_length=1,
        max_length=MOST,
        description="Shapes to order; those that suit the center best if absent.",
    )


class SideStones(Answered):
    """Windows to order, for a pair."""

    windows: Annotated[list[SideStoneWindow], Field(description="Best first, at most five.")]
    refused: Annotated[list[Refused], Field(description="Shapes for which there is nothing to order.")]
    questions: Annotated[list[Question], Field(description="What has to be known before ordering.")]
    assumed: Annotated[list[Assumption], Field(description="What had to be assumed, by name and value.")]
    cautions: Annotated[list[Caution], Field(description="What to be careful with.")]
    notice: Annotated[str, Field(description="What this answer is not.")]


def routes(router: APIRouter, service: Service) -> None:
    @router.post(
        "/v1/pairings",
        tags=["rings"],
        operation_id="judgeRing",
        response_model=Pairing,
        summary="Judge a ring: center, setting, side stones, wedding band",
    )
    async def judge_whole_ring(request: PairingRequest) -> dict[str, object]:
        """Whether the parts suit each other and the finger, with the millimetres that decide it.

        What is not stated is assumed by name where only geometry needs it, and asked for where a verdict
        hangs on it. Without a setting the answer ranks settings for the center. Whether the center's own
        grades are good enough is what evaluations answer.
        """
        release, day = await service.rules(request.ruleset, request.as_of)
        rules = _with_rings(release.compiled)
        ring = Ring.of(request)
        said = judge_ring(rules, ring, day)
        return {
            **around(release, day),
            "verdict": worst_verdict(said),
            "findings": [one.finding for one in said],
            "questions": questions(rules, said, member),
            "geometry": take_geometry(ring),
            "levers": tell_levers(ring),
            "bill": draw_up(rules, ring),
            "assumed": _assumed(ring),
            "cautions": cautions(ring),
            "settings": rank_settings(rules, ring, day) if request.setting is None else [],
            "notice": RING_NOTICE,
        }

    @router.post(
        "/v1/side-stones",
        tags=["rings"],
        operation_id="orderSideStones",
        response_model=SideStones,
        summary="Millimetres of side stones to order",
    )
    async def order_side_stones(request: SideStonesRequest) -> dict[str, object]:
        """For each side shape the window to order in millimetres, with which the ring passes.

        Lengths lie against the center, widths reach away from it across the finger. Order by millimetre and
        angle, matched in pairs; the weight is only an estimate.
        """
        release, day = await service.rules(request.ruleset, request.as_of)
        rules = _with_rings(release.compiled)
        ring = Ring(request.center, request.setting or Setting(), finger=request.finger)
        found, refused = windows(rules, ring, request.side_shapes, day)
        missing = "stone.length_mm" if ring.measures_mm is None else None
        return {
            **around(release, day),
            "windows": found,
            "refused": refused,
            "questions": []
            if missing is None
            else [{"about": member(missing), "ask": rules.questions[missing], "settles": []}],
            "assumed": _assumed(ring),
            "cautions": cautions(ring),
            "notice": RING_NOTICE,
        }


def _with_rings(rules: CompiledRules) -> CompiledRules:
    if not rules.rings:
        raise ProblemError("rules_missing")
    return rules


def _assumed(ring: Ring) -> list[Assumption]:
    return [{"field": a.field, "value": a.value, "why": a.why} for a in ring.assumed]
