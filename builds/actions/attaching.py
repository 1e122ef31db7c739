"""Drawings and instruction sheets that a released card names: attached once, and never replaced."""

from __future__ import annotations

import hashlib
from datetime import datetime

from builds.errors import AlreadyThere
from builds.models import Document, Operation, RevisionState
from shop.clock import shop_day
from shop.errors import Refusal
from shop.files import clean_document, clean_picture
from shop.models import Role
from shop.permissions import require_role
from shop.record.act import act
from shop.record.models import Blob
from shop.record.who import Who


def attach_document(
    *, operation: Operation, code: str, content: bytes, by: Who, now: datetime | None = None
) -> Document:
    """Attach the file of a document that the card names at this operation."""
    revision = operation.revision
    if code not in revision.card.operation(operation.number).documents:
        raise Refusal(f"The card names no document {code[:40]} at operation {operation.number}.", field="code")
    clean, content_type = clean_document(content)
    with act("card.document", subject=f"model:{revision.model.code}", by=by, now=now) as a:
        require_role(by, Role.ENGINEER, shop_day(a.now))
        if revision.state != RevisionState.RELEASED:
            raise Refusal(f"{revision} is a draft. Release it, then attach its documents.")
        if Document.objects.filter(operation=operation, name=code).exists():
            raise AlreadyThere(f"{code} is already attached at operation {operation.number} and stays.", field="code")
        sha256 = hashlib.sha256(clean).hexdigest()
        a.note(operation=operation.number, document=code, sha256=sha256)
        keep_file(sha256, clean, content_type)
        return a.create(Document, operation=operation, name=code, sha256=sha256)


def keep_file(sha256: str, content: bytes, content_type: str) -> None:
    """Bytes are kept once, by their fingerprint; the row that names them stands in the record."""
    facts = {"content": content, "content_type": content_type, "size": len(content)}
    Blob.objects.get_or_create(sha256=sha256, defaults=facts)


def keep_picture(content: bytes) -> str:
    """Decode a picture whole, write it anew, keep it once; the SHA-256 of what is kept. Raises BadFile."""
    clean, content_type = clean_picture(content)
    sha256 = hashlib.sha256(clean).hexdigest()
    keep_file(sha256, clean, content_type)
    return sha256
