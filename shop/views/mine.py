"""What is mine: roles, skills and the day they lapse, and the person's own PIN and password."""

from __future__ import annotations

from collections.abc import Callable

from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from shop.actions import people
from shop.actions.signing import prove_password, prove_pin
from shop.clock import shop_day
from shop.errors import Refusal
from shop.forms import MyPasswordForm, MyPinForm
from shop.http import Asked, Done, accept, methods, new_submission
from shop.models import RoleHeld
from shop.permissions import skills_of


@methods("GET")
def mine(request: Asked) -> HttpResponse:
    return _draw(request, MyPinForm(), MyPasswordForm())


@methods("POST")
def my_pin(request: Asked) -> HttpResponse:
    """A new PIN, for somebody who knows the old one."""
    form = MyPinForm(request.POST)

    def prove() -> None:
        pin, wrong = form.cleaned_data["pin"], "Nothing was changed; type the old one again."
        prove_pin(person=request.person, pin=pin, terminal=request.terminal, wrong=wrong)

    def change() -> None:
        pin, here = form.cleaned_data["new_pin"], request.seat.sign_in
        people.set_pin(person=request.person, pin=pin, by=request.who, here=here)

    return _change(request, form, prove, change, "Your PIN is changed.")


@methods("POST")
def my_password(request: Asked) -> HttpResponse:
    """A new password, for somebody who knows the old one."""
    form = MyPasswordForm(request.POST)

    def prove() -> None:
        if not prove_password(person=request.person, password=form.cleaned_data["password"]):
            raise Refusal("This is not your password.", field="password")

    def change() -> None:
        password, here = form.cleaned_data["new_password"], request.seat.sign_in
        people.set_password(person=request.person, password=password, by=request.who, here=here)

    return _change(request, form, prove, change, "Your password is changed.")


def _change(
    request: Asked, form: Form, prove: Callable[[], None], change: Callable[[], None], said: str
) -> HttpResponse:
    """The slow check of the old secret comes before the transaction of the change."""

    def draw(_refusal: Refusal | None) -> HttpResponse:
        pin = form if isinstance(form, MyPinForm) else MyPinForm()
        password = form if isinstance(form, MyPasswordForm) else MyPasswordForm()
        return _draw(request, pin, password)

    done = Done(reverse("mine"), said)
    return accept(request, change, then=lambda _: done, draw=draw, form=form, prove=prove)


def _draw(request: Asked, pin: Form, password: Form) -> HttpResponse:
    today = shop_day(timezone.now())
    context = {
        "one": request.person,
        "roles": RoleHeld.objects.on(today).filter(person=request.person),
        "skills": skills_of([request.person], today),
        "pin_form": pin,
        "password_form": password,
        "submission": new_submission(),
        "at_terminal": request.terminal is not None,
    }
    return render(request, "shop/mine.html", context)
