"""The axle file: everything that is known about one serial, and what may still be done to it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from builds.actions.adding import shorten_wait, void_reading, withdraw_signature
from builds.actions.fitting import GOES_TO
from builds.actions.removing import Out, remove_part
from builds.actions.tagging import tag_axle
from builds.definitions.plan import grouped, slot_key
from builds.models import Axle, Fitted
from builds.reports.axle_file import AxleFile, axle_file
from builds.reports.lists import reading_list
from builds.views.axle_rows import (
    event_rows,
    former_rows,
    now_rows,
    operation_rows,
    part_rows,
    photo_rows,
    signature_rows,
    weld_rows,
)
from builds.views.reading_rows import folded, groups, void_said
from builds.views.station_found import NONE, At, the_axle, the_pass
from builds.views.station_picture import large_picture
from measurements.models import Reading
from shop.errors import Refusal
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, kept_or_404, methods, new_submission
from shop.models import Where
from shop.models.prepared import Prepared, text

#: What may be asked of one row of the file, by the word in the address that opens its form.
ASKS = ("void", "out", "shorten", "back")


_AXLES = Prepared(
    lambda: (
        Axle.objects.filter(item__mark=text("serial"))
        .select_related("item", "line__order__customer", "revision__model")
        .defer("revision__text")
    )
)


@dataclass(frozen=True)
class Ask:
    """Which form stands at the head of the page: of what kind, and of which row."""

    kind: str
    key: str


@methods("GET")
def axle(request: Asked, serial: str) -> HttpResponse:
    """The drawing as index; a zone pressed narrows what stands below."""
    found = kept_or_404(_AXLES, serial=serial)
    if csv_asked(request):
        return csv_answer(reading_list(axle_file(found, timezone.now())))
    return _draw(request, found)


def _draw(request: Asked, found: Axle, refusal: Refusal | None = None, ask: Ask | None = None) -> HttpResponse:
    zone, side = request.GET.get("zone", "")[:30], request.GET.get("side", "")[:12]
    file = axle_file(found, timezone.now(), zone=zone, side=side)
    here = reverse("axle", args=[found.serial])
    options = [
        (option.label, dict(file.stands.plan.chosen).get(option.axis, "")) for option in file.stands.plan.card.options
    ]
    opened = request.GET.get("all") == "open"
    signed = grouped(file.signatures, lambda row: int(row["visit"]))
    readings = groups(file.readings, closed=found.closed_at is not None)
    context = {
        "axle": found,
        "file": file,
        "readings": folded(readings, opened=opened or bool(zone)),
        "zone": f"{zone} {side}".strip().replace("-", " "),
        "opened": opened,
        "unfolded": opened or bool(zone),
        "drawing": large_picture(file.stands, here),
        "options": options,
        "now": "" if found.closed_at or found.scrapped_at else now_rows(found, file.stands.slots.values()),
        "operations": operation_rows(found, file.slots, _may_be_shorter(file), signed),
        "parts": part_rows(found, file.parts),
        "formerly": former_rows(file.formerly),
        "welds": weld_rows(file.welds),
        "photos": photo_rows(file.photos),
        "signatures": signature_rows(file.signatures),
        "events": event_rows(file.events),
        "destinations": [(word, Where(word).label) for word in GOES_TO],
        **_asked(file, ask or _ask_of(request)),
        "refusal": refusal,
        "tagging": refusal is not None and ask is None,
        "posted": request.POST,
        "who": request.person.name,
        "notice": file.stands.plan.card.notice,
        "submissions": {name: new_submission() for name in ("tag", *ASKS)},
    }
    return render(request, "builds/axle.html", context)


def _may_be_shorter(file: AxleFile) -> set[int]:
    return {after.operation for after in file.stands.plan.card.after if after.shorter_by}


def _ask_of(request: Asked) -> Ask | None:
    return next((Ask(kind, request.GET[kind]) for kind in ASKS if kind in request.GET), None)


def _asked(file: AxleFile, ask: Ask | None) -> dict[str, object]:
    """The row that the form at the head of the page is about: one form at a time, so each says what it is for."""
    if ask is None:
        return {}
    rows: dict[str, Callable[[], Iterable[tuple[str, object]]]] = {
        "void": lambda: ((str(row["pk"]), row) for row in file.readings),
        "out": lambda: ((str(row.pk), row) for row in file.parts),
        "shorten": lambda: ((key, view) for key, view in file.stands.slots.items() if view.state == "waiting for time"),
        "back": lambda: ((key, view) for key, view in file.stands.slots.items() if view.state == "waiting for sign"),
    }
    return {f"asked_{ask.kind}": next((row for key, row in rows[ask.kind]() if key == ask.key), None)}


def _act(
    request: Asked,
    found: Axle,
    do: Callable[[], Any],
    said: str | Callable[[Any], str],
    *,
    ask: Ask | None = None,
    meaning: str = "",
) -> HttpResponse:
    """A refusal draws the page again with the same form open and what was typed in it."""
    return accept(
        request,
        do,
        then=lambda made: Done(reverse("axle", args=[found.serial]), said if isinstance(said, str) else said(made)),
        draw=lambda refusal: _draw(request, found, refusal, ask),
        meaning=meaning,
    )


@methods("POST")
def axle_tag(request: Asked, serial: str) -> HttpResponse:
    """Something is wrong with the whole axle."""
    found, cause = the_axle(serial), request.POST.get("cause", "")
    return _act(request, found, lambda: tag_axle(axle=found, cause=cause, by=request.who), "A red tag is open.")


@methods("POST")
def axle_take_out(request: Asked, serial: str, pk: int) -> HttpResponse:
    """Take a part out: why, and where it goes; what depended on it is re-opened by itself."""
    found = the_axle(serial)
    rows = Fitted.objects.filter(axle=found).select_related("part", "host", "axle__item", "axle__revision")
    row = find_or_404(rows, pk=pk)
    out = Out(request.POST.get("reason", ""), request.POST.get("to", ""), request.POST.get("note", ""))
    said = f"{row.part.mark} is out."
    return _act(request, found, lambda: remove_part(fitted=row, out=out, by=request.who), said, ask=Ask("out", str(pk)))


@methods("POST")
def axle_void(request: Asked, serial: str, pk: int) -> HttpResponse:
    """Declare a reading void: it stays visible and its value stands no longer."""
    found, reason = the_axle(serial), request.POST.get("reason", "")
    of_axle = Reading.objects.filter(sheet__visit_links__visit__axle=found).select_related("characteristic")
    row = find_or_404(of_axle.distinct(), pk=pk)
    return _act(
        request,
        found,
        lambda: void_reading(reading=row, reason=reason, by=request.who),
        void_said,
        ask=Ask("void", str(pk)),
    )


@methods("POST")
def axle_shorten(request: Asked, serial: str, number: int, side: str) -> HttpResponse:
    """An engineer's signed reason for a shorter wait."""
    found, reason = the_axle(serial), request.POST.get("reason", "")
    key = slot_key(number, "" if side == NONE else side)

    def do() -> Any:
        slot = found.plan.by_key.get(key)
        if slot is None:
            raise Refusal(f"{serial} has no operation {number}.")
        return shorten_wait(axle=found, slot=slot, reason=reason, grant=request.grant, by=request.who)

    said = "The wait is shortened; the reason is printed."
    return _act(request, found, do, said, ask=Ask("shorten", key), meaning="released")


@methods("POST")
def axle_send_back(request: Asked, serial: str, number: int, side: str) -> HttpResponse:
    """The second signature is not given: the pass goes back to its doer, with what must be done first."""
    found, reason = the_axle(serial), request.POST.get("reason", "")

    def do() -> Any:
        visit = the_pass(At(serial, number, side))
        if visit is None:
            raise Refusal(f"Operation {number} of {serial} waits for no signature.")
        return withdraw_signature(visit=visit, reason=reason, by=request.who)

    ask = Ask("back", slot_key(number, "" if side == NONE else side))
    return _act(request, found, do, f"Operation {number} is with its doer again.", ask=ask)
