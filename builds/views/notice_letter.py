"""The letter of a notice to one consignee, on their paper."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpResponse
from django.template.loader import render_to_string

from builds.reports.notices.letter import letter_of
from builds.views.notices import found_notice
from builds.views.paper import pdf_answer
from builds.views.reach import SEES
from shop.http import Asked, methods, needs


@methods("GET")
@needs(*SEES)
def notice_letter(request: Asked, number: int, key: int) -> HttpResponse:
    """One letter. `key` is a line of the notice (see `Consignee`); a strange one is not here."""
    letter = letter_of(found_notice(number), key)
    if letter is None:
        raise Http404
    html = render_to_string("builds/notice_letter.html", {"letter": letter, "shop": settings.SHOP_NAME})
    return pdf_answer(html, f"notice-{number}-letter-{key}")
