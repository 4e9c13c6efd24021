"""Whose verdict moves from one version of the rules to another, and which rules move it."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from itertools import zip_longest
from typing import Annotated, Final, TypeVar

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor.judge.findings import Evaluation
from gradefloor.judge.stones import evaluate
from gradefloor.rules.findings import Finding
from gradefloor.rules.said import SEVERITY
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.stones import Context, Stone

MAX_EXAMPLES: Final = 3


class Move(TypedDict):
    """How many stones went from one verdict to another."""

    before: Annotated[str, Field(description="Verdict by the older version.", examples=["pass"])]
    after: Annotated[str, Field(description="Verdict by the newer version.", examples=["ask"])]
    count: Annotated[int, Field(description="Stones that went this way.")]


class MovingRule(TypedDict):
    """How many stones one rule moves."""

    rule: Annotated[str, Field(description="Id of the rule.", examples=["clarity.steps"])]
    count: Annotated[int, Field(description="Stones whose verdict hangs on it.")]


class SaidTwice(TypedDict):
    """What both versions say of one stone by the same rule."""

    rule: Annotated[str, Field(description="Id of the rule.", examples=["clarity.steps"])]
    before: Annotated[
        str, Field(description="Verdict by the older version; silent if the rule said nothing.")
    ]
    after: Annotated[str, Field(description="Verdict by the newer version; silent if the rule said nothing.")]
    observed: Annotated[str | None, Field(description="What the request states, in words.")]
    threshold_before: Annotated[str | None, Field(description="What the older version asks for, in words.")]
    threshold_after: Annotated[str | None, Field(description="What the newer version asks for, in words.")]
    reason: Annotated[str, Field(description="Reason by the newer version, or the older if it is silent.")]


class Example(TypedDict):
    """One stone whose verdict moves."""

    place: Annotated[int, Field(description="Place of the stone in what was sent, from 0.")]
    stone_id: Annotated[str | None, Field(description="Your reference, repeated.")]
    shape: Annotated[str, Field(description="Shape of the stone.", examples=["emerald"])]
    before: Annotated[str, Field(description="Verdict by the older version.")]
    after: Annotated[str, Field(description="Verdict by the newer version.")]
    rules: Annotated[list[SaidTwice], Field(description="The rules that move it.")]


class Impact(TypedDict):
    """Whose verdict moves between two versions."""

    stones: Annotated[int, Field(description="Stones judged by both versions.")]
    moved: Annotated[int, Field(description="Stones whose verdict moves.")]
    touched: Annotated[
        int, Field(description="Stones whose verdict stays, although that of some finding moves.")
    ]
    moves: Annotated[list[Move], Field(description="From what to what, most stones first.")]
    rules: Annotated[list[MovingRule], Field(description="The rules that move them, most stones first.")]
    examples: Annotated[
        list[Example], Field(description="Up to three of them, of different kinds where there are any.")
    ]


_Kind = tuple[str, str, tuple[str, ...]]
_Named = TypeVar("_Named", str, tuple[str, str], _Kind)


@dataclass(slots=True)
class ImpactCount:
    """Takes one stone after the other, so that a long list need not be held."""

    old: CompiledRules
    new: CompiledRules
    context: Context | None
    as_of: date
    stones: int = 0
    touched: int = 0
    kinds: Counter[_Kind] = field(default_factory=Counter)
    examples: dict[_Kind, list[Example]] = field(default_factory=dict)

    def add(self, place: int, stone: Stone) -> None:
        """Judge one stone by both versions."""
        before = evaluate(self.old, stone, self.context, self.as_of)
        after = evaluate(self.new, stone, self.context, self.as_of)
        self.stones += 1
        was, now = _by_rule(before), _by_rule(after)
        if before["verdict"] == after["verdict"]:
            self.touched += any(_severity(was.get(rule)) != _severity(now.get(rule)) for rule in was | now)
            return
        rules = _moving(before, after, was, now)
        kind = before["verdict"], after["verdict"], rules
        self.kinds[kind] += 1
        kept = self.examples.setdefault(kind, [])
        if len(kept) < MAX_EXAMPLES:
            kept.append({
                "place": place,
                "stone_id": stone.id,
                "shape": stone.shape,
                "before": kind[0],
                "after": kind[1],
                "rules": [_said_twice(was.get(rule), now.get(rule), (was | now)[rule]) for rule in rules],
            })  # fmt: skip

    def result(self) -> Impact:
        """What was found so far."""
        moves: Counter[tuple[str, str]] = Counter()
        rules: Counter[str] = Counter()
        for (before, after, moving), count in self.kinds.items():
            moves[before, after] += count
            for rule in moving:
                rules[rule] += count
        return {
            "stones": self.stones,
            "moved": self.kinds.total(),
            "touched": self.touched,
            "moves": [
                {"before": before, "after": after, "count": count} for (before, after), count in _most(moves)
            ],
            "rules": [{"rule": rule, "count": count} for rule, count in _most(rules)],
            "examples": self._examples(),
        }

    def _examples(self) -> list[Example]:
        """One of each kind in turn, the commonest kind first."""
        of_kinds = [self.examples[kind] for kind, _ in _most(self.kinds)]
        in_turn = [example for turn in zip_longest(*of_kinds) for example in turn if example is not None]
        return in_turn[:MAX_EXAMPLES]


def _most(counted: Counter[_Named]) -> list[tuple[_Named, int]]:
    """Most first; among equals in the order of their names, so that nothing hangs on which came first."""
    return sorted(counted.items(), key=lambda item: (-item[1], item[0]))


def _by_rule(answer: Evaluation) -> dict[str, Finding]:
    """What each rule says at its worst: findings come worst first."""
    found: dict[str, Finding] = {}
    for finding in answer["findings"]:
        found.setdefault(finding["rule"], finding)
    return found


def _severity(finding: Finding | None) -> int:
    return 0 if finding is None else SEVERITY[finding["verdict"]]


def _moving(
    before: Evaluation, after: Evaluation, was: dict[str, Finding], now: dict[str, Finding]
) -> tuple[str, ...]:
    """The rules that carry the worse of the two verdicts: the other version says less by each of them."""
    worse = SEVERITY[after["verdict"]] > SEVERITY[before["verdict"]]
    carrying, verdict = (now, after["verdict"]) if worse else (was, before["verdict"])
    return tuple(sorted(rule for rule, finding in carrying.items() if finding["verdict"] == verdict))


def _said_twice(was: Finding | None, now: Finding | None, either: Finding) -> SaidTwice:
    return {
        "rule": either["rule"],
        "before": was["verdict"] if was else "silent",
        "after": now["verdict"] if now else "silent",
        "observed": either["observed"],
        "threshold_before": was["threshold"] if was else None,
        "threshold_after": now["threshold"] if now else None,
        "reason": either["reason"],
    }
