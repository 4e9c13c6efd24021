"""`draft` and `release`: a new version begun, and put in force."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Annotated, Final

import typer
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from gradefloor.commands.folder import (
    WORKING_FOLDER,
    RuleSets,
    complain,
    day_of,
    end,
    faults_of,
    read_catalog,
)
from gradefloor.rules import keeping
from gradefloor.rules.catalog import Catalog, Release
from gradefloor.rules.keeping import KeepingError, Step
from gradefloor.rules.signatures import private_key

_UNRELEASED: Final = "nothing is released"


def draft(
    name: Annotated[str, typer.Argument(help="Name of a rule set.")],
    step: Annotated[Step, typer.Option(help="Which number rises.")] = "minor",
    effective: Annotated[
        str | None, typer.Option(help="First day in force, YYYY-MM-DD; tomorrow (UTC) if absent.")
    ] = None,
    rulesets: RuleSets = WORKING_FOLDER,
) -> None:
    """Begin the next version of a rule set as a copy of its last one, with a place in its changelog."""
    catalog = read_catalog(rulesets, drafts=True)
    try:
        folder = keeping.draft(rulesets, catalog, name, step, _beginning(effective))
    except KeepingError as error:
        end(str(error))
    typer.echo(f"{folder} is a draft: change it, add cases on both sides of every threshold, and then")
    typer.echo("  gradefloor check --drafts")
    typer.echo(f"  gradefloor changes {name} {name}@{folder.name} --stones FILE")
    typer.echo(f"  gradefloor release {name}")


def sign(
    signing_key: Annotated[
        Path, typer.Option(envvar="GRADEFLOOR_SIGNING_KEY", help="Private key (PEM, Ed25519).")
    ],
    rulesets: RuleSets = WORKING_FOLDER,
) -> None:
    """Sign the list of released versions as it stands, after holding every version to its digest."""
    catalog = read_catalog(rulesets, drafts=False, outcome="nothing is signed")
    try:
        keeping.sign(rulesets, catalog, read_private_key(signing_key))
    except KeepingError as error:
        end(f"{error}; nothing is signed")
    typer.echo(f"{len(list(catalog))} versions are signed")


def release(
    name: Annotated[str, typer.Argument(help="Name, for its newest version, or name@version.")],
    activate_at: Annotated[
        str | None,
        typer.Option(
            help="Moment from which it answers, with its offset, as 2026-01-31T06:00:00+00:00: later than "
            "every server has looked at the files, so that all of them switch together."
        ),
    ] = None,
    signing_key: Annotated[
        Path | None,
        typer.Option(envvar="GRADEFLOOR_SIGNING_KEY", help="Private key (PEM, Ed25519) that signs RELEASED."),
    ] = None,
    rulesets: RuleSets = WORKING_FOLDER,
) -> None:
    """Put a draft in force: prove it, and write its digest into RELEASED.

    Refuses a draft that has faults, whose number does not rise, or that would change answers already given.
    """
    catalog = read_catalog(rulesets, drafts=True, outcome=_UNRELEASED)
    candidate = _candidate(catalog, name)
    if faults := list(faults_of(candidate)):
        complain(faults, _UNRELEASED)
    try:
        line = keeping.release(
            rulesets,
            catalog,
            candidate,
            now=datetime.now(UTC),
            activate_at=_moment(activate_at),
            key=None if signing_key is None else read_private_key(signing_key),
        )
    except KeepingError as error:
        end(f"{error}; {_UNRELEASED}")
    typer.echo(line)


def _candidate(catalog: Catalog, reference: str) -> Release:
    """The version that is meant: the exact one, or the newest of a name."""
    name, _, version = reference.partition("@")
    versions = catalog.releases.get(name)
    if versions is None:
        end(f"there is no rule set {name}; there are {', '.join(catalog.releases)}")
    found = catalog.find(name, version) if version else versions[-1]
    if found is None:
        end(f"{name} has no version {version}; it has {', '.join(one.version for one in versions)}")
    return found


def _moment(activate_at: str | None) -> datetime | None:
    if activate_at is None:
        return None
    try:
        moment = datetime.fromisoformat(activate_at)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        end(f"{activate_at} is no moment; write it with its offset, as 2026-01-31T06:00:00+00:00")
    return moment


def _beginning(effective: str | None) -> date:
    """Tomorrow, unless told otherwise: answers of today have been given already."""
    return day_of(effective) if effective else day_of(None) + timedelta(days=1)


def read_private_key(file: Path) -> Ed25519PrivateKey:
    """The key in a file, or the end of the command."""
    try:
        return private_key(file.read_bytes())
    except (OSError, ValueError) as error:
        end(f"{file}: {getattr(error, 'strerror', None) or error}")
