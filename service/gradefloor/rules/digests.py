"""What tells one version from another: its content, or its very bytes. Opens no files."""

import hashlib
from decimal import Decimal

import orjson

from gradefloor.rules.strict_yaml import Plain


def seal_of(written: bytes, proof: bytes, base: str) -> str:
    """sha256 over the bytes of both files, and the seal of what they extend (empty if nothing)."""
    parts = (written, proof, base.encode())
    return hashlib.sha256(b"".join(hashlib.sha256(part).digest() for part in parts)).hexdigest()


def digest_of(content: Plain, extends: str | None) -> str:
    """sha256 over the canonical content: comments, key order and line ends do not matter, any value does."""
    canonical = orjson.dumps(
        {"content": _canonical(content), "extends": extends}, option=orjson.OPT_SORT_KEYS
    )
    return f"sha256:{hashlib.sha256(canonical).hexdigest()}"


def _canonical(value: Plain) -> object:
    if isinstance(value, dict):
        return {key: _canonical(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_canonical(inner) for inner in value]
    if isinstance(value, Decimal):
        # Every digit counts, and 1.0 is 1; as a float, the last digits of a long number would not count.
        whole, _, fraction = f"{value:f}".partition(".")
        fraction = fraction.rstrip("0")
        return orjson.Fragment(f"{whole}.{fraction}" if fraction else whole)
    return value
