"""One person: badge, PIN, roles, skills, leaving."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from shop import badges
from shop.actions import people, skills
from shop.clock import shop_day
from shop.errors import Refusal
from shop.forms import NewPasswordForm, NewPinForm, PlainForm, ReasonForm, RoleForm, SkillForm
from shop.http import Asked, Done, accept, find_or_404, methods, needs, new_submission
from shop.models import Person, Role, RoleHeld, Skill
from shop.permissions import skills_of
from shop.views.around import address
from shop.views.people import SEES


@methods("GET")
@needs(*SEES)
def person(request: Asked, code: str) -> HttpResponse:
    return _draw(request, _find(code))


@methods("POST")
@needs(Role.MANAGER)
def badge_issue(request: Asked, code: str) -> HttpResponse:
    """A new badge. Its code is on this one answer only: not stored, not in the address, not shown again.

    Race: of a double press the slower one made a code too, which went with its transaction; it opens nothing.
    """
    one, issued = _find(code), []

    def do() -> None:
        issued.append(people.issue_badge(person=one, by=request.who)[1])

    response = _change(request, one, None, do, "The new badge is issued. Its code was shown once.")
    if issued and one.badges.filter(code_hash=badges.code_hash(issued[0]), revoked_at=None).exists():
        return _draw(request, one, badge_code=issued[0], badge_label=badges.label(issued[0]))
    return response


@methods("POST")
@needs(Role.MANAGER)
def badge_revoke(request: Asked, code: str) -> HttpResponse:
    one, form = _find(code), ReasonForm(request.POST)

    def do() -> None:
        people.revoke_badge(person=one, by=request.who, **form.cleaned_data)

    return _change(request, one, form, do, "The badge is revoked.")


@methods("POST")
@needs(Role.MANAGER)
def pin_set(request: Asked, code: str) -> HttpResponse:
    one, form = _find(code), NewPinForm(request.POST)

    def do() -> None:
        people.set_pin(person=one, pin=form.cleaned_data["new_pin"], by=request.who, here=request.seat.sign_in)

    return _change(request, one, form, do, "The PIN is set.")


@methods("POST")
@needs(Role.MANAGER)
def password_set(request: Asked, code: str) -> HttpResponse:
    one, form = _find(code), NewPasswordForm(request.POST)

    def do() -> None:
        password, here = form.cleaned_data["new_password"], request.seat.sign_in
        people.set_password(person=one, password=password, by=request.who, here=here)

    return _change(request, one, form, do, "The password is set.")


@methods("POST")
@needs(Role.MANAGER)
def role_give(request: Asked, code: str) -> HttpResponse:
    one, form = _find(code), RoleForm(request.POST)

    def do() -> None:
        people.give_role(person=one, by=request.who, **form.cleaned_data)

    return _change(request, one, form, do, "The role is given.")


@methods("POST")
@needs(Role.MANAGER)
def role_end(request: Asked, code: str, number: int) -> HttpResponse:
    one = _find(code)
    held = find_or_404(RoleHeld.objects.select_related("person"), pk=number, person=one)
    return _change(request, one, None, lambda: people.end_role(held=held, by=request.who), "The role ends.")


@methods("POST")
@needs(*skills.MAY_GIVE)
def skill_give(request: Asked, code: str) -> HttpResponse:
    one, form = _find(code), SkillForm(request.POST)

    def do() -> None:
        skills.give_skill(person=one, skill=skills.Qualification(**form.cleaned_data), by=request.who)

    return _change(request, one, form, do, "The skill is written down.")


@methods("POST")
@needs(*skills.MAY_GIVE)
def skill_end(request: Asked, code: str, number: int) -> HttpResponse:
    one, form = _find(code), ReasonForm(request.POST)
    skill = find_or_404(Skill.objects.select_related("person"), pk=number, person=one)

    def do() -> None:
        skills.end_skill(skill=skill, by=request.who, **form.cleaned_data)

    return _change(request, one, form, do, "The skill ends.")


@methods("POST")
@needs(Role.MANAGER)
def retire(request: Asked, code: str) -> HttpResponse:
    one = _find(code)
    return _change(request, one, None, lambda: people.retire(person=one, by=request.who), "Left the shop.")


def _find(code: str) -> Person:
    return find_or_404(Person.objects.all(), code=code)


def _change(request: Asked, one: Person, form: PlainForm | None, do: Callable[[], object], said: str) -> HttpResponse:
    """One change: do it, come back, say so; or draw the page again with what was entered and the refusal."""

    def draw(refusal: Refusal | None) -> HttpResponse:
        fresh = _find(one.code)
        if isinstance(form, ReasonForm):
            # Several forms of the page ask for a reason, so what was refused stands above them all.
            again = ReasonForm(initial={"reason": request.POST.get("reason", "")})
            return _draw(request, fresh, again, refusal=" ".join(map(str, _errors(form))))
        return _draw(request, fresh, form, refusal=refusal.text if refusal and form is None else "")

    done = Done(reverse("person", args=[one.code]), f"{one.name}: {said}")
    return accept(request, do, then=lambda _made: done, draw=draw, form=form)


def _errors(form: PlainForm) -> list[object]:
    return [error for errors in form.errors.values() for error in errors]


def _draw(request: Asked, one: Person, bound: PlainForm | None = None, **more: Any) -> HttpResponse:
    """The page; a form that was refused stands in the place of the empty one of its kind."""
    today = shop_day(timezone.now())
    forms: dict[str, PlainForm] = {
        form.ids.replace("-", "_"): form
        for form in (RoleForm(), SkillForm(), NewPinForm(), NewPasswordForm(), ReasonForm())
    }
    if bound is not None:
        forms[bound.ids.replace("-", "_")] = bound
    context = {
        "one": one,
        "roles": one.roles.order_by("valid_from"),
        "standing": skills_of([one], today),
        "qualifications": one.skills.order_by("process", "valid_from"),
        "badge_print_url": address("badge_print", one.code),
        "print_submission": new_submission(),
        "badge": one.badges.filter(revoked_at=None).first(),
        "forms": forms,
        "submission": new_submission(),
        "today": today,
        "manages": Role.MANAGER in request.roles,
    }
    return render(request, "shop/person.html", context | more)
