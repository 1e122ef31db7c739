"""The customer's window: one order, read only, by a link; and the public check of a certificate."""

from __future__ import annotations

import hashlib
import re
from datetime import timedelta

from django.conf import settings
from django.core import signing
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from builds.actions.links import good_link, note_view
from builds.drawings.axle import small_axle
from builds.models import Certificate, CustomerLink
from builds.reports.checking import FINGERPRINT_DIGITS, Answer, check_file, check_fingerprint, no_file
from builds.reports.customer import axles_for
from builds.views.station_picture import axle_picture
from shop.http import Asked, methods
from shop.http.seat import cookie_name
from shop.record.models import Blob

_SALT = "axlebook.customer"
_VISIT = timedelta(hours=8)


@methods("GET", "POST")
def customer_enter(request: Asked, token: str = "") -> HttpResponse:
    """The link leads to a page with one key; pressing it exchanges the token for a cookie of this order alone."""
    if request.method == "GET":
        return render(request, "builds/customer_enter.html", {"token": token, "maker": settings.SHOP_NAME})
    now = timezone.now()
    link = good_link(request.POST.get("token", ""), now)
    if link is None:
        raise Http404
    response = HttpResponseRedirect(reverse("customer_order"))
    value = signing.TimestampSigner(salt=_SALT).sign(link.token_hash)
    response.set_cookie(
        cookie_name("customer"),
        value,
        max_age=int(_VISIT.total_seconds()),
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
    return response


def _link(request: Asked) -> CustomerLink:
    """The link behind the cookie, looked up anew each time: revoked or expired, it is nothing at once."""
    try:
        kept = signing.TimestampSigner(salt=_SALT).unsign(
            request.COOKIES.get(cookie_name("customer"), ""), max_age=_VISIT
        )
    except signing.BadSignature as error:
        raise Http404 from error
    now = timezone.now()
    rows = CustomerLink.objects.filter(token_hash=kept, revoked_at=None, expires_at__gt=now)
    link = rows.select_related("order__customer").first()
    if link is None:
        raise Http404
    note_view(link, request.path, now)
    return link


@methods("GET")
def customer_order(request: Asked) -> HttpResponse:
    """Where each axle of this order is, when, what was out of limit and who agreed, the certificate."""
    link = _link(request)
    axles = axles_for(link.order, timezone.now())
    drawings = {found.serial: small_axle(axle_picture(found.stands), key=f"axle-{found.serial}") for found in axles}
    context = {
        "order": link.order,
        "axles": [(found, drawings[found.serial]) for found in axles],
        "expires": link.expires_at,
        "maker": settings.SHOP_NAME,
        "verify": reverse("verify"),
    }
    return render(request, "builds/customer_order.html", context)


@methods("GET")
def customer_certificate(request: Asked, serial: str, issue: int) -> HttpResponse:
    """One issue of an axle of this order; anything else is not here."""
    link = _link(request)
    row = Certificate.objects.filter(axle__item__mark=serial, axle__line__order=link.order, issue=issue).first()
    if row is None:
        raise Http404
    return pdf_answer(row, serial)


def pdf_answer(row: Certificate, serial: str) -> HttpResponse:
    content = bytes(Blob.objects.get(sha256=row.sha256).content)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'attachment; filename="{serial}-issue-{row.issue}.pdf"'
    response["Content-Security-Policy"] = "sandbox; default-src 'none'"
    return response


@methods("GET", "POST")
def verify(request: Asked) -> HttpResponse:
    """Anybody: is this certificate ours, unchanged, and the latest?"""
    given = request.POST if request.method == "POST" else request.GET
    serial = given.get("serial", "").strip().upper()[:40]
    fingerprint = re.sub(r"[^0-9a-f]", "", given.get("fingerprint", "").lower())[: 2 * FINGERPRINT_DIGITS]
    file = request.FILES.get("file")
    answer: Answer | None = None
    if file is not None:
        answer = no_file(file.size or 0) or check_file(hashlib.sha256(file.read()).hexdigest())
    elif request.method == "POST":
        answer = check_fingerprint(serial, fingerprint)
    context = {"serial": serial, "fingerprint": fingerprint, "answer": answer, "maker": settings.SHOP_NAME}
    return render(request, "builds/verify.html", context)
