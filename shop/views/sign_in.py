"""Signing in: badge and PIN at a terminal, code and password at a desk."""

from __future__ import annotations

from django.contrib import messages
from django.core import signing
from django.http import HttpResponse, HttpResponseRedirect
from django.middleware.csrf import rotate_token
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from shop import badges
from shop.actions.signing import note_try, prove_password, prove_pin, refuse_too_many
from shop.codes import ScanKind, parse_scan
from shop.errors import Refusal
from shop.forms import BadgeForm, OfficeForm, PinForm
from shop.http import Asked, methods, own_path
from shop.http.draft import unpack
from shop.http.seat import leave_seat, lock_seat, take_seat
from shop.models import Badge, Person
from shop.views.around import address

_BADGE_SALT = "axlebook.badge"
#: Between the scan of the badge and the PIN.
_BADGE_LASTS_S = 120
#: What a wrong PIN means at the door, and both ways on.
NOT_IN = "You are not signed in. Type it again, or press “Somebody else” and scan your own badge."


@methods("GET", "POST")
def sign_in(request: Asked) -> HttpResponse:
    """Who is there? At a terminal a badge, elsewhere the way to the desk's log-in."""
    if request.method == "GET" or "scan" not in request.POST:
        if request.terminal is None:
            return redirect(f"{reverse('office_sign_in')}?{urlencode({'next': _next(request)})}")
        response = _ask_badge(request, BadgeForm())
        lock_seat(request, response)
        return response
    form = BadgeForm(request.POST)
    if not form.is_valid():
        return _ask_badge(request, form, 422)
    try:
        if (here := _plate(form.cleaned_data["scan"])) is not None:
            return redirect(f"{reverse('sign_in')}?{urlencode({'next': here})}")
        person = person_of_badge(request, form.cleaned_data["scan"])
    except Refusal as refusal:
        form.add_error("scan", refusal.text)
        return _ask_badge(request, form, refusal.status)
    return _ask_pin(request, person, PinForm())


def _plate(scanned: str) -> str | None:
    """Plate and badge may be scanned in either order: after a plate the sign-in leads to that axle."""
    scan = parse_scan(scanned)
    if scan is None or scan.kind is not ScanKind.AXLE:
        return None
    return address("axle_here", scan.mark) or None


def after_badge(request: Asked, scanned: str) -> str:
    """Where a badge scanned on a work page leads: to its person's PIN, and then back to that page."""
    if request.terminal is None:
        return reverse("office_sign_in")
    held = _hold(request, person_of_badge(request, scanned))
    page = request.htmx.current_url_abs_path if request.htmx else request.headers.get("referer", "")
    back = own_path(request, page or "")
    return f"{reverse('sign_in_pin')}?{urlencode({'held': held, 'next': back})}"


def _hold(request: Asked, person: Person) -> str:
    """The scanned badge, kept signed until the PIN comes; good at this terminal only."""
    terminal = request.terminal.pk if request.terminal is not None else None
    return signing.dumps([person.pk, terminal], salt=_BADGE_SALT)


def _held(request: Asked) -> Person | None:
    terminal = request.terminal.pk if request.terminal is not None else None
    text = request.POST.get("held") or request.GET.get("held") or ""
    try:
        number, at = signing.loads(text, salt=_BADGE_SALT, max_age=_BADGE_LASTS_S)
    except signing.BadSignature:
        return None
    return Person.objects.working().filter(pk=number).first() if at == terminal else None


def person_of_badge(request: Asked, scanned: str) -> Person:
    """Whose open badge this is; wrong ones count against the terminal."""
    now = timezone.now()
    refuse_too_many(person=None, terminal=request.terminal, now=now)
    scan = parse_scan(scanned)
    if scan is not None and scan.kind not in (None, ScanKind.BADGE):
        raise Refusal(f"This is {scan}, not a badge. Scan your badge.", field="scan")
    row = None
    if scan is not None:
        open_ones = Badge.objects.filter(revoked_at=None, person__retired_at=None).select_related("person")
        row = open_ones.filter(code_hash=badges.code_hash(scan.mark)).first()
    if row is None:
        note_try(person=None, terminal=request.terminal, good=False, now=now)
        raise Refusal("This badge opens nothing here. Scan it again or ask the manager.", field="scan")
    return row.person


