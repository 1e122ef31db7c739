"""Customers and suppliers."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from shop.actions import partners as actions
from shop.errors import Refusal
from shop.forms import CustomerChangeForm, CustomerForm, PlainForm, SupplierForm
from shop.http import Asked, Done, accept, csv_answer, csv_asked, find_or_404, methods, needs, new_submission
from shop.lists import CsvList
from shop.models import Customer, Role, Supplier

SEES = (*actions.MAY, Role.RECEIVER)


@methods("GET")
@needs(*SEES)
def partners(request: Asked) -> HttpResponse:
    if not csv_asked(request):
        return _draw(request)
    if request.GET.get("list") == "suppliers":
        return csv_answer(CsvList("suppliers", ("code", "name"), Supplier.objects.values_list("code", "name")))
    rows = Customer.objects.values_list("code", "name", "address", "paper")
    return csv_answer(CsvList("customers", ("code", "name", "address", "paper"), rows))


@methods("POST")
@needs(*actions.MAY)
def customer_add(request: Asked) -> HttpResponse:
    form = CustomerForm(request.POST)

    def do() -> None:
        actions.add_customer(by=request.who, **form.cleaned_data)

    return _change(request, form, do, "The customer is added.")


@methods("POST")
@needs(*SEES)
def supplier_add(request: Asked) -> HttpResponse:
    form = SupplierForm(request.POST)

    def do() -> None:
        actions.add_supplier(by=request.who, **form.cleaned_data)

    return _change(request, form, do, "The supplier is added.")


@methods("GET", "POST")
@needs(*actions.MAY)
def customer(request: Asked, code: str) -> HttpResponse:
    """One customer's particulars, to be changed in place; papers already issued keep the old ones."""
    one = find_or_404(Customer.objects.all(), code=code)
    now = {"name": one.name, "address": one.address, "paper": one.paper}
    form = CustomerChangeForm(request.POST if request.method == "POST" else None, initial=now)

    def draw(_refusal: Refusal | None = None) -> HttpResponse:
        context = {"one": one, "form": form, "submission": new_submission()}
        return render(request, "shop/customer.html", context)

    if request.method == "GET":
        return draw()
    return accept(
        request,
        lambda: actions.change_customer(customer=one, by=request.who, **form.cleaned_data),
        then=lambda made: Done(reverse("partners"), f"{made.name} is changed."),
        draw=draw,
        form=form,
    )


def _change(request: Asked, form: PlainForm, do: Callable[[], None], said: str) -> HttpResponse:
    def draw(_refusal: Refusal | None) -> HttpResponse:
        return _draw(request, form)

    done = Done(reverse("partners"), said)
    return accept(request, do, then=lambda _made: done, draw=draw, form=form)


def _draw(request: Asked, bound: PlainForm | None = None) -> HttpResponse:
    forms: dict[str, PlainForm] = {form.ids: form for form in (CustomerForm(), SupplierForm())}
    if bound is not None:
        forms[bound.ids] = bound
    context = {
        "customers": Customer.objects.all(),
        "suppliers": Supplier.objects.all(),
        "forms": forms,
        "submission": new_submission(),
    }
    return render(request, "shop/partners.html", context)
