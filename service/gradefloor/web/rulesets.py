"""`/v1/rulesets`: the judgement itself, as data."""

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, Final

from fastapi import APIRouter, Path
from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.judge.findings import RuleSetName
from gradefloor.rules.advice_format import Assortment, Character, Clash, Merit, Perception, Tag, Urgency
from gradefloor.rules.catalog import Release
from gradefloor.rules.format import RULE_KINDS, Floor, Guard, Look, RuleSet, Window
from gradefloor.rules.lexicon_format import Lexicon
from gradefloor.rules.ring_format import Companions, Pairing, SideWindow, Style
from gradefloor.rules.wording_format import Filler, Naming, Phrasebook, Policy
from gradefloor.web.addresses import FOR_EVER, FRESH_SECONDS
from gradefloor.web.problems import ProblemError
from gradefloor.web.route import Answer
from gradefloor.web.service import Service, name_of

NAME: Final = "^[a-z][a-z0-9_]*$"
VERSION: Final = r"^(0|[1-9][0-9]{0,8})(\.(0|[1-9][0-9]{0,8})){0,2}$"
RULE_ID: Final = r"^[a-z][a-z0-9_]*(\.[a-z0-9_]+)+$"
SOON: Final = f"public, max-age={FRESH_SECONDS}"
# Whole versions as documents; drafts that change would else make them more and more.
MAX_KEPT: Final = 32

# The patterns are what the contract says; whatever does not fit them is simply not found.
Name = Annotated[str, Path(pattern=NAME, description="Name of a rule set.", examples=["house"])]
Version = Annotated[
    str, Path(pattern=VERSION, description="Version, exact or the beginning of one.", examples=["1.0.0"])
]
RuleId = Annotated[
    str, Path(alias="id", pattern=RULE_ID, description="Id of a rule.", examples=["clarity.steps"])
]


Rules = (
    Floor | Window | Look | Guard | Pairing | Companions | SideWindow | Style
    | Character | Perception | Assortment | Clash | Tag | Merit | Urgency | Lexicon
    | Phrasebook | Policy | Naming | Filler
)  # fmt: skip


class RuleSetEntry(TypedDict):
    """One name and its versions."""

    name: Annotated[str, Field(description="Name to ask for.")]
    title: Annotated[str, Field(description="What the newest version calls itself.")]
    versions: Annotated[list[RuleSetName], Field(description="All versions, oldest first.")]


class RuleSetList(TypedDict):
    """All names."""

    rulesets: Annotated[list[RuleSetEntry], Field(description="All rule sets, by name.")]


class RuleSetDocument(TypedDict):
    """One version, whole: with the rules that an extended name brought along."""

    ruleset: RuleSetName
    draft: Annotated[bool, Field(description="Whether it may still change.")]
    rules: RuleSet


class RuleDocument(TypedDict):
    """One rule of one version."""

    ruleset: RuleSetName
    kind: Annotated[
        str,
        Field(description=f"Which of these it is: {', '.join(RULE_KINDS)}.", examples=["floors"]),
    ]
    rule: Annotated[
        Rules,
        Field(description="The rule."),
    ]


def routes(router: APIRouter, service: Service) -> None:
    document = _Documents().of

    @router.get(
        "/v1/rulesets",
        tags=["rule sets"],
        operation_id="listRuleSets",
        response_model=RuleSetList,
        summary="All rule sets",
    )
    async def list_rule_sets() -> Answer:
        """Names, versions, the days they begin and the digests that identify them."""
        return Answer(
            {"rulesets": [_entry(service, name) for name in service.catalog.releases]},
            {"Cache-Control": SOON},
        )

    @router.get(
        "/v1/rulesets/{name}",
        tags=["rule sets"],
        operation_id="getRuleSet",
        response_model=RuleSetEntry,
        summary="One rule set",
    )
    async def get_rule_set(name: Name) -> Answer:
        """The versions of one name."""
        return Answer(_entry(service, name), {"Cache-Control": SOON})

    @router.get(
        "/v1/rulesets/{name}/{version}",
        tags=["rule sets"],
        operation_id="getRuleSetVersion",
        response_model=RuleSetDocument,
        summary="One version, whole",
    )
    async def get_version(name: Name, version: Version) -> Answer:
        """Every rule with its reason and source. A released exact version never changes."""
        release, fresh = _version(service, name, version)
        return Answer(document(release), {"Cache-Control": fresh})

    @router.get(
        "/v1/rulesets/{name}/{version}/rules/{id}",
        tags=["rule sets"],
        operation_id="getRule",
        response_model=RuleDocument,
        summary="One rule",
    )
    async def get_rule(name: Name, version: Version, id: RuleId) -> Answer:  # noqa: A002 - the contract's name
        """One rule as findings name it."""
        release, fresh = _version(service, name, version)
        rules = document(release)["rules"]
        for kind in RULE_KINDS:
            for rule in rules[kind]:
                if rule["id"] == id:
                    answer = {"ruleset": name_of(release), "kind": kind, "rule": rule}
                    return Answer(answer, {"Cache-Control": fresh})
        raise ProblemError("rule_unknown")


def _entry(service: Service, name: str) -> RuleSetEntry:
    releases = service.catalog.releases.get(name)
    if releases is None:
        raise ProblemError("ruleset_unknown")
    return {
        "name": name,
        "title": releases[-1].rules.title,
        "versions": [name_of(release) for release in releases],
    }


def find_version(
    service: Service, name: str, version: str | None, as_of: date | None = None
) -> tuple[Release, date]:
    """The version of a name that an address means, the newest in force if none, and the day."""
    if name not in service.catalog.releases:
        raise ProblemError("ruleset_unknown")
    try:
        return service.resolve(name if version is None else f"{name}@{version}", as_of, None)
    except ProblemError:
        raise ProblemError("version_unknown") from None


def _version(service: Service, name: str, version: str) -> tuple[Release, str]:
    """The release, and how long an answer about it may be kept."""
    release, _ = find_version(service, name, version)
    lasting = release.version == version and not release.draft
    return release, FOR_EVER if lasting else SOON


class _Documents:
    """Whole versions, made when first asked for: a catalogue that follows may bring others."""

    def __init__(self) -> None:
        self.kept: dict[tuple[str, bool], Mapping[str, Any]] = {}

    def of(self, release: Release) -> Mapping[str, Any]:
        key = release.digest, release.draft
        if key not in self.kept:
            if len(self.kept) >= MAX_KEPT:
                self.kept.clear()
            self.kept[key] = _document(release)
        return self.kept[key]


def _document(release: Release) -> Mapping[str, Any]:
    rules = release.rules.model_dump(mode="json", by_alias=True, exclude_none=True)
    return {"ruleset": name_of(release), "draft": release.draft, "rules": rules}
