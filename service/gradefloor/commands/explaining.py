"""`explain`: one rule as its keeper would read it, with its history and its proof."""

from collections.abc import Iterator
from itertools import pairwise
from textwrap import fill
from typing import Annotated, Any, Final

import orjson
import typer

from gradefloor.commands.folder import (
    DEFAULT_FOLDER,
    AsOf,
    RuleSets,
    day_of,
    end,
    read_catalog,
    resolve,
)
from gradefloor.judge.cases import SPEAKING_KINDS, proofs
from gradefloor.rules.catalog import Catalog, Release
from gradefloor.rules.changes import differences
from gradefloor.rules.entries import Reasoned
from gradefloor.rules.format import RULE_KINDS

_WIDTH: Final = 100
# Told in sentences above the rest of the rule.
_SAID: Final = ("id", "title", "because", "source", "disagreement", "instead_because")


def explain(
    rule: Annotated[str, typer.Argument(help="Id of a rule, as findings name it.")],
    ruleset: Annotated[str, typer.Option(help="Name, or name@version.")] = "house",
    as_of: AsOf = None,
    rulesets: RuleSets = DEFAULT_FOLDER,
) -> None:
    """Tell what a rule says and why, since when, and by which cases it is proved."""
    catalog = read_catalog(rulesets, drafts=True)
    release = resolve(catalog, ruleset, day_of(as_of))
    found = next(((kind, one) for kind, one in _rules(release) if one.id == rule), None)
    if found is None:
        ids = sorted(one.id for _, one in _rules(release))
        near = [name for name in ids if name.partition(".")[0] == rule.partition(".")[0]]
        end(f"{release.name} {release.version} has no rule {rule}; it has {', '.join(near or ids)}")
    for line in _told(catalog, release, *found):
        typer.echo(line)


def _rules(release: Release) -> Iterator[tuple[str, Reasoned]]:
    for kind in RULE_KINDS:
        for one in getattr(release.rules, kind):
            yield kind, one


def _told(catalog: Catalog, release: Release, kind: str, rule: Reasoned) -> Iterator[str]:
    sources = {source.id: source for source in release.rules.sources}
    yield f"{rule.id}, one of {kind} in {release.name} {release.version}"
    yield _wrapped(rule.title)
    yield ""
    yield _wrapped(f"Because: {rule.because}")
    yield _wrapped(f"Source: {sources[rule.source].write()}")
    yield f"Disagreement among practitioners: {rule.disagreement}"
    if rule.instead_because is not None:
        yield _wrapped(f"Instead of the rule of {release.rules.extends}, because: {rule.instead_because}")
    elif not release.is_own(rule.id):
        yield f"Brought along by {release.rules.extends}"
    yield ""
    yield from _laid_out(rule.model_dump(mode="json", by_alias=True, exclude_none=True, exclude=set(_SAID)))
    yield ""
    yield from _history(catalog, release, rule.id)
    yield from _proof(release, kind, rule.id)


def _laid_out(content: dict[str, Any]) -> Iterator[str]:
    """Everything else in the rule: short parts on a line, tables a row a line."""
    for name, value in content.items():
        if isinstance(value, list) and any(isinstance(item, dict) for item in value):
            yield f"{name}:"
            for item in value:
                yield _wrapped(f"- {_inline(item)}", "  ")
        else:
            yield _wrapped(f"{name}: {_inline(value)}")


def _inline(value: Any) -> str:
    if isinstance(value, dict) and value.keys() <= {"from", "below", "to"}:
        return " ".join(f"{end} {_inline(value[end])}" for end in ("from", "to", "below") if end in value)
    if isinstance(value, dict):
        return "; ".join(f"{name} {_inline(inner)}" for name, inner in value.items())
    if isinstance(value, list):
        return ", ".join(map(_inline, value))
    return value if isinstance(value, str) else orjson.dumps(value).decode()


def _history(catalog: Catalog, release: Release, rule: str) -> Iterator[str]:
    """The versions of this name in which the rule came or was altered, up to this one."""
    versions = [one for one in catalog.releases[release.name] if one.key <= release.key]
    first = next(one for one in versions if any(found.id == rule for _, found in _rules(one)))
    yield f"Since {first.version}, in force from {first.effective}"
    for older, newer in pairwise(versions[versions.index(first) :]):
        for altered in differences(older.rules, newer.rules)["altered"]:
            if altered["rule"] == rule:
                places = ", ".join(part["at"] for part in altered["parts"])
                yield _wrapped(f"Altered in {newer.version}: {places}")


def _proof(release: Release, kind: str, rule: str) -> Iterator[str]:
    cases = [case for named, case in proofs(release.rules, release.proof.cases) if named == rule]
    if not cases and kind in SPEAKING_KINDS and release.is_own(rule):
        yield "No case names it."
    if cases:
        yield "Proved by:"
    for case in cases:
        yield _wrapped(f"- {case}", "  ")


def _wrapped(text: str, indent: str = "") -> str:
    return fill(
        text, _WIDTH, initial_indent=indent, subsequent_indent=f"{indent}  ", break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip
