"""A press repeated gives the same answer, not a second entry.

The server makes a key when it draws a form. The key is kept at the end of the transaction of the act, with a
fingerprint of what was posted and a reference to the result; all three are kept for ever. shop.http.accept does it
for every form:

    mark = fingerprint("POST", path, request.POST.lists(), by=who)
    before = earlier(key, mark)
    if before is not None:
        return answer(before.result)
    with transaction.atomic():
        order = booking.book(..., by=who)
        keep(key, mark, {"order": order.pk}, by=who)

Race: of two presses at once one keeps the key and the other waits for its commit (PostgreSQL at the lock of the
subject or at the unique index, SQLite at the start of the transaction). Its own act is then void with an
IntegrityError or a refusal, and ``earlier`` gives the first one's result.
"""

from __future__ import annotations

import hashlib
import unicodedata
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone
from django.utils.crypto import salted_hmac

from shop.errors import Refusal
from shop.record import chain
from shop.record.models import Submission
from shop.record.rows import insert
from shop.record.who import Who

#: Left out of the fingerprint, so that nothing kept can be searched for a PIN.
SECRET_FIELDS = frozenset({"pin", "new_pin", "password", "new_password", "again", "badge"})
LEFT_OUT = SECRET_FIELDS | {"csrfmiddlewaretoken", "submission"}
#: Secrets that the form is there to set: another one is another form, so they count, sealed.
SET_BY_FORM = frozenset({"new_pin", "new_password"})


class OtherBody(Refusal):
    """The key was used before, with something else in the form."""


@dataclass(frozen=True)
class Before:
    """What the key led to the first time."""

    result: Any
    at: datetime


def new_key() -> str:
    """The key for a form that is being drawn."""
    return str(uuid.uuid4())


def read_key(text: str) -> uuid.UUID | None:
    """The key as it came back from the form, or None for anything else."""
    try:
        return uuid.UUID(text)
    except ValueError:
        return None


def fingerprint(
    method: str,
    path: str,
    body: Iterable[tuple[str, Sequence[object]]],
    *,
    by: Who,
    files: Iterable[tuple[str, Sequence[str]]] = (),
) -> bytes:
    """SHA-256 over method, path, person and fields in name order; ``files`` are names with SHA-256
    digests."""
    texts = {name: [_text(value) for value in values] for name, values in body}
    fields = {name: values for name, values in texts.items() if name not in LEFT_OUT}
    fields |= {name: [_sealed(texts, name)] for name in sorted(SET_BY_FORM & texts.keys())}
    whole = [method, path, by.code, fields, {name: list(digests) for name, digests in files}]
    return hashlib.sha256(chain.canonical(whole)).digest()


def _sealed(texts: dict[str, list[str]], name: str) -> str:
    """A digest of a secret under the shop's key and the form's own: slow, so that even who holds both the rows and
    the key has no quicker way to the secret than its stored hash."""
    salt = salted_hmac("shop.record.submission", "".join(texts.get("submission", ())), algorithm="sha256").digest()
    return hashlib.scrypt(chain.canonical(texts[name]), salt=salt, n=2**14, r=8, p=1, dklen=32).hex()


def _text(value: object) -> str:
    """As it will be stored: NFC, and without the halves of characters that no encoding has."""
    whole = str(value).encode("utf-8", "replace").decode("utf-8")
    return unicodedata.normalize("NFC", whole)


def earlier(key: uuid.UUID, mark: bytes) -> Before | None:
    """What this key led to before; None when it is new. Raises OtherBody for a key used for something
    else."""
    row = Submission.objects.filter(pk=key).first()
    if row is None:
        return None
    if bytes(row.fingerprint) != mark:
        raise OtherBody(
            "This form was already sent with other entries, and those were saved. Nothing more was saved. "
            "Open the page again to see what stands there."
        )
    return Before(row.result, row.at)


def keep(key: uuid.UUID, mark: bytes, result: Any, *, by: Who, now: datetime | None = None) -> None:
    """Keep the key with its result, as the last of the transaction.

    Race: raises IntegrityError when a twin was first; this transaction is then void, and ``earlier`` gives
    the twin's answer. One statement: readings are entered this way all day.
    """
    insert(Submission(key=key, fingerprint=mark, person=by.person, at=now or timezone.now(), result=result))
