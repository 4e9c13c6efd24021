"""`/v1/vocabulary`: the words that requests may use."""

from collections.abc import Mapping
from typing import Annotated, Final, get_args

from fastapi import APIRouter
from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.trade import grades, leads, listings, settings, spellings, wishes
from gradefloor.trade.cells import key
from gradefloor.trade.rings import SizeSystem
from gradefloor.trade.shapes import GROUPS, SHAPES
from gradefloor.trade.stones import METAL_TONES, Material, Origin, Treatment, Wear
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
    spellings: Annotated[
        list[str],
        Field(description="What readings take for it, besides its name: letters and digits alone count."),
    ]


class ScaleWords(TypedDict):
    """One ordered scale."""

    name: Annotated[str, Field(description="What is graded.")]
    grades: Annotated[list[str], Field(description="Best, thinnest or smallest first.")]
    spellings: Annotated[
        dict[str, list[str]], Field(description="What readings take for each grade, besides its name.")
    ]


class MetalWord(TypedDict):
    """One metal."""

    name: Annotated[str, Field(description="Word to send.")]
    tone: Annotated[str, Field(description="white or warm: what the eye compares the stone with.")]


class SharedSpelling(TypedDict):
    """A code that stands for more than one shape, and is therefore never guessed."""

    spelling: Annotated[str, Field(description="Code as suppliers write it.")]
    shapes: Annotated[list[str], Field(description="Shapes it may stand for.")]


class MemberWords(TypedDict):
    """The words that one member of a request takes."""

    member: Annotated[str, Field(description="Dotted path in a request.", examples=["wish.tastes"])]
    words: Annotated[list[str], Field(description="Words to send.")]


class Vocabulary(TypedDict):
    """All words: the one spelling that requests take, and the many that readings take."""

    shapes: Annotated[list[ShapeWord], Field(description="Shapes.")]
    shared_spellings: Annotated[list[SharedSpelling], Field(description="Codes that are asked about.")]
    scales: Annotated[list[ScaleWords], Field(description="Ordered scales.")]
    metals: Annotated[list[MetalWord], Field(description="Metals of a head.")]
    materials: Annotated[list[str], Field(description="What a stone may be made of.")]
    origins: Annotated[list[str], Field(description="Mined or made.")]
    treatments: Annotated[list[str], Field(description="Treatments.")]
    members: Annotated[list[MemberWords], Field(description="Words about rings, wishes, leads and copy.")]


_SCALES: Final[tuple[tuple[grades.Scale, Mapping[str, str]], ...]] = (
    (grades.COLOR, spellings.COLOR_NAMES),
    (grades.CLARITY, spellings.CLARITY_WORDS),
    (grades.FINISH, spellings.FINISH_WORDS),
    (grades.FLUORESCENCE, spellings.FLUORESCENCE_WORDS),
    (grades.GIRDLE, spellings.GIRDLE_WORDS),
    (grades.CULET, spellings.CULET_WORDS),
)


_MEMBERS: Final[dict[str, object]] = {
    "setting.head": settings.Head,
    "setting.shank": settings.Shank,
    "setting.shoulders": settings.Shoulders,
    "setting.orientation": settings.Orientation,
    "side_stones.facet_family": settings.FacetStyle,
    "wedding_band.shape": settings.BandShape,
    "finger.system": SizeSystem,
    "wearer.wear": Wear,
    "wish.tastes": wishes.Taste,
    "wish.warmth": wishes.Warmth,
    "wish.priorities": wishes.Priority,
    "wish.setting.style": wishes.StyleName,
    "wish.setting.height": wishes.Height,
    "wish.budget.covers": wishes.Covers,
    "lead.gem": leads.Gem,
    "lead.heirloom": leads.Heirloom,
    "lead.errand": leads.Errand,
    "texts.market": listings.Market,
    "texts.language": listings.Language,
}


def _spellings(table: Mapping[str, str], word: str) -> list[str]:
    return sorted(spelling for spelling, meant in table.items() if meant == word and spelling != key(word))


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
            "spellings": _spellings(spellings.SHAPE_CODES | spellings.REPORT_SHAPES, shape.name),
        }
        for shape in SHAPES.values()
    ],
    "shared_spellings": [
        {"spelling": code, "shapes": list(shapes)} for code, shapes in spellings.SHARED_SHAPES.items()
    ],
    "scales": [
        {
            "name": scale.name,
            "grades": list(scale.grades),
            "spellings": {grade: found for grade in scale.grades if (found := _spellings(words, grade))},
        }
        for scale, words in _SCALES
    ],
    "metals": [{"name": metal, "tone": tone} for metal, tone in METAL_TONES.items()],
    "materials": list(get_args(Material)),
    "origins": list(get_args(Origin)),
    "treatments": list(get_args(Treatment)),
    "members": [{"member": member, "words": list(get_args(words))} for member, words in _MEMBERS.items()],
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
