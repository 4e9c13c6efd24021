"""The catalogue of released rule sets: the only file that opens rule files.

The manifest lists what is in force; folders that are not listed are drafts.
"""

import os
import re
import stat
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import cached_property
from pathlib import Path
from typing import Final

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from gradefloor.rules.compile import check_rules, compile_rules
from gradefloor.rules.digests import digest_of, seal_of
from gradefloor.rules.format import RULE_KINDS, RuleSet
from gradefloor.rules.manifest import (
    NAME,
    NUMBER,
    VERSION,
    Listed,
    VersionKey,
    lost,
    read_manifest,
    version_key,
)
from gradefloor.rules.merge import Places, merge, places
from gradefloor.rules.parse import parse, sound_rules
from gradefloor.rules.proof import Proof
from gradefloor.rules.strict_yaml import MAX_BYTES, Document, Fault, read
from gradefloor.rules.tables import CompiledRules

MANIFEST: Final = "RELEASED"
_REFERENCE: Final = re.compile(rf"({NAME})(?:@({NUMBER}(?:\.{NUMBER}){{0,2}}))?")


class CatalogError(Exception):
    """The rule files cannot be served; `faults` has all of what is wrong with them.

    `changed` are versions that could be read, but are no longer what was released.
    """

    def __init__(self, faults: list[Fault], changed: "tuple[Release, ...]" = ()) -> None:
        super().__init__("\n".join(map(str, faults)))
        self.faults = faults
        self.changed = changed


class UnknownRuleSetError(LookupError):
    """No rule set goes by that name."""


class UnknownVersionError(LookupError):
    """The name exists, but not in that version or not yet on that day."""


@dataclass(frozen=True)
class Release:
    """One version of one rule set, read and held to its digest."""

    name: str
    version: str
    effective: date
    digest: str
    activate_at: datetime | None
    draft: bool
    rules: RuleSet
    proof: Proof = field(repr=False, compare=False)
    where: Places = field(repr=False)
    overridable: frozenset[str] = field(repr=False)
    # Tells whether the files of this version, and of what it extends, are still the same bytes.
    seal: str = field(repr=False)

    @cached_property
    def key(self) -> VersionKey:
        return version_key(self.version)

    def listed_anew(self, listed: Listed | None) -> "Release":
        """The same content as a manifest lists it now, with the tables if they are made."""
        activate_at = listed.activate_at if listed else None
        if (activate_at, listed is None) == (self.activate_at, self.draft):
            return self
        anew = replace(self, activate_at=activate_at, draft=listed is None)
        if self.is_compiled:
            anew.__dict__["_compiled"] = self.__dict__["_compiled"]
        return anew

    def is_own(self, rule: str) -> bool:
        """Whether the rule was written in this name, and not brought along by what it extends."""
        return self.where.of_rule[rule][0] is self.where.own

    @cached_property
    def _compiled(self) -> tuple[CompiledRules | None, list[Fault]]:
        return compile_rules(self.rules, self.where, self.digest, self.overridable)

    def make(self) -> None:
        """Make the tables now; what is wrong with them is told to whoever asks for them."""
        _ = self._compiled

    @property
    def is_compiled(self) -> bool:
        """Whether the tables are made already, or would have to be made now."""
        return "_compiled" in self.__dict__

    @property
    def faults(self) -> list[Fault]:
        """What the compiler refuses in this version."""
        return self._compiled[1]

    @property
    def compiled(self) -> CompiledRules:
        """Frozen tables; made when first asked for."""
        compiled, faults = self._compiled
        if compiled is None:
            raise CatalogError(faults)
        return compiled


@dataclass(frozen=True)
class Catalog:
    """All versions that can be asked for. One immutable value."""

    releases: Mapping[str, tuple[Release, ...]]
    listed: Mapping[tuple[str, str], Listed] = field(default_factory=dict)
    _without: dict[frozenset[str], "Catalog"] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def resolve(self, reference: str, as_of: date, now: datetime) -> Release:
        """`house`, `house@1`, `house@1.0` or `house@1.0.0`.

        All but the exact form mean the newest version whose date has come by `as_of` and whose moment of
        activation, if it has one, has passed. Drafts answer to their exact form only.
        """
        match = _REFERENCE.fullmatch(reference)
        known = self.releases.get(match[1]) if match else None
        if match is None or known is None:
            raise UnknownRuleSetError(reference)
        wanted = tuple(map(int, match[2].split("."))) if match[2] else ()
        exact = len(wanted) == len(known[0].key)
        for release in reversed(known):
            if exact:
                if release.key == wanted:
                    return release
            elif (
                release.key[: len(wanted)] == wanted
                and not release.draft
                and release.effective <= as_of
                and (release.activate_at is None or release.activate_at <= now)
            ):
                return release
        raise UnknownVersionError(reference)

    def in_force(self, now: datetime) -> Iterator[Release]:
        """What the names alone mean today."""
        for name in self.releases:
            with suppress(UnknownVersionError):
                yield self.resolve(name, now.date(), now)

    def find(self, name: str, version: str) -> Release | None:
        """Exactly this version, released or not."""
        versions = self.releases.get(name, ())
        return next((release for release in versions if release.version == version), None)

    def without(self, names: frozenset[str]) -> "Catalog":
        """The same without some names, for whoever may not know of them; the same object each time."""
        if not names or not names & self.releases.keys():
            return self
        if names not in self._without:
            left = {name: found for name, found in self.releases.items() if name not in names}
            self._without[names] = Catalog(left, self.listed)
        return self._without[names]

    def __iter__(self) -> Iterator[Release]:
        return (release for versions in self.releases.values() for release in versions)


