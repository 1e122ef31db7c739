"""The station page: one operation of one axle, or of a unit that is in none, and everything a worker does there.

Every view gets the parts of an address (`At`).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from builds.actions.adding import add_photo
from builds.actions.claiming import set_down as act_set_down
from builds.actions.claiming import take_up as act_take_up
from builds.actions.finishing import finish as act_finish
from builds.actions.finishing import meaning_of, sign_second
from builds.actions.fitting import fit_part
from builds.actions.measuring import Taken, enter_reading
from builds.actions.reopening import send_back
from builds.actions.tagging import report_wrong
from builds.forms.paper import PaperForm
from builds.models import OPEN_STATES, Bench, Visit, VisitState
from builds.progress import SlotView
from builds.reports.facts import standing
from builds.reports.wording import day
from builds.views.chosen_gauges import keep_choice
from builds.views.station_context import before_block, station_context
from builds.views.station_entered import answer_to_entry
from builds.views.station_found import NONE, At, key_of, last_pass, the_bench, the_pass
from builds.views.station_frame import Refused
from builds.views.station_posted import posted_entry, posted_photo
from builds.views.station_scan import Scanned, read_scan
from builds.views.station_stamp import stamp_now
from shop.errors import Refusal
from shop.http import Asked, Done, accept, find_or_404, methods, new_submission, unless_unchanged


@methods("GET")
def station(request: Asked, /, **address: Any) -> HttpResponse:
    """The pass in hand; where none is, what would have to be so that one could begin."""
    at = At(**address)
    visit = the_pass(at)
    if visit is None or visit.state == VisitState.SET_DOWN:
        return _before(request, at)
    return _draw(request, visit)


@methods("GET")
def station_changes(request: Asked, /, **address: Any) -> HttpResponse:
    """Asked every few seconds by an open page: empty when nothing has changed."""
    at = At(**address)
    visit = the_pass(at)
    if visit is None:
        return HttpResponse(headers={"HX-Redirect": at.url()})
    return unless_unchanged(request, stamp_now(visit), lambda: _draw(request, visit))


def _draw(request: Asked, visit: Visit, refused: Refused | None = None, *, fresh: bool = False) -> HttpResponse:
    context = station_context(request, visit, timezone.now(), refused=refused, fresh=fresh)
    context["shown"] = "" if refused else context["stamp"]
    context["urls"]["changes"] += f"?stamp={context['stamp']}"
    context["finish_url"] = context["urls"]["second" if context["finish"].get("part") else "finish"]
    return render(request, "builds/_work.html" if request.htmx else "builds/station.html", context)


def _before(request: Asked, at: At, refusal: Refusal | None = None) -> HttpResponse:
    bench = the_bench(at)
    if at.alone and (axle := getattr(bench, "axle", None)) is not None:
        return HttpResponseRedirect(At(axle.serial, at.number, getattr(bench, "side", "") or NONE).url())
    view = _view(bench, at)
    context = {
        "title_block": before_block(request, bench, view.slot),
        "bench": bench,
        "view": view,
        "ready_at": day(view.ready_at),
        "may": view.can_start or (view.visit is not None and view.visit.state == VisitState.SET_DOWN),
        "refusal": refusal,
        "paper": PaperForm(request.POST if request.method == "POST" and "worked_by" in request.POST else None),
        "submission": new_submission(),
        "paper_submission": new_submission(),
        "take_up_url": at.url("station_take_up"),
        "card_url": at.url("blank_card"),
        "list_url": reverse("waiting", args=[view.slot.operation.station]),
    }
    return render(request, "builds/take_up.html", context)


def _view(bench: Bench, at: At) -> SlotView:
    stands, key = standing(bench, timezone.now()), key_of(bench, at)
    if key not in stands.slots:
        find_or_404(Visit.objects.none(), pk=0)
    return stands.slots[key]


@methods("POST")
def station_take_up(request: Asked, /, **address: Any) -> HttpResponse:
    at = At(**address)
    bench = the_bench(at)
    form = PaperForm(request.POST) if "worked_by" in request.POST else None

    def do() -> Visit:
        return act_take_up(bench=bench, key=key_of(bench, at), by=request.who, paper=form.on_paper if form else None)

    return accept(
        request,
        do,
        then=lambda _: Done(at.url()),
        draw=lambda refusal: _before(request, at, refusal),
        form=form,
    )


def _on_visit(
    request: Asked,
    at: At,
    form: str,
    do: Callable[[Visit], Any],
    then: Callable[[Any], Done],
    *,
    meaning: str = "",
    stays: bool = False,
    look_first: bool = True,
    lean: Callable[[], HttpResponse | None] = lambda: None,
) -> HttpResponse:
    """One act on the open pass. A refusal draws the page again with all that was entered; a press on a pass that
    has ended meanwhile gets the same answer when it is the press that ended it, and a sentence otherwise. `lean`: the
    answer drawn from what the act itself has read, where there is one."""
    visit = the_pass(at) or last_pass(at)
    if visit is None:
        return HttpResponseRedirect(at.url())

    def draw(refusal: Refusal | None) -> HttpResponse:
        current = the_pass(at)
        if current is None:
            return _before(request, at, refusal)
        refused = Refused(form, refusal, request.POST.dict()) if refusal is not None else None
        return _draw(request, current, refused)

    made: list[Done] = []

    def kept(result: Any) -> Done:
        made.append(then(result))
        return made[-1]

    def answer(done: Done) -> HttpResponse:
        # Neither an entry nor a scan moves the pass on; what did meanwhile is told by the page's own asking.
        if visit.state not in OPEN_STATES:
            return HttpResponse(headers={"HX-Redirect": at.url()})
        # A press repeated has read nothing that stands: its answer is drawn from the record.
        found = lean() if any(done is one for one in made) else None
        return found or _draw(request, visit, fresh=form == "entry")

    return accept(
        request,
        lambda: do(visit),
        then=kept,
        draw=draw,
        answer=answer if stays else None,
        meaning=meaning,
        look_first=look_first,
    )


@methods("POST")
def station_reading(request: Asked, /, **address: Any) -> HttpResponse:
    """One Enter: one reading, or one photo."""
    at = At(**address)
    here = at.url()
    entered: list[Taken] = []

    def do(visit: Visit) -> Any:
        if "photo_name" in request.POST:
            sha256 = posted_photo(request)
            return add_photo(visit=visit, name=request.POST["photo_name"][:60], sha256=sha256, by=request.who)
        in_place = bool(request.htmx) and "shown" in request.POST
        taken = enter_reading(visit=visit, entered=posted_entry(request), by=request.who, to_draw=in_place)
        entered.append(taken)
        return taken

    def lean() -> HttpResponse | None:
        return answer_to_entry(request, entered[0]) if entered else None

    return _on_visit(request, at, "entry", do, lambda _: Done(here), stays=True, look_first=False, lean=lean)


@methods("POST")
def station_set_down(request: Asked, /, **address: Any) -> HttpResponse:
    at, note = At(**address), request.POST.get("note", "")

    def do(visit: Visit) -> Visit:
        return act_set_down(visit=visit, note=note, by=request.who)

    def then(visit: Visit) -> Done:
        where = f", {visit.set_down_position}" if visit.set_down_position else ""
        said = f"Operation {at.number} is set down{where}."
        return Done(reverse("waiting", args=[visit.operation.station.code]), said)

    return _on_visit(request, at, "set_down", do, then)


@methods("POST")
def station_wrong(request: Asked, /, **address: Any) -> HttpResponse:
    at = At(**address)

    def do(visit: Visit) -> Any:
        return report_wrong(visit=visit, cause=request.POST.get("what", ""), by=request.who)

    def then(tag: Any) -> Done:
        return Done(at.url(), f"Red tag {tag.number} is open. Put the tag on the work.")

    return _on_visit(request, at, "wrong", do, then)


@methods("POST")
def station_back(request: Asked, /, **address: Any) -> HttpResponse:
    at = At(**address)

    def then(reopened: list[str]) -> Done:
        words = ", ".join(key.replace("/", " ").strip() for key in reopened)
        return Done(at.url(), f"This try is ended and kept. To do again: {words}.")

    return _on_visit(request, at, "back", lambda visit: send_back(visit=visit, by=request.who), then)


@methods("POST")
def station_finish(request: Asked, /, **address: Any) -> HttpResponse:
    """The doer signs with the PIN; what is missing is named."""
    at = At(**address)

    def do(visit: Visit) -> Visit:
        asked = request.POST.getlist("without")
        return act_finish(visit=visit, grant=request.grant, by=request.who, without=asked)

    def then(visit: Visit) -> Done:
        state = "waits for its second signature" if visit.state == VisitState.WAIT_SIGN else "is done"
        said = f"Operation {at.number} of {at.serial} {state}."
        return Done(reverse("waiting", args=[visit.operation.station.code]), said)

    return _on_visit(request, at, "finish", do, then, meaning="did", look_first=False)


@methods("POST")
def station_second(request: Asked, /, **address: Any) -> HttpResponse:
    """The hold, or the signature beside the first."""
    at = At(**address)
    part = request.POST.get("part", "")
    meaning = meaning_of(part)

    def do(visit: Visit) -> Visit:
        return sign_second(visit=visit, part=part, grant=request.grant, by=request.who)

    def then(visit: Visit) -> Done:
        state = "done" if visit.state == VisitState.DONE else "waiting for one more signature"
        page = "waiting" if request.terminal is not None else "holds"
        arguments = [visit.operation.station.code] if request.terminal is not None else []
        return Done(reverse(page, args=arguments), f"Operation {at.number} of {at.serial} is {state}.")

    return _on_visit(request, at, "finish", do, then, meaning=meaning)


@methods("POST")
def station_scan(request: Asked, /, **address: Any) -> HttpResponse:
    """A scan at the bench: a gauge is chosen, a part is fitted, a plate leads to another axle."""
    at = At(**address)

    def do(visit: Visit) -> Scanned:
        found = read_scan(request, visit, request.POST.get("scan", "")[:200])
        if found.part:
            fit_part(visit=visit, scan=found.part, by=request.who)
        return found

    def then(found: Scanned) -> Done:
        return Done(found.url or at.url())

    visit = the_pass(at)
    elsewhere = visit is not None and _leads_away(request, visit)
    response = _on_visit(request, at, "scan", do, then, stays=not elsewhere)
    keep_choice(request, response)
    return response


def _leads_away(request: Asked, visit: Visit) -> bool:
    try:
        return bool(read_scan(request, visit, request.POST.get("scan", "")[:200], choose=False).url)
    except Refusal:
        return False
