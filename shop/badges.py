"""Badge codes: made at random, printed once, kept only as a keyed hash."""

from __future__ import annotations

import hmac
import secrets
from hashlib import sha256

from django.conf import settings

from shop.codes import ScanKind, label_text, normalise_mark

#: No 0, 1, I, O: a code may have to be typed from a worn badge.
_LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
CODE_LENGTH = 16


def new_code() -> str:
    """80 random bits: nobody guesses another's badge."""
    return "".join(secrets.choice(_LETTERS) for _ in range(CODE_LENGTH))


def code_hash(code: str) -> str:
    """HMAC-SHA-256 under the shop's badge key: a copied table alone tells no badge."""
    key = f"badge:{settings.BADGE_KEY}".encode()
    return hmac.new(key, normalise_mark(code).encode(), sha256).hexdigest()


def label(code: str) -> str:
    """What the badge's Data Matrix holds."""
    return label_text(ScanKind.BADGE, code)
