"""The Revision room: axle models, revisions of their build cards, what changed, and who runs on which."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from builds.actions.attaching import attach_document
from builds.actions.releasing import definition_text, load_definition, release
from builds.definitions.difference import differences
from builds.errors import BrokenDefinition
from builds.forms.cards import DefinitionForm, DocumentForm
from builds.models import Document, Operation, Revision
from builds.reports.cards import axles_on, models_with_revisions, operation_views
from builds.reports.lists import card_list
from shop.errors import Refusal
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, needs, new_submission
from shop.models import Role
from shop.record.models import Blob

SEES = (Role.ENGINEER, Role.MANAGER, Role.QUALITY, Role.INSPECTOR, Role.LEAD_BUILDER, Role.OFFICE)
ENGINEER = (Role.ENGINEER,)


@methods("GET", "POST")
@needs(*SEES)
def cards(request: Asked) -> HttpResponse:
    """Every model with its revisions; below, the form that loads a definition file."""
    form = DefinitionForm(*((request.POST, request.FILES) if request.method == "POST" else ()))

    def draw(refusal: Refusal | None = None) -> HttpResponse:
        context = {
            "models": models_with_revisions(),
            "form": form,
            "faults": refusal.faults if isinstance(refusal, BrokenDefinition) else (),
            "engineer": Role.ENGINEER in request.roles,
            "submission": new_submission(),
        }
        return render(request, "builds/cards.html", context)

    if csv_asked(request):
        return csv_answer(card_list(models_with_revisions()))
    if request.method == "GET":
        return draw()

    def do() -> Revision:
        file = form.cleaned_data["file"]
        return load_definition(text=definition_text(file.read(), file.name), name=file.name, by=request.who)

    said = "{} is kept as a draft. Look through it, then release it."
    return accept(request, do, then=lambda made: Done(page_of(made), said.format(made)), draw=draw, form=form)


@methods("GET")
@needs(*SEES)
def card(request: Asked, model: str, letter: str) -> HttpResponse:
    return _draw(request, revision_or_404(model, letter))


@methods("POST")
@needs(*ENGINEER)
def card_release(request: Asked, model: str, letter: str) -> HttpResponse:
    """Release what the page showed: its fingerprint comes with the form."""
    revision = revision_or_404(model, letter)
    revision.sha256 = request.POST.get("sha256", "")

    def draw(refusal: Refusal | None) -> HttpResponse:
        return _draw(request, revision_or_404(model, letter), refusal)

    return accept(
        request,
        lambda: release(revision=revision, by=request.who),
        then=lambda made: Done(page_of(made), f"{made} is released and frozen."),
        draw=draw,
    )


@methods("GET")
@needs(*SEES)
def card_difference(request: Asked, model: str, letter: str, other: str) -> HttpResponse:
    old, new = revision_or_404(model, letter), revision_or_404(model, other)
    context = {"old": old, "new": new, "lines": differences(old.card, new.card)}
    return render(request, "builds/card_difference.html", context)


@methods("GET")
@needs(*SEES)
def card_text(request: Asked, model: str, letter: str) -> HttpResponse:
    """The definition as it was loaded, to edit for the next revision."""
    revision = revision_or_404(model, letter)
    name = f"{revision.model.code}-{revision.letter}.toml"
    return file_answer(revision.text.encode(), "text/plain; charset=utf-8", name)


@methods("GET", "POST")
@needs(*SEES)
def card_document(request: Asked, model: str, letter: str, number: int, code: str) -> HttpResponse:
    """The attached file; or, posted, the file to attach."""
    revision = revision_or_404(model, letter)
    operation = find_or_404(Operation.objects.select_related("revision__model"), revision=revision, number=number)
    if request.method == "GET":
        row = find_or_404(Document.objects.all(), operation=operation, name=code)
        blob = find_or_404(Blob.objects.all(), pk=row.sha256)
        ending = {"application/pdf": "pdf", "image/png": "png"}.get(blob.content_type, "jpg")
        return file_answer(bytes(blob.content), blob.content_type, f"{code}.{ending}")
    form = DocumentForm(request.POST, request.FILES)

    def do() -> Document:
        content = form.cleaned_data["file"].read()
        return attach_document(operation=operation, code=code, content=content, by=request.who)

    def draw(refusal: Refusal | None) -> HttpResponse:
        return _draw(request, revision, refusal, form)

    said = f"{code} is attached at operation {number}."
    return accept(request, do, then=lambda _made: Done(page_of(revision), said), draw=draw, form=form)


def revision_or_404(model: str, letter: str) -> Revision:
    rows = Revision.objects.select_related("model", "loaded_by", "released_by")
    return find_or_404(rows, model__code=model, letter=letter)


def page_of(revision: Revision) -> str:
    return reverse("card", args=[revision.model.code, revision.letter])


def _draw(
    request: Asked, revision: Revision, refusal: Refusal | None = None, form: DocumentForm | None = None
) -> HttpResponse:
    attached = Document.objects.filter(operation__revision=revision).select_related("operation")
    context = {
        "revision": revision,
        "card": revision.card,
        "operations": operation_views(revision.card, attached),
        "axles": axles_on(revision),
        "others": Revision.objects.filter(model=revision.model).exclude(pk=revision.pk).defer("text"),
        "refusal": refusal.text if refusal else "; ".join(_errors(form)),
        "form": DocumentForm(),
        "engineer": Role.ENGINEER in request.roles,
        "submission": new_submission(),
    }
    return render(request, "builds/card.html", context)


def _errors(form: DocumentForm | None) -> list[str]:
    return [str(error) for errors in form.errors.values() for error in errors] if form else []


def file_answer(content: bytes, content_type: str, name: str) -> HttpResponse:
    """Served as an attachment, in a sandbox, whatever it says it is."""
    safe = "".join(letter if letter.isalnum() or letter in "-._" else "_" for letter in name)
    headers = {
        "Content-Disposition": f'attachment; filename="{safe}"',
        "X-Content-Type-Options": "nosniff",
        "Content-Security-Policy": "sandbox; default-src 'none'",
    }
    return HttpResponse(content, content_type=content_type, headers=headers)
