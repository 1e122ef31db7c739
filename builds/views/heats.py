"""Heats: a mill certificate value by value, the heat's page, a value put right, further papers and their scans."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from builds.actions.identities import TAKES_IN
from builds.actions.judging_heats import Asked as Value
from builds.actions.judging_heats import asked_of, comes_by_heat, material_of
from builds.actions.materials import in_force
from builds.actions.papers import Named, add_paper
from builds.actions.receiving_heats import Corrected, NewHeat, correct_value, free_heat, take_in_heat
from builds.errors import FarOff
from builds.forms.heats import VALUE, CorrectForm, HeatForm, PaperForm, read_scan
from builds.models import RedTag, Revision, Scan
from builds.reports.heats import heat_file
from builds.reports.stock import pieces_of
from builds.views.cards import file_answer, revision_or_404
from builds.views.deliveries import SEES, delivery_of, entry
from shop.errors import Refusal
from shop.forms import PlainForm
from shop.http import Asked, Done, accept, find_or_404, methods, needs, new_submission
from shop.models import Heat, PartKind, Role
from shop.record.models import Blob

_FACTS = ("mark", "supplier", "certificate", "certificate_type", "sure", "shared")


@methods("GET", "POST")
@needs(*TAKES_IN)
def heat_new(request: Asked, model: str, letter: str, kind: str) -> HttpResponse:
    """A mill certificate, value by value, judged by the limits of its material and of a card's revision."""
    revision, part_kind = revision_or_404(model, letter), find_or_404(PartKind.objects.all(), code=kind)
    form = HeatForm(_values_or_404(revision, kind), *_posted(request))
    came = delivery_of(request)

    def do() -> Heat:
        facts: dict[str, Any] = {name: form.cleaned_data[name] for name in _FACTS}
        more: dict[str, Any] = {"delivery": came, "scan": read_scan(form), "values": form.typed, "kept": form.kept}
        try:
            return take_in_heat(heat=NewHeat(kind=part_kind, **facts, **more), revision=revision, by=request.who)
        except Refusal as refusal:
            _at_field(refusal, form)
            raise

    title = f"Heat of {part_kind.name.lower()}, judged by {revision}"
    return entry(request, form, title, do, _taken_in)


def _posted(request: Asked) -> tuple[Any, ...]:
    return (request.POST, request.FILES) if request.method == "POST" else (None,)


def _at_field(refusal: Refusal, form: HeatForm) -> None:
    if isinstance(refusal, FarOff):
        form.keep_question(refusal.field)
    if refusal.field in form.codes:
        refusal.field = f"{VALUE}{refusal.field}"
    if refusal.field == "file":
        refusal.field = "scan"


def _taken_in(made: Heat) -> Done:
    said = "is refused and set in quarantine" if made.status == "refused" else "waits for the inspector's first look"
    return Done(_page(made), f"Heat {made.item.mark} {said}.")


@methods("GET")
@needs(*SEES)
def heat(request: Asked, pk: int) -> HttpResponse:
    return _draw(request, _heat(pk))


@methods("POST")
@needs(Role.INSPECTOR)
def heat_free(request: Asked, pk: int) -> HttpResponse:
    """The inspector's signature that frees the first use of a heat, shop-wide."""
    one = _heat(pk)

    def do() -> Heat:
        return free_heat(heat=one, grant=request.grant, by=request.who)

    return accept(
        request,
        do,
        then=lambda made: Done(_page(made), f"Heat {made.item.mark} is free for use."),
        draw=lambda refusal: _draw(request, one, refusal),
        meaning="released",
    )


