"""A browser for page tests: signed in as somebody, posting forms as their pages draw them."""

from __future__ import annotations

import re
import uuid
from io import BytesIO
from typing import Any

from django.core import signing
from django.test import Client
from django.utils import timezone
from pypdf import PdfReader

from shop.http.seat import cookie_name, fingerprint
from shop.models import SignIn
from shop.record.who import Who

_KEY = re.compile(r'name="submission" value="([^"]+)"')


class Browser(Client):
    """Django's test client with a seat, and a submission key for every form."""

    def __init__(self, who: Who | None = None, **more: Any) -> None:
        super().__init__(**more)
        if who is not None and who.person is not None:
            token = uuid.uuid4().hex
            SignIn.objects.create(
                token_hash=fingerprint(token), person=who.person, terminal=None, begun_at=timezone.now()
            )
            value = signing.Signer(salt="axlebook.seat").sign(f"{token}@{timezone.now().timestamp():.3f}")
            self.cookies[cookie_name("seat")] = value

    def send(self, path: str, **fields: Any) -> Any:
        """Post a form as a page would have drawn it, with a new key unless one is given."""
        fields.setdefault("submission", str(uuid.uuid4()))
        return self.post(path, fields)

    def key_on(self, path: str) -> str:
        """The key that the server drew into the page."""
        found = _KEY.search(self.get(path).content.decode())
        assert found is not None, f"{path} draws no submission key"
        return found[1]


def text_of(response: Any) -> str:
    """What a reader sees: the page without its tags, single spaces."""
    body = re.sub(r"<[^>]+>", " ", response.content.decode())
    return " ".join(body.replace("&#x27;", "'").replace("&quot;", '"').split())


def text_of_pdf(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
