"""Returns: what came back, one axle then and now, and what the returned share."""

from __future__ import annotations

from urllib.parse import urlencode

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from builds.actions.exchanging import GOES_TO, SERVES
from builds.actions.exposing import keep_up
from builds.actions.returning import TAKES_BACK, add_return_photo, note_finding, roles_in, take_return
from builds.forms.returning import FindingForm, ReturnForm, ReturnPhotoForm, SerialForm
from builds.models import Axle, Phase, Photo, Returned, Unit
from builds.reports.returns.beside import AsBuilt, as_built
from builds.reports.returns.shared import MOST, shared, shared_list
from builds.reports.returns.then_and_now import ThenAndNow, then_and_now
from builds.views.reading_rows import groups
from builds.views.station_posted import posted_photo
from shop.codes import parse_scan, verify_serial
from shop.errors import Refusal
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, needs, new_submission
from shop.models import Where

Posted = FindingForm | ReturnPhotoForm | None


@methods("GET")
@needs(*TAKES_BACK)
def returns(request: Asked) -> HttpResponse:
    """Everything that came back, the newest first; a serial leads to its page."""
    form = SerialForm(request.GET if "serial" in request.GET else None)
    if form.is_bound and form.is_valid() and (serial := _serial(form)):
        return HttpResponseRedirect(reverse("returns_of", args=[serial]))
    rows = Returned.objects.select_related("axle__item", "person").prefetch_related("findings").order_by("-number")
    return render(request, "builds/returns.html", {"form": form, "rows": rows[:200], "count": rows.count()})


def _serial(form: SerialForm) -> str:
    """The serial of an axle that is on record, or nothing with the error said at its field."""
    typed = form.cleaned_data["serial"]
    try:
        scan = parse_scan(typed)
        serial = verify_serial(scan.mark if scan is not None else typed)
        if Axle.objects.filter(item__mark=serial).exists():
            return serial
        raise Refusal(f"No axle {serial} was ever built here. Read the plate again.")
    except Refusal as refusal:
        form.add_error("serial", refusal.text)
        return ""


@methods("GET", "POST")
@needs(*TAKES_BACK)
def returns_of(request: Asked, serial: str) -> HttpResponse:
    """One axle: what was in it as it left, what is in it now, what was conceded, and its returns."""
    rows = Axle.objects.select_related("item", "line__order__customer", "revision__model").defer("revision__text")
    axle: Axle = find_or_404(rows, item__mark=serial)
    form = ReturnForm(request.POST if request.method == "POST" else None, roles=roles_in(axle))

    def draw(refusal: Refusal | None = None) -> HttpResponse:
        return draw_returns(request, axle, form, refusal)

    if request.method == "GET":
        return draw()
    return accept(
        request,
        lambda: take_return(axle=axle, said=form.said, by=request.who),
        then=lambda made: Done(reverse("returns_of", args=[serial]), f"Return {made.number} is on record."),
        draw=draw,
        form=form,
    )


def draw_returns(
    request: Asked, axle: Axle, form: ReturnForm, refusal: Refusal | None = None, posted: Posted = None
) -> HttpResponse:
    """`posted`: the finding or the photo's name that was refused, to be drawn again with what was typed."""
    file = then_and_now(axle)
    built = as_built(axle, file.returns)
    context = {
        "axle": axle,
        "file": file,
        "returns": [_shown(row, built[row.pk], posted, closed=axle.closed_at is not None) for row in file.returns],
        "photos": Photo.objects.filter(visit__axle=axle).count(),
        "form": form,
        "refusal": refusal,
        "submission": new_submission(),
        "finding_submission": new_submission(),
        "photo_submission": new_submission(),
        "exchange": _exchange(request, axle, file) if axle.phase in (Phase.GONE, Phase.BACK) else None,
    }
    return render(request, "builds/returns_of.html", context)


