"""Secrets that the program makes: 256 random bits, shown once, kept as SHA-256 alone."""

from __future__ import annotations

import hashlib
import secrets
from typing import Final

__all__ = ["TOKEN_PREFIX", "digest_secret", "make_secret"]

#: By which a program's token is known wherever it lies about.
TOKEN_PREFIX: Final = "nwl_"
_BYTES: Final = 32


def make_secret(prefix: str = "") -> str:
    """Return a new secret of 256 random bits in letters that an address takes."""
    return prefix + secrets.token_urlsafe(_BYTES)


def digest_secret(secret: str) -> str:
    """Return what is kept of a secret. It is random, so no salt and no slow function is needed."""
    return hashlib.sha256(secret.encode()).hexdigest()
