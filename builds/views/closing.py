"""From buy-off to gone: can it close, close it, certify, reissue, ship; and the customer's links of an order."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from builds.actions.closing import AGAIN, certify, close_axle, frozen_bytes, make_again, reissue
from builds.actions.links import MAKERS, make_link, revoke_link
from builds.actions.putting_in import PUTS_IN, empty_places, put_in
from builds.actions.shipping import Going, ship
from builds.models import Axle, Certificate, Certifying, Closing, CustomerLink, Fitted, Order, Phase, Shipment
from builds.reports.closing import against_leaving, being_made, missing_for_closing
from builds.reports.looked_back import looked_back_at
from builds.views.customer import pdf_answer
from builds.views.station_found import the_axle
from shop.errors import Refusal
from shop.http import Asked, Done, accept, find_or_404, methods, needs, new_submission
from shop.models import Role

#: Closed and still in the house.
HERE = (Phase.BOUGHT_OFF, Phase.CERTIFIED)


@methods("GET")
def closing(request: Asked, serial: str) -> HttpResponse:
    """Can this axle close, and if not why; what is closed, certified, shipped."""
    return _draw(request, the_axle(serial))


def _draw(request: Asked, axle: Axle, refusal: Refusal | None = None, form: str = "") -> HttpResponse:
    found = Closing.objects.filter(axle=axle).select_related("closed_by").first()
    certifying = Certifying.objects.filter(closing=found).select_related("signature__person").first()
    certificates = list(Certificate.objects.filter(axle=axle).order_by("issue"))
    context = {
        "axle": axle,
        "missing": missing_for_closing(axle, timezone.now()) if found is None else [],
        "closing": found,
        "certifying": certifying,
        "certificates": certificates,
        "making": being_made(axle),
        "against": against_leaving(axle) if found is not None and axle.phase in HERE else "",
        "empty": empty_places(axle) if found is not None and axle.phase in HERE else [],
        "may_put_in": not request.roles.isdisjoint(PUTS_IN),
        "may_try_again": not request.roles.isdisjoint(AGAIN),
        "since": [row for row in looked_back_at(axle) if found is not None and row.at >= found.closed_at],
        "shipment": Shipment.objects.filter(axle=axle).first(),
        "may_certify": Role.QUALITY in request.roles,
        "may_ship": Role.SHIPPER in request.roles,
        "going": _going(request, axle) if certifying is not None else {},
        "refusal": refusal,
        "form": form,
        "posted": request.POST,
        "who": request.person.name,
        "submissions": {name: new_submission() for name in ("close", "certify", "ship", "reissue", "again", "put_in")},
    }
    return render(request, "builds/closing.html", context)


def _going(request: Asked, axle: Axle) -> dict[str, str]:
    """What the shipping form begins with: what was typed, else the order's customer at their address."""
    customer = axle.line.order.customer
    known = {"consignee": customer.name, "address": customer.address, "carrier": "", "numbers": ""}
    return {name: request.POST.get(name, text) for name, text in known.items()}


def _act(request: Asked, serial: str, form: str, do: Any, said: str, *, meaning: str = "") -> HttpResponse:
    axle = the_axle(serial)
    return accept(
        request,
        lambda: do(axle),
        then=lambda _: Done(reverse("closing", args=[serial]), said),
        draw=lambda refusal: _draw(request, axle, refusal, form),
        meaning=meaning,
    )


@methods("POST")
def closing_close(request: Asked, serial: str) -> HttpResponse:
    said = "The record is closed. Quality signs it next."
    return _act(request, serial, "close", lambda axle: close_axle(axle=axle, by=request.who), said)


@methods("POST")
def closing_certify(request: Asked, serial: str) -> HttpResponse:
    def do(axle: Axle) -> Certifying:
        found = Closing.objects.filter(axle=axle).select_related("axle__item").first()
        if found is None:
            raise Refusal("The record is not closed yet. Close it first.")
        return certify(closing=found, grant=request.grant, by=request.who)

    return _act(request, serial, "certify", do, "Signed. The certificate is being made.", meaning="released")


