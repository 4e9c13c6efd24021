"""What an answer is made of. These shapes are the contract of the wire; nothing here decides."""

from collections.abc import Iterable
from typing import Annotated, Final, Literal

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.rules.tables import Change, Stamp

Verdict = Literal["pass", "ask", "fail"]

# Worst finding first; among equals safety speaks before consistency, floors, proportions and taste.
TOPIC_ORDER: Final = {
    topic: rank
    for rank, topic in enumerate((
        "durability", "setting", "wear", "material", "consistency", "report", "cut", "clarity", "color",
        "metal", "fluorescence", "proportions", "sides", "halo", "band", "wording", "ratio",
    ))
}  # fmt: skip
VERDICT_ORDER: Final = {"fail": 0, "ask": 1, "note": 2, "pass": 3}


class Changed(TypedDict):
    """One member of the request set to another value."""

    field: Annotated[str, Field(description="Dotted path in the request.", examples=["stone.clarity"])]
    value: Annotated[
        str | float | bool | list[str] | None, Field(description="Value to set; null takes the member out.")
    ]


class Finding(TypedDict):
    """What one rule says about one request."""

    rule: Annotated[str, Field(description="Id of the rule in its rule set.", examples=["clarity.steps"])]
    topic: Annotated[str, Field(description="What it is about.", examples=["clarity"])]
    verdict: Annotated[
        str, Field(description="pass, note, ask or fail; a note never changes the verdict.", examples=["ask"])
    ]
    observed: Annotated[str | None, Field(description="What the request states, in words; null if nothing.")]
    threshold: Annotated[str | None, Field(description="What the rule asks for, in words.")]
    reason: Annotated[str, Field(description="Why, as a jeweller would say it.")]
    remedy: Annotated[
        str | None, Field(description="Smallest change that would turn an ask or a fail, in words.")
    ]
    change: Annotated[
        list[Changed],
        Field(description="The same change as data; empty where only something unsaid has to be said."),
    ]
    source: Annotated[str, Field(description="Where the rule comes from and when that was last checked.")]
    disagreement: Annotated[str, Field(description="How far practitioners differ: low, medium or high.")]


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


def finding(  # noqa: PLR0913, PLR0917 - one argument for each member that differs, in the order of the wire
    stamp: Stamp,
    verdict: str,
    observed: str | None,
    threshold: str | None,
    reason: str,
    remedy: str | None = None,
    changes: Iterable[Change] = (),
) -> Finding:
    return {
        "rule": stamp.rule,
        "topic": stamp.topic,
        "verdict": verdict,
        "observed": observed,
        "threshold": threshold,
        "reason": reason,
        "remedy": remedy,
        "change": [{"field": change.field, "value": change.value} for change in changes],
        "source": stamp.source,
        "disagreement": stamp.disagreement,
    }
