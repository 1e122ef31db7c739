"""Orders: the list, a new one, its lines, and the axles booked from them."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from builds.actions.booking import BOOKERS, NewLine, NewOrder, add_line, book_axles, place_order
from builds.actions.links import MAKERS
from builds.forms.orders import BookForm, LineForm, OrderForm
from builds.models import Axle, Line, Order
from builds.reports.lists import order_list
from builds.reports.orders import for_sale, order_views
from builds.views.cards import revision_or_404
from shop.actions.partners import MAY as PARTNER_EDITORS
from shop.errors import Refusal
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, needs, new_submission
from shop.http.paging import page_of
from shop.models import Role

SEES = (*BOOKERS, Role.LEAD_BUILDER, Role.SHIPPER, Role.ENGINEER, Role.INSPECTOR)


@methods("GET", "POST")
@needs(*SEES)
def orders(request: Asked) -> HttpResponse:
    """All orders, the newest first; below, the form for a new one."""
    form = OrderForm(request.POST if request.method == "POST" else None)

    def draw(_refusal: Refusal | None = None) -> HttpResponse:
        rows = _orders()
        page = page_of(request, rows.count())
        context = {
            "views": order_views(list(rows[page.first : page.end])),
            "ways": page.ways,
            "form": form,
            "books": _books(request),
            "submission": new_submission(),
        }
        return render(request, "builds/orders.html", context)

    if csv_asked(request):
        return csv_answer(order_list(order_views(list(_orders()))))
    if request.method == "GET":
        return draw()
    return accept(
        request,
        lambda: place_order(order=NewOrder(**form.cleaned_data), by=request.who),
        then=lambda made: Done(_page_of(made), f"Order {made.number} is placed. Add its lines."),
        draw=draw,
        form=form,
    )


def _orders() -> QuerySet[Order]:
    return Order.objects.select_related("customer").order_by("-placed_on", "-number")


@methods("GET")
@needs(*SEES)
def order(request: Asked, number: str) -> HttpResponse:
    return _draw(request, _order(number))


@methods("GET", "POST")
@needs(*BOOKERS)
def line_add(request: Asked, number: str, model: str, letter: str) -> HttpResponse:
    """A line of one model: how many, when, which options."""
    one, revision = _order(number), revision_or_404(model, letter)
    form = LineForm(revision.card, request.POST if request.method == "POST" else None)

    def draw(_refusal: Refusal | None = None) -> HttpResponse:
        context = {"order": one, "revision": revision, "form": form, "submission": new_submission()}
        return render(request, "builds/line_add.html", context)

    if request.method == "GET":
        return draw()

    def do() -> Line:
        facts = {name: form.cleaned_data[name] for name in ("quantity", "promised_from", "promised_to", "rush")}
        return add_line(order=one, line=NewLine(revision, options=form.options, **facts), by=request.who)

    said = "Line {} is added. Book its axles when they are to be built."
    return accept(request, do, then=lambda made: Done(_page_of(one), said.format(made.number)), draw=draw, form=form)


@methods("POST")
@needs(*BOOKERS)
def line_book(request: Asked, number: str, line: int) -> HttpResponse:
    one = _order(number)
    row = find_or_404(Line.objects.select_related("order"), order=one, number=line)
    form = BookForm(request.POST)

    def do() -> list[Axle]:
        return book_axles(line=row, count=form.cleaned_data["count"], by=request.who)

    def draw(_refusal: Refusal | None) -> HttpResponse:
        return _draw(request, one, (line, form))

    def then(made: list[Axle]) -> Done:
        return Done(_page_of(one), f"Booked: {', '.join(axle.serial for axle in made)}.")

    return accept(request, do, then=then, draw=draw, form=form)


def _order(number: str) -> Order:
    return find_or_404(Order.objects.select_related("customer"), number=number)


def _page_of(one: Order) -> str:
    return reverse("order", args=[one.number])


def _books(request: Asked) -> bool:
    return not request.roles.isdisjoint(BOOKERS)


def _draw(request: Asked, one: Order, bound: tuple[int, BookForm] | None = None) -> HttpResponse:
    view = order_views([one])[0]
    lines = [
        (
            found,
            bound[1] if bound and bound[0] == found.line.number else BookForm(auto_id=f"book-{found.line.number}-%s"),
        )
        for found in view.lines
    ]
    customer, links = reverse("customer", args=[one.customer.code]), reverse("links", args=[one.number])
    context = {
        "view": view,
        "customer_url": "" if request.roles.isdisjoint(PARTNER_EDITORS) else customer,
        "links_url": "" if request.roles.isdisjoint(MAKERS) else links,
        "lines": lines,
        "revisions": for_sale(),
        "books": _books(request),
        "submission": new_submission(),
    }
    return render(request, "builds/order.html", context)