def load(
    root: Path,
    *,
    drafts: bool = False,
    proofs: bool = True,
    trusted: Ed25519PublicKey | None = None,
    before: Catalog | None = None,
) -> Catalog:
    """Read every released version (and drafts, if asked); CatalogError lists all that is wrong.

    Cases are looked at for faults if `proofs` are wanted; whoever only answers needs none. `trusted` is the
    key that has to have signed the manifest. `before` is the catalogue that this one takes over from:
    nothing that it has may be missing or changed, and what has not changed is not read again.
    """
    return _Loader(root, before, proofs=proofs).load(drafts=drafts, trusted=trusted)


class _Loader:
    def __init__(self, root: Path, before: Catalog | None, *, proofs: bool) -> None:
        self.root = root
        self.before = before
        self.proofs = proofs
        self.faults: list[Fault] = []
        self.loaded: dict[tuple[str, str], Release | None] = {}
        self.listed: dict[tuple[str, str], Listed] = {}
        # What is being read just now: no version can extend one of these.
        self.reading: set[tuple[str, str]] = set()
        # Versions whose content is no longer what was released; what extends them has not changed itself.
        self.changed: set[tuple[str, str]] = set()

    def load(self, *, drafts: bool, trusted: Ed25519PublicKey | None) -> Catalog:
        self.read_manifest(trusted)
        wanted = list(self.listed)
        if drafts:
            wanted += [key for key in self.folders() if key not in self.listed]
        releases: dict[str, list[Release]] = {}
        for key in wanted:
            release = self.version(*key)
            if release is not None:
                releases.setdefault(release.name, []).append(release)
        if self.faults:
            changed = [self.loaded.get((key[0], key[1])) for key in sorted(self.changed)]
            raise CatalogError(sorted(set(self.faults)), tuple(filter(None, changed)))
        for read_now in filter(None, self.loaded.values()):
            read_now.where.own.forget()
        return Catalog(
            {name: tuple(sorted(found, key=lambda r: r.key)) for name, found in sorted(releases.items())},
            self.listed,
        )

    def refuse(self, file: Path, line: int, found: str, allowed: str) -> None:
        self.faults.append(Fault(str(file), line, "", found, allowed))

    def read_manifest(self, trusted: Ed25519PublicKey | None) -> None:
        file = self.root / MANIFEST
        content = self.content(file)
        if content is None:
            return
        self.listed, faults = read_manifest(content, str(file), trusted)
        self.faults += faults
        if self.before is not None and not faults:
            self.faults += lost(self.before.listed.values(), self.listed, str(file))

    def folders(self) -> list[tuple[str, str]]:
        """Name and version of every folder that could hold one, released or not."""
        return [
            (folder.parent.name, folder.name)
            for folder in sorted(self.root.glob("*/*"))
            if re.fullmatch(NAME, folder.parent.name) and re.fullmatch(VERSION, folder.name)
        ]

    def version(self, name: str, version: str) -> Release | None:
        """One version, read once; None if it has faults, which are then in `self.faults`."""
        key = name, version
        if key not in self.loaded:
            self.reading.add(key)
            self.loaded[key] = self.read_version(name, version)
            self.reading.remove(key)
        return self.loaded[key]

    def read_version(self, name: str, version: str) -> Release | None:
        folder = self.root / name / version
        files = folder / "ruleset.yaml", folder / "cases.yaml"
        written, proving = (self.content(file) for file in files)
        if written is None or proving is None:
            return None
        kept = self.unchanged(name, version, written, proving)
        if kept is not None:
            return kept
        document, proof = read(written, str(files[0])), Proof(proving, str(files[1]))
        own, faults = parse(RuleSet, document)
        self.faults += faults
        if self.proofs:
            self.faults += proof.faults
        if own is None:
            self.look_at_the_rest(name, version, document, faults)
            return None
        for key, found, expected in (("name", own.name, name), ("version", own.version, version)):
            if found != expected:
                self.faults.append(document.fault((key,), repr(found), f"{expected!r}, like its folder"))
        base: Release | None = None
        if own.extends is not None:
            base = self.base_of(own, (name, version) in self.listed, document)
            if base is None:
                return None
        digest = digest_of(document.data, base.digest if base else None)
        rules, where = self.merged(own, base, document)
        listed = self.listed.get((name, version))
        if listed is not None:
            self.hold_to(listed, digest, own, document)
        return Release(
            name=name,
            version=version,
            effective=own.effective,
            digest=digest,
            activate_at=listed.activate_at if listed else None,
            draft=listed is None,
            rules=rules,
            proof=proof,
            where=where,
            overridable=_ids(base.rules) if base else frozenset(),
            seal=seal_of(written, proving, base.seal if base else ""),
        )

    def unchanged(self, name: str, version: str, written: bytes, proving: bytes) -> Release | None:
        """What the catalogue before has of this version, if it is still the same in everything."""
        kept = self.before.find(name, version) if self.before else None
        if kept is None:
            return None
        listed = self.listed.get((name, version))
        if listed is not None and (listed.digest, listed.effective) != (kept.digest, kept.effective):
            return None
        base: Release | None = None
        if kept.rules.extends is not None:
            base = self.base_of(kept.rules, listed is not None, kept.where.own)
            if base is None:
                return None
        if seal_of(written, proving, base.seal if base else "") != kept.seal:
            return None
        return kept.listed_anew(listed)

    def merged(self, own: RuleSet, base: Release | None, document: Document) -> tuple[RuleSet, Places]:
        if base is None:
            return own, places(own, document)
        where = places(own, document, base.where)
        rules, faults = merge(base.rules, own, where)
        self.faults += faults
        return rules, where

    def look_at_the_rest(self, name: str, version: str, document: Document, faults: list[Fault]) -> None:
        """A rule keeper wants all faults at once, those of the sound rules too."""
        sound = sound_rules(document, faults)
        if sound is None:
            return
        base = self.base_of(sound, (name, version) in self.listed, document) if sound.extends else None
        if sound.extends is None or base is not None:
            rules, where = self.merged(sound, base, document)
            self.faults += check_rules(rules, where, _ids(base.rules) if base else frozenset())

    def base_of(self, own: RuleSet, released: bool, document: Document) -> Release | None:
        """The version that another extends; its own faults are told where they are."""
        name, version = _exact(str(own.extends))
        served = (name, version) in self.listed or (not released and (name, version) in self.folders())
        if not served or (name, version) in self.reading:
            self.faults.append(document.fault(("extends",), str(own.extends), "a released version"))
            return None
        return self.version(name, version)

    def hold_to(self, listed: Listed, digest: str, own: RuleSet, document: Document) -> None:
        file = self.root / MANIFEST
        base_changed = own.extends is not None and _exact(own.extends) in self.changed
        if listed.digest != digest:
            self.changed.add(listed.key)
        if listed.digest != digest and not base_changed:
            found = f"{listed.name} {listed.version} with digest {digest}"
            allowed = f"{listed.digest}: a released version never changes, make a new one"
            self.refuse(file, listed.line, found, allowed)
        if listed.effective != own.effective:
            self.faults.append(document.fault(("effective",), str(own.effective), str(listed.effective)))

    def content(self, file: Path) -> bytes | None:
        """Bytes of a regular file inside the root; a link may lead there, but never out of it."""
        try:
            real = file.resolve(strict=True)
            if not real.is_relative_to(self.root.resolve(strict=True)):
                self.refuse(file, 1, "a link that leads elsewhere", "a file inside the rule-set folder")
                return None
            handle = os.open(real, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
            with os.fdopen(handle, "rb") as stream:
                if not stat.S_ISREG(os.fstat(handle).st_mode):
                    self.refuse(file, 1, "something that is no file", "a regular file")
                    return None
                return stream.read(MAX_BYTES + 1)
        except (OSError, RuntimeError) as error:
            missing = isinstance(error, FileNotFoundError)
            self.refuse(
                file, 1, "no such file" if missing else "a file that cannot be opened", "a readable file"
            )
            return None


def _exact(reference: str) -> tuple[str, str]:
    name, _, version = reference.partition("@")
    return name, version


def _ids(rules: RuleSet) -> frozenset[str]:
    return frozenset(rule.id for kind in RULE_KINDS for rule in getattr(rules, kind))


def brief(faults: list[Fault], private: frozenset[str] = frozenset()) -> str:
    """How many faults there are and where the first is, without any path or content of a file.

    Names of `private` rule sets are not told.
    """
    first = faults[0]
    folder, file = Path(first.file).parts[-3:-1], Path(first.file).name
    part = {"ruleset.yaml": "its rules", "cases.yaml": "its cases"}.get(file)
    name = "a private rule set" if folder and folder[0] in private else " ".join(folder)
    place = f"{name}, {part}" if part else "the manifest"
    count = f"{len(faults)} fault{'' if len(faults) == 1 else 's'}"
    return f"{count}, the first in {place}, line {first.line}"
