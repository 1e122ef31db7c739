"""The customer's way in: an address that cannot be guessed, that ends by itself, and that can be taken back."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta

from builds.models import CustomerLink, LinkView, Order
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Role
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who

MAKERS = (Role.OFFICE, Role.MANAGER)
LONGEST = 400


def token_hash(token: str) -> str:
    """What is kept of a token: it has 256 random bits, so a plain hash cannot be guessed back."""
    return hashlib.sha256(token.encode()).hexdigest()


def make_link(*, order: Order, days: int, by: Who, now: datetime | None = None) -> tuple[CustomerLink, str]:
    """A link for so many days. The token is returned this once and only its hash is kept."""
    if not 1 <= days <= LONGEST:
        raise Refusal(f"A link is good for 1 to {LONGEST} days.", field="days")
    token = secrets.token_urlsafe(32)
    with act("link.made", subject=f"order:{order.number}", by=by, now=now) as a:
        require_role(by, MAKERS, shop_day(a.now))
        assert by.person is not None
        a.note(days=days)
        row = a.create(
            CustomerLink,
            order=order,
            token_hash=token_hash(token),
            made_at=a.now,
            made_by=by.person,
            expires_at=a.now + timedelta(days=days),
        )
    return row, token


def revoke_link(*, link: CustomerLink, by: Who, now: datetime | None = None) -> CustomerLink:
    """The link is worth nothing from this moment on."""
    with act("link.revoked", subject=f"order:{link.order.number}", by=by, now=now) as a:
        require_role(by, MAKERS, shop_day(a.now))
        link = CustomerLink.objects.select_related("order").get(pk=link.pk)
        if link.revoked_at is not None:
            raise Refusal("This link is revoked already.")
        return a.update(link, revoked_at=a.now)


def good_link(token: str, now: datetime) -> CustomerLink | None:
    """The link that this token opens now; None for a strange, revoked or expired one, all alike."""
    if not token or len(token) > 100:
        return None
    row = CustomerLink.objects.filter(token_hash=token_hash(token), revoked_at=None, expires_at__gt=now)
    return row.select_related("order__customer").first()


def note_view(link: CustomerLink, path: str, now: datetime) -> None:
    """Somebody looked: kept outside the ledger."""
    LinkView.objects.create(link=link, at=now, path=path[:120])
