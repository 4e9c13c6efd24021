"""What an answer is made of. These shapes are the contract of the wire; nothing here decides."""

from typing import Annotated, Final

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.rules.findings import Finding


class Question(TypedDict):
    """The cheapest thing to learn next."""

    about: Annotated[
        str,
        Field(
            description="Dotted path in the request that would state it, or a word for a thing outside it.",
            examples=["stone.observations.eye_clean"],
        ),
    ]
    ask: Annotated[str, Field(description="The question, as one would ask it.")]
    settles: Annotated[list[str], Field(description="Ids of the rules that hang on it.")]


class Measures(TypedDict, total=False):
    """Numbers that follow from the request; a measure that cannot be taken is left out."""

    carat: Annotated[float, Field(description="Weight in carat, rounded as a laboratory rounds it.")]
    ratio: Annotated[float, Field(description="Length over width, two decimals, rounded half up.")]
    look: Annotated[str, Field(description="Style label of that ratio for this shape: a matter of taste.")]
    face_up_mm2: Annotated[float, Field(description="Area that the outline shows from above, in mm².")]
    faces_like_carat: Annotated[
        float, Field(description="Weight of a usual diamond of this shape that looks as large, in carat.")
    ]
    estimated_carat: Annotated[
        float, Field(description="Weight by the handbook formula of the shape and material, in carat.")
    ]
    estimate_gap_pct: Annotated[
        float, Field(description="How far that estimate lies above the stated weight, in %.")
    ]
    visible_mm: Annotated[
        float, Field(description="What one arc minute spans at the stated viewing distance, in mm.")
    ]
    fill_coefficient: Annotated[
        float, Field(description="Weight over length times width times depth, in ct/mm³.")
    ]
    depth_pct: Annotated[
        float, Field(description="Depth in % as stated, else computed from the millimetres.")
    ]


class RuleSetName(TypedDict):
    """Which rules answered."""

    name: Annotated[str, Field(description="Name of the rule set.", examples=["house"])]
    version: Annotated[str, Field(description="Exact version.", examples=["1.0.0"])]
    effective: Annotated[str, Field(description="First day in force, YYYY-MM-DD (UTC).")]
    digest: Annotated[str, Field(description="sha256 of the canonical content.")]


class Evaluation(TypedDict):
    """One stone, judged."""

    ruleset: RuleSetName
    as_of: Annotated[str, Field(description="Day for which it was judged, YYYY-MM-DD (UTC).")]
    service_version: Annotated[str, Field(description="Version of the service that answered.")]
    evaluation_id: Annotated[
        str,
        Field(description="sha256 of the RFC 8785 form of {as_of, context, digest, stone} without nulls."),
    ]
    stone_id: Annotated[str | None, Field(description="Your reference, repeated.")]
    verdict: Annotated[
        str,
        Field(description="pass, ask or fail: the worst verdict among the findings.", examples=["ask"]),
    ]
    findings: Annotated[list[Finding], Field(description="Worst first; every rule that applies.")]
    questions: Annotated[list[Question], Field(description="What to learn next; the first settles most.")]
    measures: Measures
    notice: Annotated[str, Field(description="What this answer is not.")]


NOTICE: Final = (
    "A recommendation from stated grades and measurements: not an appraisal, not a warranty, not legal "
    "advice. Nobody here has seen the stone; a setter and an appraiser decide what they answer for."
)
