"""The bench book's pages: pick, type, see. Every answer has an address of its own, with its figures in it."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render

from builds.forms.bench_book import LONGEST, BookForm
from builds.views.station_advice import shown
from measurements.bench.book import of_subject, search, work_out
from measurements.bench.entries import BOOK, ENTRIES
from shop.http import Asked, methods


@methods("GET")
def bench_book(request: Asked) -> HttpResponse:
    wanted = " ".join(request.GET.get("q", "").split())[:LONGEST]
    found = search(ENTRIES, wanted)
    return render(request, "builds/bench_book.html", {"subjects": of_subject(found), "wanted": wanted, "found": found})


@methods("GET")
def bench_entry(request: Asked, name: str) -> HttpResponse:
    entry = BOOK.get(name)
    if entry is None:
        raise Http404
    form = BookForm(entry, request.GET)
    context: dict[str, object] = {"entry": entry, "form": form}
    if form.is_valid() and form.given is not None:
        context["shown"] = shown(work_out(entry, form.given), key="answer")
    return render(request, "builds/bench_entry.html", context)
