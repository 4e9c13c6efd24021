"""What a rule keeper does to the folder: begin a draft, release it. The only file that writes rule files."""

import fcntl
import os
import re
import shutil
import stat
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import Final, Literal

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from gradefloor.rules.catalog import MANIFEST, Catalog, Release
from gradefloor.rules.changes import differences, same_rules
from gradefloor.rules.manifest import Listed, is_signed, read_manifest, signed_anew, with_release

Step = Literal["major", "minor", "patch"]

CHANGELOG: Final = "CHANGELOG.md"
# Stands in a draft's changelog until somebody has written what changed.
STUB: Final = "Say here what changed, and whose verdict moves."


class KeepingError(Exception):
    """Why it cannot be done, and what to do first, in one sentence."""


def draft(root: Path, catalog: Catalog, name: str, step: Step, effective: date) -> Path:
    """A new version from the newest one of a name: its folder, and a place in the changelog.

    `catalog` holds the drafts, too. Comments and layout of the files stay as they are.
    """
    versions = catalog.releases.get(name)
    if versions is None:
        raise KeepingError(f"there is no rule set {name}; there are {', '.join(catalog.releases)}")
    last = versions[-1]
    if last.draft:
        raise KeepingError(f"{name} {last.version} is a draft already: release it, or take its folder away")
    version = ".".join(map(str, _raised(last, step)))
    folder = root / name / version
    if folder.exists():
        raise KeepingError(f"{name}/{version} is there already, and is no version: take it away")
    written = _regular(root / name / last.version / "ruleset.yaml").read_text("utf-8")
    for member, value in (("version", version), ("effective", effective.isoformat())):
        written, count = re.subn(rf"(?m)^{member}: .*$", f'{member}: "{value}"', written)
        if count != 1:
            raise KeepingError(f"{name} {last.version} has no line of its own for {member}: copy it by hand")
    # Made beside and moved: nobody ever sees a folder whose name and content disagree.
    beside = Path(tempfile.mkdtemp(prefix=f".{version}.", dir=root / name))
    try:
        (beside / "ruleset.yaml").write_text(written, "utf-8")
        (beside / "cases.yaml").write_bytes(_regular(root / name / last.version / "cases.yaml").read_bytes())
        beside.chmod(0o755)
        beside.rename(folder)
    except BaseException:
        shutil.rmtree(beside)
        raise
    _begin_section(root / name / CHANGELOG, name, f"{_heading(version, effective)}\n\n{STUB}\n")
    return folder


def release(  # noqa: PLR0913 - what is released, into what, by whom and from when
    root: Path,
    catalog: Catalog,
    candidate: Release,
    *,
    now: datetime,
    activate_at: datetime | None = None,
    key: Ed25519PrivateKey | None = None,
) -> str:
    """Write a proved draft into the manifest, in one step; gives the line that lists it.

    KeepingError for a version that is released already or does not rise, that would change answers of days
    that have passed, extends a draft, or of which the changelog says nothing.
    """
    may_be_released(root, catalog, candidate, now, activate_at)
    manifest = root / MANIFEST
    one = Listed(candidate.name, candidate.version, candidate.effective, candidate.digest, activate_at)
    with _alone(root):
        content = _regular(manifest).read_bytes()
        if key is None and is_signed(content):
            raise KeepingError(f"{MANIFEST} is signed: give the key that signs it")
        trusted = key.public_key() if key is not None and is_signed(content) else None
        listed, faults = read_manifest(content, str(manifest), trusted)
        if faults:
            raise KeepingError(f"{faults[0]}: nobody can tell who wrote this list")
        if listed != catalog.listed:
            raise KeepingError(f"{MANIFEST} has changed meanwhile: look at it, and begin again")
        _replace(manifest, with_release(content, one, key))
    return one.write()


