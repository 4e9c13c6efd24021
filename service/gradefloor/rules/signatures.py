"""Ed25519 signatures (RFC 8032) of a manifest, and the keys as PEM (RFC 8410) that openssl makes.

openssl genpkey -algorithm ed25519 -out signing.pem
openssl pkey -in signing.pem -pubout -out trusted.pem
"""

import base64
import binascii
from contextlib import suppress
from typing import Final

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import load_pem_private_key, load_pem_public_key

_SCHEME: Final = "ed25519:"


def public_key(pem: bytes) -> Ed25519PublicKey:
    """ValueError if these bytes are no public Ed25519 key."""
    with suppress(ValueError, UnsupportedAlgorithm):
        key = load_pem_public_key(pem)
        if isinstance(key, Ed25519PublicKey):
            return key
    raise ValueError("no public Ed25519 key in PEM")


def private_key(pem: bytes) -> Ed25519PrivateKey:
    """ValueError if these bytes are no private Ed25519 key without a password."""
    with suppress(TypeError, ValueError, UnsupportedAlgorithm):  # TypeError: it has a password
        key = load_pem_private_key(pem, password=None)
        if isinstance(key, Ed25519PrivateKey):
            return key
    raise ValueError("no private Ed25519 key in PEM without a password")


def signature(key: Ed25519PrivateKey, content: bytes) -> str:
    """Signature of the content as it stands in a manifest."""
    return _SCHEME + base64.b64encode(key.sign(content)).decode()


def holds(key: Ed25519PublicKey, content: bytes, signed: str) -> bool:
    """Whether this key has signed this content."""
    try:
        key.verify(base64.b64decode(signed.removeprefix(_SCHEME), validate=True), content)
    except (InvalidSignature, binascii.Error, ValueError):
        return False
    return signed.startswith(_SCHEME)
