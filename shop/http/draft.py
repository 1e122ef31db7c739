"""What was entered just before the seat locked: carried past the sign-in, not dropped, not saved unseen.

The entries travel inside the sign-in form as one signed text, without any secret and without files.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.core import signing
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme, urlencode

from shop.http.request import Asked
from shop.record.submission import SECRET_FIELDS

_SALT = "axlebook.draft"
_LONGEST_S = 12 * 60 * 60
_LARGEST = 60_000
_LEFT_OUT = SECRET_FIELDS | {"csrfmiddlewaretoken", "scan"}


@dataclass(frozen=True)
class Draft:
    """Entries that were not saved: where they belong, whose they are, and what they say."""

    path: str
    page: str
    person: int | None
    entries: list[tuple[str, str]]
    files: int

    @property
    def shown(self) -> list[dict[str, str]]:
        """What a person typed, without the form's own keys."""
        return [
            {"label": label_of(name), "value": value} for name, value in self.entries if name not in _KEYS and value
        ]


#: What a form carries beside what a person typed, and what some fields are called on their pages.
_KEYS = {"submission", "meaning", "list", "shown"}
_LABELS = {"value": "Reading", "try": "Try", "cause": "What is wrong", "q": "Search"}


def label_of(name: str) -> str:
    """A field's name as a person reads it: "set_down_note" is "Set down note"."""
    return _LABELS.get(name) or name.replace("_", " ").replace("-", " ").strip().capitalize()


def _of(request: Asked) -> Draft:
    entries = [(name, value) for name, values in request.POST.lists() if name not in _LEFT_OUT for value in values]
    last = request.seat.last_person
    page = request.htmx.current_url_abs_path if request.htmx else request.headers.get("referer", "")
    return Draft(
        path=request.get_full_path(),
        page=own_path(request, page or "") or request.path,
        person=last.pk if last else None,
        entries=entries,
        files=len(request.FILES),
    )


def pack(draft: Draft) -> str:
    return signing.dumps([draft.path, draft.page, draft.person, draft.entries, draft.files], salt=_SALT, compress=True)


def unpack(text: str) -> Draft | None:
    """The draft, or None when there is none or it is not ours."""
    if not text:
        return None
    try:
        path, page, person, entries, files = signing.loads(text, salt=_SALT, max_age=_LONGEST_S)
    except signing.BadSignature:
        return None
    return Draft(path, page, person, [(name, value) for name, value in entries], files)


def draft_page(request: Asked) -> HttpResponse:
    """Answer a post that came after the seat was locked: ask who is there, and keep the entries."""
    draft = _of(request)
    packed = pack(draft)
    if len(packed) > _LARGEST or draft.path == reverse("sign_out"):
        return redirect("sign_in")
    context = {
        "draft": packed,
        "entries": draft.shown,
        "files": draft.files,
        "next": draft.page,
        "action": f"{reverse('sign_in')}?{urlencode({'next': draft.page})}",
        "office_url": reverse("office_sign_in"),
        "last": request.seat.last_person,
        "at_terminal": request.terminal is not None,
    }
    response = render(request, "shop/sign_in.html", context, status=401)
    if request.htmx:
        response.status_code = 200
        response["HX-Retarget"], response["HX-Reswap"] = "body", "innerHTML"
    return response


def own_path(request: Asked, address: str) -> str:
    """The address when it is a page of ours to go back to; empty otherwise."""
    if not url_has_allowed_host_and_scheme(
        address, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    ):
        return ""
    scheme_end = address.find("//")
    if scheme_end < 0:
        return address if address.startswith("/") else ""
    slash = address.find("/", scheme_end + 2)
    return address[slash:] if slash >= 0 else "/"
