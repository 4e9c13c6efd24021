"""`RELEASED`, the manifest: which versions there are, what is in them, and since when.

One version a line, rising within a name, and a count at the end; a signature of all that may follow it:

    house 1.0.0 2026-01-01 sha256:… [activate_at]
    end 1
    signed ed25519:…

A version listed there never changes: its digest says so. Opens no files.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Final

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from gradefloor.rules.signatures import holds, signature
from gradefloor.rules.strict_yaml import Fault

NAME: Final = r"[a-z][a-z0-9_]*"
NUMBER: Final = r"(?:0|[1-9][0-9]{0,8})"
VERSION: Final = rf"{NUMBER}\.{NUMBER}\.{NUMBER}"

_DAY: Final = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
_RELEASE: Final = re.compile(rf"({NAME}) ({VERSION}) ({_DAY}) (sha256:[0-9a-f]{{64}})( \S+)?")
_SIGNED: Final = "signed "

VersionKey = tuple[int, int, int]
Key = tuple[str, str]


def version_key(version: str) -> VersionKey:
    """What versions are ordered by."""
    major, minor, patch = map(int, version.split("."))
    return major, minor, patch


@dataclass(frozen=True, slots=True)
class Listed:
    """One line of the manifest."""

    name: str
    version: str
    effective: date
    digest: str
    activate_at: datetime | None
    line: int = field(default=0, compare=False)

    @property
    def key(self) -> Key:
        return self.name, self.version

    def write(self) -> str:
        moment = f" {self.activate_at.isoformat()}" if self.activate_at else ""
        return f"{self.name} {self.version} {self.effective.isoformat()} {self.digest}{moment}"


def read_manifest(
    content: bytes, file: str, trusted: Ed25519PublicKey | None
) -> tuple[dict[Key, Listed], list[Fault]]:
    """All versions in it by name and version, and every fault; `trusted`: only if this key has signed it."""
    listed: dict[Key, Listed] = {}
    faults = [] if trusted is None else list(_unsigned(content, file, trusted))
    body, _ = _parted(content)
    lines = body.decode("utf-8", "replace").split("\n")
    entries = [(n, line) for n, line in enumerate(lines, 1) if line and not line.startswith("#")]
    last = f"end {max(len(entries) - 1, 0)}"
    if not entries or entries[-1][1] != last or lines[-1]:
        faults.append(Fault(file, len(lines), "", "no count at the end", f"a last line {last!r}"))
    newest: dict[str, Listed] = {}
    for number, line in entries[:-1]:
        one = _listed(line, number)
        if one is None:
            allowed = "name version effective-date sha256:digest [activate_at with its offset]"
            faults.append(Fault(file, number, "", repr(line), allowed))
            continue
        before = newest.get(one.name)
        if before is not None and version_key(one.version) <= version_key(before.version):
            again = "again" if one.key in listed else f"after {before.version}"
            found = f"{one.name} {one.version} {again}"
            faults.append(Fault(file, number, "", found, "each version once, rising within its name"))
            continue
        listed[one.key] = newest[one.name] = one
    return listed, faults


def lost(before: Iterable[Listed], now: Mapping[Key, Listed], file: str) -> Iterator[Fault]:
    """What was in force and is not as it was: such a manifest is older than the one before, or tampered."""
    served = {one.key: one for one in before}
    newest: dict[str, Listed] = {}
    for one in served.values():
        newest[one.name] = one
        kept = now.get(one.key)
        if kept is None:
            yield Fault(file, 1, "", f"{one.name} {one.version} no longer", "every version ever released")
        elif kept.digest != one.digest:
            allowed = f"{one.digest}: a released version never changes, make a new one"
            yield Fault(file, kept.line, "", f"{one.name} {one.version} with {kept.digest}", allowed)
        elif (kept.effective, kept.activate_at) != (one.effective, one.activate_at):
            found = f"{one.name} {one.version} with another beginning"
            yield Fault(file, kept.line, "", found, f"the line as it was: {one.write()}")
    for one in now.values():
        last = newest.get(one.name)
        if one.key in served or last is None:
            continue
        if version_key(one.version) < version_key(last.version):
            found = f"{one.name} {one.version} new below {last.version}"
            yield Fault(file, one.line, "", found, "versions that rise")


def with_release(content: bytes, one: Listed, key: Ed25519PrivateKey | None) -> bytes:
    """The manifest with one more version, behind the others of its name; signed anew, if with a key."""
    body, _ = _parted(content)
    lines = body.decode().split("\n")
    count = sum(bool(line) and not line.startswith("#") for line in lines)
    of_name = [n for n, line in enumerate(lines) if (m := _RELEASE.fullmatch(line)) and m[1] == one.name]
    end = next(n for n, line in enumerate(lines) if re.fullmatch("end [0-9]+", line))
    lines[end] = f"end {count}"
    lines.insert(of_name[-1] + 1 if of_name else end, one.write())
    written = "\n".join(lines).encode()
    return written if key is None else signed_anew(written, key)


def signed_anew(content: bytes, key: Ed25519PrivateKey) -> bytes:
    """The manifest with a signature by this key, in place of any it has."""
    body, _ = _parted(content)
    return body + f"{_SIGNED}{signature(key, body)}\n".encode()


def is_signed(content: bytes) -> bool:
    """Whether a signature stands in it, true or not."""
    return _parted(content)[1] is not None


def _parted(content: bytes) -> tuple[bytes, str | None]:
    """What is signed, and the signature behind it."""
    body, mark, last = content.rpartition(b"\n" + _SIGNED.encode())
    if not mark or not last.endswith(b"\n") or last.count(b"\n") != 1:
        return content, None
    return body + b"\n", last.decode("utf-8", "replace").removesuffix("\n")


def _unsigned(content: bytes, file: str, trusted: Ed25519PublicKey) -> Iterator[Fault]:
    body, signed = _parted(content)
    line = content.count(b"\n") or 1
    if signed is None:
        yield Fault(file, line, "", "no signature", "a last line 'signed ed25519:…' by the trusted key")
    elif not holds(trusted, body, signed):
        yield Fault(
            file, line, "", "a signature that does not hold", "one of this content by the trusted key"
        )


def _listed(line: str, number: int) -> Listed | None:
    """One line of the manifest; None if it is not one."""
    match = _RELEASE.fullmatch(line)
    if match is None:
        return None
    try:
        effective = date.fromisoformat(match[3])
        activate_at = datetime.fromisoformat(match[5].strip()) if match[5] else None
    except ValueError:
        return None
    if activate_at is not None and activate_at.tzinfo is None:
        return None
    return Listed(match[1], match[2], effective, match[4], activate_at, number)
