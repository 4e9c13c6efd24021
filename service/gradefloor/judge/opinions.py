"""One stone under several rule sets: where they agree, where they differ, and which rules make it so."""

from collections.abc import Iterator, Sequence
from typing import Annotated

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.judge.findings import Evaluation
from gradefloor.rules.findings import Finding
from gradefloor.rules.said import SEVERITY

# A note never changes a verdict, so a school that only notes agrees with one that passes.
_SAME = {"note": "pass"}


class Agreement(TypedDict):
    """A topic on which all rule sets come to the same verdict."""

    topic: Annotated[str, Field(description="Topic.")]
    verdict: Annotated[str, Field(description="pass, ask or fail; notes count as pass.")]
    rules: Annotated[list[str], Field(description="Ids of the rules behind it.")]


class Stand(TypedDict):
    """Where one rule set stands on a topic."""

    ruleset: Annotated[str, Field(description="name@version.")]
    verdict: Annotated[str, Field(description="pass, ask or fail; notes count as pass.")]
    rule: Annotated[str | None, Field(description="Rule that decides; null where it says nothing.")]
    observed: Annotated[str | None, Field(description="What the rule read.")]
    threshold: Annotated[str | None, Field(description="What the rule asks for.")]
    reason: Annotated[str, Field(description="Why.")]
    remedy: Annotated[str | None, Field(description="Smallest change that would turn it.")]


class Disagreement(TypedDict):
    """A topic on which rule sets come to different verdicts."""

    topic: Annotated[str, Field(description="Topic.")]
    rules: Annotated[list[str], Field(description="Ids of the rules that make the difference.")]
    stands: Annotated[list[Stand], Field(description="Each rule set, in the order of the request.")]


def where_they_meet(opinions: Sequence[Evaluation]) -> tuple[list[Agreement], list[Disagreement]]:
    """Topics in the order of the first opinion that speaks of them: agreed, and not."""
    topics = dict.fromkeys(f["topic"] for opinion in opinions for f in opinion["findings"])
    agreed, differing = list[Agreement](), list[Disagreement]()
    for topic in topics:
        deciding = [_deciding(opinion, topic) for opinion in opinions]
        verdicts = [_verdict(finding) for finding in deciding]
        rules = list(dict.fromkeys(_ids(deciding)))
        if len(set(verdicts)) == 1:
            agreed.append({"topic": topic, "verdict": verdicts[0], "rules": rules})
        else:
            stands = [_stand(opinion, found) for opinion, found in zip(opinions, deciding, strict=True)]
            differing.append({"topic": topic, "rules": rules, "stands": stands})
    return agreed, differing


def _deciding(opinion: Evaluation, topic: str) -> Finding | None:
    """The worst finding on a topic."""
    found = [finding for finding in opinion["findings"] if finding["topic"] == topic]
    return max(found, key=lambda finding: SEVERITY[finding["verdict"]], default=None)


def _verdict(finding: Finding | None) -> str:
    verdict = "pass" if finding is None else finding["verdict"]
    return _SAME.get(verdict, verdict)


def _ids(findings: Sequence[Finding | None]) -> Iterator[str]:
    return (finding["rule"] for finding in findings if finding is not None)


def _stand(opinion: Evaluation, finding: Finding | None) -> Stand:
    named = opinion["ruleset"]
    return {
        "ruleset": f"{named['name']}@{named['version']}",
        "verdict": _verdict(finding),
        "rule": None if finding is None else finding["rule"],
        "observed": None if finding is None else finding["observed"],
        "threshold": None if finding is None else finding["threshold"],
        "reason": "It has no rule about this." if finding is None else finding["reason"],
        "remedy": None if finding is None else finding["remedy"],
    }