@methods("POST")
def closing_reissue(request: Asked, serial: str) -> HttpResponse:
    reason = request.POST.get("reason", "")
    said = "A new issue is being made; it names the one it replaces."

    def do(axle: Axle) -> int:
        return reissue(axle=axle, reason=reason, grant=request.grant, by=request.who)

    return _act(request, serial, "reissue", do, said, meaning="released")


@methods("POST")
def closing_again(request: Asked, serial: str) -> HttpResponse:
    """A certificate that was given up is tried again."""
    said = "The certificate is tried again."
    return _act(request, serial, "again", lambda axle: make_again(axle=axle, by=request.who), said)


@methods("POST")
@needs(*PUTS_IN)
def closing_put_in(request: Asked, serial: str, pk: int) -> HttpResponse:
    """Another part into the place of one that was taken out since the record was closed."""
    was = find_or_404(Fitted.objects.select_related("part", "host"), pk=pk, axle__item__mark=serial)
    scan, reason = request.POST.get("scan", "")[:80], request.POST.get("reason", "")

    def do(axle: Axle) -> Fitted:
        return put_in(axle=axle, was=was, scan=scan, reason=reason, by=request.who)

    return _act(request, serial, f"put_in{pk}", do, "It is in, on record as put in after closing.")


@methods("POST")
def closing_ship(request: Asked, serial: str) -> HttpResponse:
    posted = request.POST
    going = Going(
        posted.get("consignee", ""),
        posted.get("carrier", ""),
        posted.get("address", ""),
        posted.get("numbers", ""),
    )

    def do(axle: Axle) -> Shipment:
        return ship(axle=axle, going=going, grant=request.grant, by=request.who)

    return _act(request, serial, "ship", do, "Shipped.", meaning="released")


@methods("GET")
def certificate(request: Asked, serial: str, issue: int) -> HttpResponse:
    row = Certificate.objects.filter(axle__item__mark=serial, issue=issue).first()
    if row is None:
        raise Http404
    return pdf_answer(row, serial)


@methods("GET")
def frozen_record(request: Asked, serial: str) -> HttpResponse:
    """The frozen record itself, byte for byte."""
    found = find_or_404(Closing.objects.all(), axle__item__mark=serial)
    response = HttpResponse(frozen_bytes(found), content_type="application/json")
    response["Content-Disposition"] = f'attachment; filename="{serial}-record.json"'
    return response


@methods("GET", "POST")
@needs(*MAKERS)
def links(request: Asked, number: str) -> HttpResponse:
    """The customer's links of one order: make one, see who looked, take one back."""
    order = find_or_404(Order.objects.select_related("customer"), number=number)

    def draw(refusal: Refusal | None = None, address: str = "") -> HttpResponse:
        return _draw_links(request, order, refusal, address)

    if request.method == "GET":
        return draw()
    days = request.POST.get("days", "")

    def do() -> str:
        count = int(days) if days.isascii() and days.isdecimal() and len(days) < 5 else 0
        _, token = make_link(order=order, days=count, by=request.who)
        return token

    made: dict[str, str] = {}

    def then(token: str) -> Done:
        made["token"] = token
        return Done(reverse("links", args=[number]), "The link is made.")

    response = accept(request, do, then=then, draw=draw)
    if "token" in made and response.status_code == 303:
        path = reverse("customer_enter_token", args=[made["token"]])
        return draw(address=request.build_absolute_uri(path))
    return response


@methods("POST")
@needs(*MAKERS)
def link_revoke(request: Asked, number: str, pk: int) -> HttpResponse:
    row = find_or_404(CustomerLink.objects.select_related("order__customer"), pk=pk, order__number=number)
    here = reverse("links", args=[number])

    def draw(refusal: Refusal | None) -> HttpResponse:
        return _draw_links(request, row.order, refusal)

    return accept(
        request,
        lambda: revoke_link(link=row, by=request.who),
        then=lambda _: Done(here, "Revoked."),
        draw=draw,
    )


def _draw_links(request: Asked, order: Order, refusal: Refusal | None, address: str = "") -> HttpResponse:
    context = {
        "order": order,
        "rows": CustomerLink.objects.filter(order=order).prefetch_related("views").order_by("-made_at"),
        "address": address,
        "refusal": refusal,
        "days": request.POST.get("days", "90"),
        "now": timezone.now(),
        "submission": new_submission(),
    }
    return render(request, "builds/links.html", context)
