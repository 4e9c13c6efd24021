"""`/v1/comparisons` and `/v1/opinions`: stones beside each other, and one stone under several rule sets."""

from typing import Annotated, Any, ClassVar, Final

from fastapi import APIRouter
from pydantic import ConfigDict, Field, model_validator
from typing_extensions import TypedDict

from gradefloor import __version__
from gradefloor.judge.advice_findings import ADVICE_NOTICE, ShapeAdvice
from gradefloor.judge.comparisons import Comparison, compare, usual_stones
from gradefloor.judge.differences import judge_side
from gradefloor.judge.findings import NOTICE, Evaluation
from gradefloor.judge.opinions import Agreement, Disagreement, where_they_meet
from gradefloor.judge.stones import evaluate
from gradefloor.trade.shapes import ShapeName
from gradefloor.trade.stones import Carat, Context, Stone, Wire
from gradefloor.trade.wishes import PricedStone
from gradefloor.web import gate
from gradefloor.web.advice import with_advice
from gradefloor.web.service import Answered, AskedOfStones, AsOf, RuleSetReference, Service, around

NOT_ADVISED: Final = "About some of these shapes the rules do not advise; they are left out."
MOST_STONES: Final = 6
MOST_SHAPES: Final = 4
MOST_OPINIONS: Final = 4


def _stones_or_shapes(schema: dict[str, Any]) -> None:
    """Lets the contract say that it is either stones, or shapes at one weight."""
    nothing = {"type": "null"}
    schema["oneOf"] = [
        {
            "title": "Stones",
            "properties": {"stones": {"type": "array"}, "shapes": nothing, "carat": nothing},
            "required": ["stones"],
        },
        {
            "title": "Shapes at one weight",
            "properties": {"stones": nothing, "shapes": {"type": "array"}, "carat": {"type": "number"}},
            "required": ["shapes", "carat"],
        },
    ]


class ComparisonRequest(AskedOfStones):
    """Stones, or shapes before there is a stone."""

    model_config = ConfigDict(json_schema_extra=_stones_or_shapes)

    stones: list[PricedStone] | None = Field(
        None, min_length=2, max_length=MOST_STONES, description="Two to six stones; prices in one currency."
    )
    shapes: list[ShapeName] | None = Field(
        None, min_length=2, max_length=MOST_SHAPES, description="Two to four shapes; with `carat`."
    )
    carat: Carat | None = Field(None, description="Weight at which shapes are compared, in carat.")

    @model_validator(mode="after")
    def _one_of_both(self) -> "ComparisonRequest":
        if (self.stones is None) == (self.shapes is None) or (self.shapes is None) != (self.carat is None):
            raise ValueError("either stones, or shapes together with carat")
        return self


class ComparisonAnswer(Answered, Comparison):
    """Stones side by side."""

    shapes: Annotated[
        list[ShapeAdvice],
        Field(
            description="Where shapes were asked for, what to look for in each; the stones are usual ones."
        ),
    ]
    notice: Annotated[str, Field(description="What this answer is not.")]


class OpinionRequest(Wire):
    """One stone, and the rule sets to ask."""

    body_limit: ClassVar[int] = gate.SINGLE_LIMIT

    stone: Stone = Field(description="The stone.")
    context: Context | None = Field(None, description="What the stone is meant for.")
    rulesets: list[RuleSetReference] = Field(
        min_length=1, max_length=MOST_OPINIONS, description="Rule sets to ask, one to four."
    )
    as_of: AsOf | None = None


class Opinions(TypedDict):
    """One stone under several rule sets."""

    as_of: Annotated[str, Field(description="Day for which it was answered, YYYY-MM-DD (UTC).")]
    service_version: Annotated[str, Field(description="Version of the service that answered.")]
    opinions: Annotated[list[Evaluation], Field(description="One evaluation each, in the order asked.")]
    agree: Annotated[list[Agreement], Field(description="Topics on which all come to the same verdict.")]
    differ: Annotated[list[Disagreement], Field(description="Topics on which they do not.")]
    notice: Annotated[str, Field(description="What this answer is not.")]


def routes(router: APIRouter, service: Service) -> None:
    @router.post(
        "/v1/comparisons",
        tags=["advice"],
        operation_id="compareStones",
        response_model=ComparisonAnswer,
        summary="Lay stones side by side, or shapes at one weight",
    )
    async def compare_stones(request: ComparisonRequest) -> dict[str, object]:
        """What an eye can see apart, what only paper shows, and what would have to be true to prefer each.

        Sizes are ordered by computed millimetres, never by the name of a shape. Nothing is better as such.
        """
        release, day = await service.rules(request.ruleset, request.as_of)
        rules, context = with_advice(release.compiled), request.context
        shapes: list[ShapeAdvice] = []
        if request.shapes is None or request.carat is None:
            sides = [judge_side(rules, stone, context, day) for stone in request.stones or ()]
        else:
            sides, shapes = usual_stones(rules, request.shapes, request.carat, context, day)
        found = compare(rules, sides, context)
        if len(sides) < len(request.shapes or ()):
            found["notes"].append({"about": "unsaid", "says": NOT_ADVISED})
        return {
            **around(release, day),
            **found,
            "shapes": shapes,
            "notice": ADVICE_NOTICE,
        }

    @router.post(
        "/v1/opinions",
        tags=["advice"],
        operation_id="askOpinions",
        response_model=Opinions,
        summary="One stone under several rule sets",
    )
    async def ask_opinions(request: OpinionRequest) -> dict[str, object]:
        """Where schools agree about a stone, where they differ, and which rules make the difference.

        Neither of them is right as such: a rule says how far practitioners differ, and the wearer decides.
        """
        asked = [await service.rules(reference, request.as_of) for reference in request.rulesets]
        opinions = [evaluate(release.compiled, request.stone, request.context, day) for release, day in asked]
        agree, differ = where_they_meet(opinions)
        return {
            "as_of": asked[0][1].isoformat(),
            "service_version": __version__,
            "opinions": opinions,
            "agree": agree,
            "differ": differ,
            "notice": NOTICE,
        }
