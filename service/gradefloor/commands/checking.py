"""`check`: everything that is wrong with the rule sets, and what nobody has proved or looked up lately."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Annotated, Final

import typer

from gradefloor.commands.folder import (
    DEFAULT_FOLDER,
    Drafts,
    RuleSets,
    TrustedKey,
    complain,
    day_of,
    faults_of,
    read_key,
)
from gradefloor.judge.cases import SPEAKING_KINDS, proofs
from gradefloor.rules.catalog import Catalog, CatalogError, Release, load
from gradefloor.rules.format import RULE_KINDS
from gradefloor.rules.keeping import KeepingError, may_be_released

SHOWN: Final = 5


def check(
    rulesets: RuleSets = DEFAULT_FOLDER,
    drafts: Drafts = False,
    trusted_key: TrustedKey = None,
    stale_after: Annotated[
        int, typer.Option(help="Days after which a source should be looked up again.", min=1)
    ] = 365,
) -> None:
    """Read, compile and prove every version; print all faults, and what should be looked at."""
    try:
        catalog = load(rulesets, drafts=drafts, trusted=read_key(trusted_key))
    except CatalogError as error:
        # What was changed after its release is refused as such; its keeper also wants to know what it breaks.
        broken = [fault for release in error.changed for fault in faults_of(release)]
        complain([*error.faults, *broken])
    if faults := [fault for release in catalog for fault in faults_of(release)]:
        complain(faults)
    today = day_of(None)
    for release in catalog:
        # The first line is what RELEASED lists.
        typer.echo(f"{release.name} {release.version} {release.effective} {release.digest}")
        _tell(release, catalog, today - timedelta(days=stale_after))
        if release.draft:
            _tell_draft(rulesets, catalog, release)


def _tell(release: Release, catalog: Catalog, oldest: date) -> None:
    rules = release.rules
    count = sum(len(getattr(rules, kind)) for kind in RULE_KINDS)
    own = {rule.id for kind in SPEAKING_KINDS for rule in getattr(rules, kind) if release.is_own(rule.id)}
    unproved = sorted(own - {rule for rule, _ in proofs(rules, release.proof.cases)})
    state = "draft" if release.draft else "released"
    typer.echo(
        f"  {state}: {count} rules, {release.proof.cases.count} cases hold, "
        f"{len(own) - len(unproved)} of {len(own)} rules that can speak are named by a case"
    )
    # What is released and has a successor can no longer be mended.
    if release is not catalog.releases[release.name][-1]:
        return
    if unproved:
        typer.echo(f"  no case names: {_few(unproved)}")
    for source in rules.sources:
        if source.checked < oldest:
            typer.echo(f"  look up again: source {source.id}, last checked {source.checked}")


def _tell_draft(rulesets: Path, catalog: Catalog, release: Release) -> None:
    """What keeps a draft from being released, although nothing is wrong with its rules."""
    try:
        may_be_released(rulesets, catalog, release, datetime.now(UTC))
    except KeepingError as error:
        typer.echo(f"  not to be released yet: {error}")


def _few(names: list[str]) -> str:
    more = len(names) - SHOWN
    return ", ".join(names[:SHOWN]) + (f" and {more} more" if more > 0 else "")
