"""Which gauges were scanned last at this browser: a signed cookie, judged anew at every reading."""

from __future__ import annotations

import json

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponseBase

from measurements.models import Gauge
from shop.http.seat import cookie_name

_SALT = "axlebook.gauges"
_AGE_S = 30 * 24 * 60 * 60
_MOST = 40


def chosen_gauges(request: HttpRequest) -> dict[str, str]:
    """Marks by "kind:unit", and by "kind:" for the last of that kind."""
    fresh: dict[str, str] | None = getattr(request, "_chosen_gauges", None)
    if fresh is not None:
        return fresh
    try:
        text = signing.Signer(salt=_SALT).unsign(request.COOKIES.get(cookie_name("gauges"), ""))
        found = json.loads(text)
    except (signing.BadSignature, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def choose(request: HttpRequest, gauge: Gauge) -> None:
    """From now on this gauge, until another of its kind is scanned."""
    kept = dict(list(chosen_gauges(request).items())[-_MOST:])
    for key in (f"{gauge.kind}:{gauge.unit}", f"{gauge.kind}:"):
        kept[key] = str(gauge.item.mark)
    request._chosen_gauges = kept  # type: ignore[attr-defined]


def keep_choice(request: HttpRequest, response: HttpResponseBase) -> None:
    """Send the choice of this request to the browser."""
    fresh: dict[str, str] | None = getattr(request, "_chosen_gauges", None)
    if fresh is None:
        return
    response.set_cookie(
        cookie_name("gauges"),
        signing.Signer(salt=_SALT).sign(json.dumps(fresh, sort_keys=True)),
        max_age=_AGE_S,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
