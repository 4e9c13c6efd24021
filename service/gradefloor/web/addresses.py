"""A stone in an address, so that its answer can be cached: the flat fields, and how long the answer keeps."""

from collections.abc import Mapping
from datetime import date
from typing import Any, Final

from pydantic import Field, create_model

from gradefloor.rules.catalog import Release
from gradefloor.trade.stones import Context, Stone, Wire
from gradefloor.web.service import AsOf, RuleSetReference

FRESH_SECONDS: Final = 300
FOR_EVER: Final = "public, max-age=31536000, immutable"

# The flat fields that fit into an address, typed by the models they come from.
STONE_FIELDS: Final = tuple(
    name for name in Stone.model_fields if name not in {"treatments", "report", "observations"}
)
StoneQuery: Final[type[Wire]] = create_model(
    "StoneQuery",
    __base__=Wire,
    __doc__="One stone in an address: the flat fields of stone and context.",
    **{name: (Stone.model_fields[name].annotation, Stone.model_fields[name]) for name in STONE_FIELDS},
    **{name: (field.annotation, field) for name, field in Context.model_fields.items()},
    eye_clean=(bool | None, Field(None, description="No inclusion seen face up without a lens.")),
    ruleset=(RuleSetReference | None, None),
    as_of=(AsOf | None, None),
)  # type: ignore[call-overload]


def stone_of(flat: Mapping[str, Any]) -> tuple[Stone, Context | None]:
    """The stone and what it is meant for."""
    stone = {name: flat[name] for name in STONE_FIELDS if name in flat}
    if "eye_clean" in flat:
        stone["observations"] = {"eye_clean": flat["eye_clean"]}
    context = {name: flat[name] for name in Context.model_fields if name in flat}
    return Stone.model_validate(stone), Context.model_validate(context) if context else None


def freshness(as_of: date | None, *releases: tuple[str | None, Release]) -> str:
    """How long an answer may be kept: for ever where the day and every version were asked for exactly."""
    exact = as_of is not None and all(
        reference == f"{release.name}@{release.version}" and not release.draft
        for reference, release in releases
    )
    return FOR_EVER if exact else f"public, max-age={FRESH_SECONDS}"
