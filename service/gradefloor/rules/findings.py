"""A finding as it stands in an answer."""

from typing import Annotated

from pydantic import Field
from typing_extensions import TypedDict


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
        Field(
            description="The same change as data: what would have to be different in the stone, the setting "
            "or what is known. Never something to write into a report of this stone. Empty where only "
            "something unsaid has to be said."
        ),
    ]
    source: Annotated[str, Field(description="Where the rule comes from and when that was last checked.")]
    disagreement: Annotated[str, Field(description="How far practitioners differ: low, medium or high.")]
