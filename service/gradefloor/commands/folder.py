"""What the commands share: the folder of the rule sets, and how one ends."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Annotated, Final, NoReturn

import typer
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from gradefloor.judge.cases import prove
from gradefloor.rules.catalog import Catalog, CatalogError, Release, load
from gradefloor.rules.signatures import public_key
from gradefloor.rules.strict_yaml import Fault

FAULTY: Final = 1
UNUSABLE: Final = 2
SET_ASIDE: Final = 3
DIFFERENT: Final = 4

WORKING_FOLDER: Final = Path("rulesets")
# An installed wheel carries the rule sets; a folder of that name where the command runs comes first.
_PACKAGED: Final = Path(__file__).parents[1] / "rulesets"
DEFAULT_FOLDER: Final = _PACKAGED if _PACKAGED.is_dir() and not WORKING_FOLDER.is_dir() else WORKING_FOLDER
RuleSets = Annotated[
    Path, typer.Option("--rulesets", envvar="GRADEFLOOR_RULESETS", help="Folder of the rule sets.")
]
Drafts = Annotated[bool, typer.Option("--drafts", help="Versions that are not released, too.")]
TrustedKey = Annotated[
    Path | None,
    typer.Option(
        envvar="GRADEFLOOR_TRUSTED_KEY",
        help="Public key (PEM, Ed25519) by which RELEASED has to be signed.",
    ),
]
AsOf = Annotated[str | None, typer.Option(help="Day for which to judge, YYYY-MM-DD; today if absent.")]


def read_catalog(
    rulesets: Path,
    *,
    drafts: bool,
    proofs: bool = True,
    trusted: Ed25519PublicKey | None = None,
    outcome: str = "nothing is served",
) -> Catalog:
    """All that can be asked for, or the end of the command with every fault."""
    try:
        return load(rulesets, drafts=drafts, proofs=proofs, trusted=trusted)
    except CatalogError as error:
        complain(error.faults, outcome)


def read_key(file: Path | None) -> Ed25519PublicKey | None:
    """The key in a file, or the end of the command; None where no signature is wanted."""
    try:
        return None if file is None else public_key(file.read_bytes())
    except (OSError, ValueError) as error:
        end(f"{file}: {getattr(error, 'strerror', None) or error}")


def resolve(catalog: Catalog, reference: str, day: date) -> Release:
    """One version, or the end of the command with the names there are."""
    try:
        return catalog.resolve(reference, day, datetime.now(UTC))
    except LookupError:
        known = ", ".join(f"{release.name}@{release.version}" for release in catalog)
        end(f"there are no rules {reference} on {day}; there are {known}")


def day_of(as_of: str | None) -> date:
    """The day that was given, or today's (UTC)."""
    try:
        return date.fromisoformat(as_of) if as_of else datetime.now(UTC).date()
    except ValueError:
        end(f"{as_of} is no day; write it as 2026-01-31")


def faults_of(release: Release) -> Iterator[Fault]:
    """What the compiler refuses, and the reader of cases; else the cases that do not hold."""
    refused = release.faults + release.proof.faults
    yield from refused or prove(release.compiled, release.proof)


def complain(faults: list[Fault], outcome: str = "nothing is served") -> NoReturn:
    """Tell every fault once, in the order of the files, and end."""
    for fault in sorted(set(faults)):
        typer.echo(str(fault), err=True)
    count = len(set(faults))
    typer.echo(f"{count} fault{'' if count == 1 else 's'}; {outcome}.", err=True)
    raise typer.Exit(FAULTY)


def end(why: str) -> NoReturn:
    """End because of something that the caller can mend."""
    typer.echo(why, err=True)
    raise typer.Exit(UNUSABLE)