def _exchange(request: Asked, axle: Axle, file: ThenAndNow) -> dict[str, object]:
    """What may be exchanged, and what was typed."""
    now = [place for place in file.places if place.now is not None]
    choices = [
        (f"part-{place.now.pk}", f"{place.role.replace('_', ' ')} {place.now.part.mark} ({place.host})")
        for place in now
        if place.now is not None
    ]
    units = Unit.objects.filter(axle=axle).select_related("item").order_by("role", "side")
    choices += [(f"unit-{unit.pk}", f"unit: {unit.words} {unit.item.mark}, with all that is in it") for unit in units]
    lines = [
        {name: request.POST.get(f"{name}{place}", "") for name in ("old", "scan", "to", "note")} | {"place": place}
        for place in ("1", "2")
    ]
    return {
        "choices": choices,
        "lines": lines,
        "reason": request.POST.get("reason", ""),
        "destinations": [(word, Where(word).label) for word in GOES_TO],
        "may": not request.roles.isdisjoint(SERVES),
        "submission": new_submission(),
    }


def _shown(row: Returned, built: AsBuilt, posted: Posted, *, closed: bool) -> dict[str, object]:
    """A return with its two forms, and with what was read and photographed when the part went in."""
    mine = posted if posted is not None and posted.number == row.number else None
    return {
        "row": row,
        "built": built,
        "readings": groups(built.readings, closed=closed),
        "finding": mine if isinstance(mine, FindingForm) else FindingForm(number=row.number),
        "photo": mine if isinstance(mine, ReturnPhotoForm) else ReturnPhotoForm(number=row.number),
    }


def _returned(number: int) -> Returned:
    rows = Returned.objects.select_related("axle__item", "axle__line__order__customer", "axle__revision__model")
    found: Returned = find_or_404(rows.defer("axle__revision__text"), number=number)
    return found


@methods("POST")
@needs(*TAKES_BACK)
def return_finding(request: Asked, number: int) -> HttpResponse:
    """What was found on looking at it."""
    returned = _returned(number)
    axle, form = returned.axle, FindingForm(request.POST, number=number)

    def do() -> object:
        return note_finding(
            returned=returned, says=form.cleaned_data["says"], words=form.cleaned_data["words"], by=request.who
        )

    return accept(
        request,
        do,
        then=lambda _: Done(reverse("returns_of", args=[axle.serial]), f"The finding on return {number} is kept."),
        draw=lambda refusal: draw_returns(request, axle, ReturnForm(roles=roles_in(axle)), refusal, form),
        form=form,
    )


@methods("POST")
@needs(*TAKES_BACK)
def return_photo(request: Asked, number: int) -> HttpResponse:
    """A picture of what came back, and what it shows."""
    returned = _returned(number)
    axle, form = returned.axle, ReturnPhotoForm(request.POST, number=number)

    def do() -> object:
        sha256 = posted_photo(request)
        return add_return_photo(returned=returned, name=form.cleaned_data["name"], sha256=sha256, by=request.who)

    return accept(
        request,
        do,
        then=lambda _: Done(reverse("returns_of", args=[axle.serial]), f"The photo of return {number} is kept."),
        draw=lambda refusal: draw_returns(request, axle, ReturnForm(roles=roles_in(axle)), refusal, form),
        form=form,
    )


@methods("GET")
@needs(*TAKES_BACK)
def returns_share(request: Asked) -> HttpResponse:
    """Suspects by rank, over all returns or those about one part; compared within one of them where that is asked."""
    asked = {name: request.GET.get(name, "")[:200] for name in ("role", "alike")}
    if waiting := keep_up():
        return render(request, "builds/returns_share.html", {"waiting": waiting}, status=202)
    found = shared(asked["role"], asked["alike"])
    if csv_asked(request):
        return csv_answer(shared_list(found))
    roles = Returned.objects.exclude(role="").order_by("role").values_list("role", flat=True).distinct()
    context = {
        "found": found,
        "rows": found.rows[:MOST],
        "left_out": max(0, len(found.rows) - MOST),
        "role": asked["role"],
        "roles": list(roles),
        "choices": [row.values[0] for row in found.rows[:MOST] if row.suspect.risk],
        "asked": urlencode({name: given for name, given in asked.items() if given}),
    }
    return render(request, "builds/returns_share.html", context)