def sign(root: Path, catalog: Catalog, key: Ed25519PrivateKey) -> None:
    """Sign the list as it stands, anew if it is signed; KeepingError if it is not what was read."""
    manifest = root / MANIFEST
    with _alone(root):
        content = _regular(manifest).read_bytes()
        if read_manifest(content, str(manifest), None) != (catalog.listed, []):
            raise KeepingError(f"{MANIFEST} has changed meanwhile: look at it, and begin again")
        _replace(manifest, signed_anew(content, key))


def may_be_released(
    root: Path, catalog: Catalog, candidate: Release, now: datetime, activate_at: datetime | None = None
) -> None:
    """KeepingError with the first reason why not."""
    name, version = candidate.name, candidate.version
    if not candidate.draft:
        raise KeepingError(f"{name} {version} is released already; a change is a new version")
    earlier = [one for one in catalog.releases[name] if not one.draft]
    if earlier and earlier[-1].key > candidate.key:
        raise KeepingError(f"{name} {version} does not rise: {earlier[-1].version} is released already")
    if earlier and candidate.effective < now.date():
        raise KeepingError(
            f"{name} {version} would be in force from {candidate.effective}, and answers have been given for "
            f"that day: set effective to {now.date()} or later"
        )
    if earlier:
        found = differences(earlier[-1].rules, candidate.rules)
        if same_rules(found) and not found["around"]:
            raise KeepingError(f"nothing in {name} {version} differs from {earlier[-1].version}")
    if activate_at is not None and activate_at <= now:
        raise KeepingError(f"the moment {activate_at.isoformat()} has passed")
    if candidate.rules.extends is not None:
        base = catalog.find(*candidate.rules.extends.split("@"))
        if base is None or base.draft:
            raise KeepingError(f"{name} {version} extends {candidate.rules.extends}: release that first")
    _has_been_told(root, candidate)


def _has_been_told(root: Path, candidate: Release) -> None:
    """Whether the changelog says what changed."""
    file = f"{candidate.name}/{CHANGELOG}"
    heading = _heading(candidate.version, candidate.effective)
    changelog = root / file
    if not changelog.is_file():
        raise KeepingError(f"there is no {file}: write one that says under {heading!r} what it is")
    _, found, section = changelog.read_text("utf-8").partition(f"{heading}\n")
    said = section.partition("\n## ")[0].strip()
    if not found or not said or STUB in said:
        raise KeepingError(f"{file} says nothing of it: write what changed under {heading!r}")


def _heading(version: str, effective: date) -> str:
    return f"## {version}, in force from {effective.isoformat()}"


def _raised(last: Release, step: Step) -> tuple[int, int, int]:
    major, minor, patch = last.key
    if step == "major":
        return major + 1, 0, 0
    return (major, minor + 1, 0) if step == "minor" else (major, minor, patch + 1)


def _begin_section(changelog: Path, name: str, section: str) -> None:
    text = _regular(changelog).read_text("utf-8") if changelog.exists() else f"# {name}\n"
    head, mark, rest = text.partition("\n## ")
    written = f"{head.rstrip()}\n\n{section}" + (f"\n## {rest}" if mark else "")
    _replace(changelog, written.encode())


def _regular(file: Path) -> Path:
    """The file, if it is one: writing through a link would change what lies elsewhere."""
    if file.is_symlink() or not file.is_file():
        raise KeepingError(f"{file.name} is no regular file")
    return file


@contextmanager
def _alone(root: Path) -> Iterator[None]:
    """Nobody else writes the list meanwhile."""
    folder = os.open(root, os.O_RDONLY)
    try:
        fcntl.flock(folder, fcntl.LOCK_EX)
        yield
    finally:
        os.close(folder)


def _replace(file: Path, content: bytes) -> None:
    """The file is the old or the new content at every moment, and the new one survives a loss of power."""
    mode = file.stat().st_mode if file.exists() else 0o644
    handle, name = tempfile.mkstemp(prefix=f".{file.name}.", dir=file.parent)
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            os.fchmod(stream.fileno(), stat.S_IMODE(mode))
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(file)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    folder = os.open(file.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
