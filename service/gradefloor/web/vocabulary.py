"""`/v1/vocabulary`: the words that requests may use."""

from typing import Annotated, Final, get_args

from fastapi import APIRouter
from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.trade import grades
from gradefloor.trade.shapes import GROUPS, SHAPES
from gradefloor.trade.stones import METAL_TONES, Material, Origin, Treatment
from gradefloor.web.route import Answer


class ShapeWord(TypedDict):
    """One shape."""

    name: Annotated[str, Field(description="Word to send.", examples=["emerald"])]
    title: Annotated[str, Field(description="Words to show.")]
    facet_family: Annotated[str, Field(description="brilliant, modified_brilliant, step, mixed, old, rose.")]
    outline: Annotated[str, Field(description="Outline, seen face up.")]
    corners: Annotated[str, Field(description="none, rounded, cut or points.")]
    points: Annotated[int, Field(description="Sharp tips that can chip.")]
    length_is_axis: Annotated[bool, Field(description="Whether the length may be the smaller number.")]
    role: Annotated[str, Field(description="Usual place: center, side or melee.")]
    groups: Annotated[list[str], Field(description="Groups of shapes that rules speak of.")]


class ScaleWords(TypedDict):
    """One ordered scale."""

    name: Annotated[str, Field(description="What is graded.")]
    grades: Annotated[list[str], Field(description="Best, thinnest or smallest first.")]


class MetalWord(TypedDict):
    """One metal."""

    name: Annotated[str, Field(description="Word to send.")]
    tone: Annotated[str, Field(description="white or warm: what the eye compares the stone with.")]


class Vocabulary(TypedDict):
    """All words, each in the one spelling that requests accept."""

    shapes: Annotated[list[ShapeWord], Field(description="Shapes.")]
    scales: Annotated[list[ScaleWords], Field(description="Ordered scales.")]
    metals: Annotated[list[MetalWord], Field(description="Metals of a head.")]
    materials: Annotated[list[str], Field(description="What a stone may be made of.")]
    origins: Annotated[list[str], Field(description="Mined or made.")]
    treatments: Annotated[list[str], Field(description="Treatments.")]


_SCALES: Final = (
    grades.COLOR,
    grades.CLARITY,
    grades.FINISH,
    grades.FLUORESCENCE,
    grades.GIRDLE,
    grades.CULET,
)

VOCABULARY: Final[Vocabulary] = {
    "shapes": [
        {
            "name": shape.name,
            "title": shape.title,
            "facet_family": shape.facet_family,
            "outline": shape.outline,
            "corners": shape.corners,
            "points": shape.points,
            "length_is_axis": shape.length_is_axis,
            "role": shape.role,
            "groups": [group for group, members in GROUPS.items() if shape.name in members],
        }
        for shape in SHAPES.values()
    ],
    "scales": [{"name": scale.name, "grades": list(scale.grades)} for scale in _SCALES],
    "metals": [{"name": metal, "tone": tone} for metal, tone in METAL_TONES.items()],
    "materials": list(get_args(Material)),
    "origins": list(get_args(Origin)),
    "treatments": list(get_args(Treatment)),
}


def routes(router: APIRouter) -> None:
    @router.get(
        "/v1/vocabulary",
        tags=["rule sets"],
        operation_id="getVocabulary",
        response_model=Vocabulary,
        summary="Words of the trade",
    )
    async def get_vocabulary() -> Answer:
        """Shapes, scales, metals, materials: every word that a request may use, and how it is spelled."""
        return Answer(VOCABULARY, {"Cache-Control": "public, max-age=300"})
