"""Who may ask for what: keys as digests, scopes, quotas, and rule sets that only some may see.

Keys are given in a file of their own, which is looked at again while serving:

    private: [riverside]
    anyone: [embed]
    keys:
      - {id: shop, sha256: "…", scopes: [judge, "rules:read", "rules:riverside"], per_minute: 600}

A key is a random text; only its sha256 is kept, so whoever reads the file learns no key.
"""

import base64
import binascii
import hashlib
import secrets
import time
from collections.abc import Callable, Mapping
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Annotated, Final

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from gradefloor.rules.parse import parse
from gradefloor.rules.strict_yaml import Fault, read
from gradefloor.web.problems import ProblemError

Scope = Annotated[
    str, Field(strict=True, pattern=r"^(judge|embed|operate|rules:read|rules:[a-z][a-z0-9_]*)$")
]
Name = Annotated[str, Field(strict=True, pattern=r"^[a-z][a-z0-9_]*$", max_length=40)]

PREFIX: Final = "gfk_"
REALM: Final = "gradefloor"
_MINUTE: Final = 60.0


class _Entry(BaseModel):
    """One key as the file has it."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    id: Annotated[str, Field(strict=True, pattern=r"^[a-z0-9][a-z0-9_.-]{0,39}$")]
    sha256: Annotated[str, Field(strict=True, pattern=r"^[0-9a-f]{64}$")]
    scopes: list[Scope] = Field(min_length=1)
    per_minute: int | None = Field(None, strict=True, ge=1, le=1_000_000)


class _File(BaseModel):
    """The whole file."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    private: list[Name] = Field(default_factory=list)
    anyone: list[Scope] = Field(default_factory=list)
    keys: list[_Entry] = Field(min_length=1)


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks: a key, or anybody."""

    id: str | None
    scopes: frozenset[str]
    per_minute: int | None = None

    def may(self, scope: str) -> bool:
        # Whoever may judge may have a page written, too.
        return scope in self.scopes or (scope == "embed" and "judge" in self.scopes)


EVERYBODY: Final = Caller(None, frozenset({"judge", "embed", "operate", "rules:read"}))

# The caller of the request at hand. What is not asked by a request sees everything that is not private.
caller: ContextVar[Caller] = ContextVar("caller", default=EVERYBODY)


@dataclass(frozen=True)
class Keys:
    """All keys, and what may be seen without one."""

    by_digest: Mapping[bytes, Caller] = field(default_factory=dict)
    anyone: Caller = EVERYBODY
    private: frozenset[str] = frozenset()

    @property
    def open(self) -> bool:
        """Whether nobody needs a key."""
        return not self.by_digest

    def find(self, authorization: list[bytes]) -> Caller:
        """Who sends these Authorization headers; a problem if they name no key."""
        if not authorization:
            return self.anyone
        if len(authorization) > 1 or (secret := _secret(authorization[0])) is None:
            raise unauthorized()
        # Looked up by digest: how long it takes tells nothing of any key.
        found = self.by_digest.get(hashlib.sha256(secret).digest())
        if found is None:
            raise unauthorized()
        return found

    def hidden(self) -> frozenset[str]:
        """Names of rule sets that the caller at hand may not know of."""
        if not self.private:
            return self.private
        scopes = caller.get().scopes
        return frozenset(name for name in self.private if f"rules:{name}" not in scopes)


OPEN: Final = Keys()


class KeysError(Exception):
    """The file of keys cannot be used; says where its first fault is, without any of its content."""

    def __init__(self, faults: list[Fault]) -> None:
        count = f"{len(faults)} fault{'' if len(faults) == 1 else 's'}"
        super().__init__(f"{count}, the first in the keys, line {faults[0].line}")
        self.faults = faults


def read_keys(content: bytes, file: str) -> Keys:
    """Keys from their file; KeysError with every fault in it."""
    document = read(content, file)
    found, faults = parse(_File, document)
    if found is None:
        raise KeysError(faults)
    by_digest: dict[bytes, Caller] = {}
    ids: set[str] = set()
    for index, entry in enumerate(found.keys):
        digest = bytes.fromhex(entry.sha256)
        if entry.id in ids or digest in by_digest:
            what = "id" if entry.id in ids else "sha256"
            faults.append(document.fault(("keys", index, what), f"{what} again", "each key once"))
        ids.add(entry.id)
        by_digest[digest] = Caller(entry.id, frozenset(entry.scopes), entry.per_minute)
    if faults:
        raise KeysError(faults)
    return Keys(by_digest, Caller(None, frozenset(found.anyone)), frozenset(found.private))


def new_key() -> tuple[str, str]:
    """A key, and the digest by which it is known."""
    key = PREFIX + secrets.token_urlsafe(32)
    return key, hashlib.sha256(key.encode()).hexdigest()


def entry_of(name: str, digest: str, scopes: list[str], per_minute: int | None) -> str:
    """The line of one key in the file; ValueError, saying which part is none."""
    try:
        _Entry(id=name, sha256=digest, scopes=scopes, per_minute=per_minute)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        raise ValueError(f"{'.'.join(map(str, first['loc']))}: {first['msg']}") from None
    quota = f", per_minute: {per_minute}" if per_minute else ""
    quoted = ", ".join(f'"{scope}"' for scope in scopes)
    return f'  - {{id: {name}, sha256: "{digest}", scopes: [{quoted}]{quota}}}'


def _secret(authorization: bytes) -> bytes | None:
    """The key in a Bearer (RFC 6750) or, for browsers, as the password of Basic (RFC 7617)."""
    scheme, _, rest = authorization.partition(b" ")
    if scheme.lower() == b"bearer":
        return rest.strip() or None
    if scheme.lower() == b"basic":
        try:
            return base64.b64decode(rest.strip(), validate=True).partition(b":")[2] or None
        except (binascii.Error, ValueError):
            return None
    return None


def unauthorized() -> ProblemError:
    challenge = f'Bearer realm="{REALM}", Basic realm="{REALM}", charset="UTF-8"'
    return ProblemError("unauthorized", headers={"WWW-Authenticate": challenge})


# What each address asks of a caller; the first that fits counts. None: nothing.
_SCOPES: Final[tuple[tuple[str, str | None], ...]] = (
    ("/health/", None),
    ("/openapi.json", None),
    ("/docs", None),
    ("/problems", None),
    ("/assets/", None),
    ("/embed/", None),
    ("/metrics", "operate"),
    ("/v1/rulesets", "rules:read"),
    ("/v1/vocabulary", "rules:read"),
    ("/v1/drawings/ratios/", "rules:read"),
    ("/rules/", "rules:read"),
    ("/bench", "rules:read"),
    ("/v1/", "judge"),
)


@lru_cache(256)
def scope_of(method: str, path: str) -> str | None:
    """The scope that a request needs."""
    if path == "/v1/annotations" and method == "GET":
        return "embed"
    if path.startswith("/v1/rulesets/") and method == "POST":
        return "judge"
    for beginning, scope in _SCOPES:
        if path.startswith(beginning):
            return scope
    return "rules:read"


@dataclass(slots=True)
class _Bucket:
    left: float
    at: float


@dataclass(frozen=True, slots=True)
class Left:
    """What is left of a quota, as the draft RateLimit fields of the IETF tell it."""

    per_minute: int
    left: int
    seconds: int

    @property
    def headers(self) -> dict[str, str]:
        return {
            "RateLimit-Policy": f'"key";q={self.per_minute};w={_MINUTE:.0f}',
            "RateLimit": f'"key";r={self.left};t={self.seconds}',
        }


class Quotas:
    """Requests a minute for each key, refilled all the time; counted in this process alone."""

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._buckets: dict[str, _Bucket] = {}

    def take(self, who: Caller) -> Left | None:
        """Count one request; a problem if none is left, None where there is no quota."""
        if who.per_minute is None or who.id is None:
            return None
        now, rate = self._now(), who.per_minute / _MINUTE
        bucket = self._buckets.setdefault(who.id, _Bucket(float(who.per_minute), now))
        bucket.left = min(float(who.per_minute), bucket.left + (now - bucket.at) * rate)
        bucket.at = now
        if bucket.left < 1:
            wait = int((1 - bucket.left) / rate) + 1
            told = Left(who.per_minute, 0, wait)
            raise ProblemError("quota_used_up", headers={**told.headers, "Retry-After": str(wait)})
        bucket.left -= 1
        full = int((who.per_minute - bucket.left) / rate) + 1
        return Left(who.per_minute, int(bucket.left), full)
