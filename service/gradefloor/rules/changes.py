"""What differs between two versions of rules: which came, which went, and which read otherwise."""

from collections.abc import Iterator
from difflib import SequenceMatcher
from typing import Annotated, Any, Final

import orjson
from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.rules.format import RULE_KINDS, RuleSet

# Parts of a rule set that are told apart by one of their members, and that no rule is.
_KEYED: Final = {"sources": "id", "questions": "about", "issuers": "name"}
_PLAIN: Final = ("title", "about", "subject", "extends")


class ChangedPart(TypedDict):
    """One place that reads otherwise."""

    at: Annotated[
        str,
        Field(
            description="Place in the rule; in the newer version, unless it is there no more.",
            examples=["bands[1].on_paper"],
        ),
    ]
    before: Annotated[Any, Field(description="What the older version says there; null where nothing.")]
    after: Annotated[Any, Field(description="What the newer version says there; null where nothing.")]


class RuleName(TypedDict):
    """One rule."""

    rule: Annotated[str, Field(description="Id of the rule.", examples=["clarity.steps"])]
    kind: Annotated[str, Field(description="Kind of rule.", examples=["floors"])]
    title: Annotated[str, Field(description="What it says, in one sentence.")]


class AlteredRule(RuleName):
    """One rule that both versions have, and what of it differs."""

    parts: Annotated[list[ChangedPart], Field(description="Every place that differs.")]


class Differences(TypedDict):
    """Every rule that differs between two versions, in the order of the newer one."""

    added: Annotated[list[RuleName], Field(description="Rules that only the newer version has.")]
    removed: Annotated[list[RuleName], Field(description="Rules that only the older version has.")]
    altered: Annotated[list[AlteredRule], Field(description="Rules that read otherwise.")]
    around: Annotated[
        list[ChangedPart],
        Field(description="What differs outside the rules: titles, sources, questions, laboratories."),
    ]


def differences(old: RuleSet, new: RuleSet) -> Differences:
    """What differs between two rule sets; what an extended name brought along counts like their own."""
    before, after = _rules(old), _rules(new)
    altered: list[AlteredRule] = []
    for rule, (kind, content) in after.items():
        if rule in before:
            was_kind, was = before[rule]
            parts = [*_differ("kind", was_kind, kind), *_differ("", was, content)]
            if parts:
                altered.append({**_name(kind, content), "parts": parts})
    return {
        "added": [_name(*after[rule]) for rule in after if rule not in before],
        "removed": [_name(*before[rule]) for rule in before if rule not in after],
        "altered": altered,
        "around": list(_differ("", _around(old), _around(new))),
    }


def same_rules(found: Differences) -> bool:
    """Whether no rule came, went or reads otherwise."""
    return not (found["added"] or found["removed"] or found["altered"])


def _rules(rules: RuleSet) -> dict[str, tuple[str, dict[str, Any]]]:
    return {rule.id: (kind, _plain(rule)) for kind in RULE_KINDS for rule in getattr(rules, kind)}


def _name(kind: str, content: dict[str, Any]) -> RuleName:
    return {"rule": content["id"], "kind": kind, "title": content["title"]}


def _around(rules: RuleSet) -> dict[str, Any]:
    around: dict[str, Any] = {name: getattr(rules, name) for name in _PLAIN}
    for name, key in _KEYED.items():
        around[name] = {getattr(part, key): _plain(part) for part in getattr(rules, name)}
    return around


def _plain(part: Any) -> Any:
    return part.model_dump(mode="json", by_alias=True, exclude_none=True)


def _differ(at: str, before: Any, after: Any) -> Iterator[ChangedPart]:
    """Every innermost place where two values differ."""
    if isinstance(before, dict) and isinstance(after, dict):
        for key in dict.fromkeys([*before, *after]):
            yield from _differ(f"{at}.{key}" if at else str(key), before.get(key), after.get(key))
    elif isinstance(before, list) and isinstance(after, list):
        yield from _differ_in_lists(at, before, after)
    elif _bytes(before) != _bytes(after):
        yield {"at": at, "before": before, "after": after}


def _differ_in_lists(at: str, before: list[Any], after: list[Any]) -> Iterator[ChangedPart]:
    """Items are held against each other where they stand; one that is new or gone moves no others."""
    if not any(isinstance(item, dict | list) for item in (*before, *after)):
        if before != after:
            yield {"at": at, "before": before, "after": after}
        return
    matcher = SequenceMatcher(None, [*map(_bytes, before)], [*map(_bytes, after)], autojunk=False)
    for tag, i, i_end, j, j_end in matcher.get_opcodes():
        if tag == "equal":
            continue
        paired = min(i_end - i, j_end - j)
        for step in range(paired):
            yield from _differ(f"{at}[{j + step}]", before[i + step], after[j + step])
        for index in range(i + paired, i_end):
            yield {"at": f"{at}[{index}]", "before": before[index], "after": None}
        for index in range(j + paired, j_end):
            yield {"at": f"{at}[{index}]", "before": None, "after": after[index]}


def _bytes(value: Any) -> bytes:
    return orjson.dumps(value, option=orjson.OPT_SORT_KEYS)