@methods("POST")
@needs(*TAKES_IN)
def heat_correct(request: Asked, pk: int) -> HttpResponse:
    """A new try of one value, with its reason; the heat is held, or refused, by what it says."""
    one = _heat(pk)
    form = CorrectForm(_codes(one), request.POST)

    def do() -> Heat:
        try:
            return correct_value(heat=one, corrected=Corrected(**form.cleaned_data), by=request.who)
        except Refusal as refusal:
            refusal.field = "typed" if refusal.field in dict(_codes(one)) else refusal.field
            raise

    def then(made: Heat) -> Done:
        said = "refused and in quarantine" if made.status == "refused" else "held for the inspector's look"
        return Done(_page(made), f"The new value is kept beside the old one. Heat {made.item.mark} is {said}.")

    return _kept(request, one, form, do, then)


@methods("POST")
@needs(*TAKES_IN)
def heat_paper(request: Asked, pk: int) -> HttpResponse:
    """A further certificate of the heat, or the scan of one."""
    one = _heat(pk)
    form = PaperForm(request.POST, request.FILES)

    def do() -> Any:
        facts = form.cleaned_data
        if one.supplier is None:
            raise Refusal("This heat names no mill, so a paper of it cannot be kept.")
        named = Named(one.supplier, facts["certificate"], facts["certificate_type"], read_scan(form), facts["shared"])
        try:
            return add_paper(item=one.item, named=named, compared=facts["compared"], by=request.who)
        except Refusal as refusal:
            refusal.field = "scan" if refusal.field == "file" else refusal.field
            raise

    return _kept(request, one, form, do, lambda made: Done(_page(one), f"Certificate {made} is kept with this heat."))


@methods("GET")
@needs(*SEES)
def scan(request: Asked, pk: int) -> HttpResponse:
    """The paper as it was scanned: an attachment in a sandbox, never a page of ours."""
    row = find_or_404(Scan.objects.select_related("paper"), pk=pk)
    blob = Blob.objects.filter(sha256=row.sha256).first()
    if blob is None:
        raise Http404
    ending = {"application/pdf": "pdf", "image/png": "png"}.get(blob.content_type, "jpg")
    return file_answer(bytes(blob.content), blob.content_type, f"{row.paper.number}.{ending}")


def _kept(
    request: Asked, one: Heat, form: PlainForm, do: Callable[[], Any], then: Callable[[Any], Done]
) -> HttpResponse:
    return accept(request, do, then=then, draw=lambda refusal: _draw(request, one, refusal, posted=form), form=form)


def _heat(pk: int) -> Heat:
    return find_or_404(Heat.objects.select_related("item__place", "supplier", "freed_by"), pk=pk)


def _page(one: Heat) -> str:
    return reverse("heat", args=[one.pk])


def _codes(one: Heat) -> list[tuple[str, str]]:
    rows = [stated.reading for stated in heat_file(one).values if stated.stands]
    return [(row.characteristic.code, f"{row.characteristic.code} {row.characteristic.name}") for row in rows]


def _draw(
    request: Asked, one: Heat, refusal: Refusal | None = None, *, posted: PlainForm | None = None
) -> HttpResponse:
    row = _heat(one.pk)
    codes = _codes(row)
    context = {
        "heat": row,
        "file": heat_file(row),
        "pieces": pieces_of(row),
        "tags": RedTag.objects.open().filter(item=row.item),
        "refusal": refusal.text if refusal and posted is None else "",
        "frees": Role.INSPECTOR in request.roles,
        "takes_in": not request.roles.isdisjoint(TAKES_IN),
        "correct": posted if isinstance(posted, CorrectForm) else CorrectForm(codes) if codes else None,
        "paper": posted if isinstance(posted, PaperForm) else PaperForm(),
        "posted": posted,
        "submission": new_submission(),
        "submission_correct": new_submission(),
        "submission_paper": new_submission(),
    }
    return render(request, "builds/heat.html", context)


def _values_or_404(revision: Revision, kind: str) -> list[Value]:
    """What the certificate must state; nothing for a forging or a casting whose heat is only written down."""
    kinds = [found for found in revision.card.part_kinds if found.code == kind]
    if not kinds or not comes_by_heat(revision.card, kinds[0]):
        raise Http404
    return asked_of(revision, kind, in_force(material_of(revision.card, kind).code))