@methods("GET", "POST")
def sign_in_pin(request: Asked) -> HttpResponse:
    """The second step: the PIN of the person whose badge was scanned a moment ago."""
    if request.terminal is None:
        return redirect("office_sign_in")
    person = _held(request)
    if person is None:
        again = BadgeForm({"scan": ""})
        again.add_error("scan", "The scan of the badge is too long ago. Scan it again.")
        return _ask_badge(request, again, 422)
    if request.method == "GET":
        response = _ask_pin(request, person, PinForm())
        lock_seat(request, response)
        return response
    form = PinForm(request.POST)
    try:
        if not form.is_valid():
            return _ask_pin(request, person, form, 422)
        prove_pin(person=person, pin=form.cleaned_data["pin"], terminal=request.terminal, wrong=NOT_IN)
    except Refusal as refusal:
        form.add_error("pin", refusal.text)
        return _ask_pin(request, person, form, refusal.status)
    return _come_in(request, person)


@methods("GET", "POST")
def office_sign_in(request: Asked) -> HttpResponse:
    """Code and password; the browser is then this person's desk."""
    form = OfficeForm(request.POST if "code" in request.POST else None)
    if not form.is_bound:
        return _ask_password(request, form)
    if not form.is_valid():
        return _ask_password(request, form, 422)
    person = Person.objects.filter(code=form.cleaned_data["code"].strip().lower()).first()
    try:
        if not prove_password(person=person, password=form.cleaned_data["password"]) or person is None:
            raise Refusal("Code and password do not belong together. Type both again.")
    except Refusal as refusal:
        form.add_error(None, refusal.text)
        return _ask_password(request, form, refusal.status)
    return _come_in(request, person)


@methods("POST")
def sign_out(request: Asked) -> HttpResponse:
    response = redirect("sign_in")
    leave_seat(request, response)
    return response


def _come_in(request: Asked, person: Person) -> HttpResponse:
    """Seat the person, and go where they were going, or show them the draft that the lock interrupted."""
    draft = unpack(request.POST.get("draft", ""))
    rotate_token(request)
    if draft is not None and draft.person == person.pk:
        response = render(request, "shop/draft.html", {"draft": draft, "whose": person.short_name})
    else:
        if draft is not None:
            messages.warning(request, "What was typed here before the lock was not saved.")
        response = HttpResponseRedirect(_next(request))
    take_seat(request, response, person=person, terminal=request.terminal)
    return response


def _next(request: Asked) -> str:
    """Where to go afterwards: one of our own pages only."""
    wanted = own_path(request, request.POST.get("next") or request.GET.get("next") or "")
    return wanted if wanted and not wanted.startswith(reverse("sign_in")) else reverse("home")


def _kept(request: Asked) -> dict[str, object]:
    """What goes along from step to step: the page to come back to and a draft, with the entries shown."""
    packed = request.POST.get("draft", "")
    draft = unpack(packed)
    return {
        "next": _next(request),
        "draft": packed if draft else "",
        "entries": draft.shown if draft else [],
        "files": draft.files if draft else 0,
        "action": reverse("sign_in"),
        "office_url": reverse("office_sign_in"),
        "last": request.seat.last_person,
        "at_terminal": request.terminal is not None,
    }


def _ask_badge(request: Asked, form: BadgeForm, status: int = 200) -> HttpResponse:
    return render(request, "shop/sign_in.html", _kept(request) | {"form": form}, status=status)


def _ask_pin(request: Asked, person: Person, form: PinForm, status: int = 200) -> HttpResponse:
    context = _kept(request) | {"form": form, "held": _hold(request, person), "whose": person.short_name}
    return render(request, "shop/sign_in_pin.html", context, status=status)


def _ask_password(request: Asked, form: OfficeForm, status: int = 200) -> HttpResponse:
    return render(request, "shop/office_sign_in.html", _kept(request) | {"form": form}, status=status)
