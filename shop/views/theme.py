"""Light or dark: a plain form stores the choice in a cookie; empty means as the device says."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

YEAR_S = 365 * 24 * 3600
THEMES = ("light", "dark")


@require_POST
def theme(request: HttpRequest) -> HttpResponse:
    """Keeps the choice and goes back to the page it came from; never to another host."""
    wanted = request.POST.get("next", "/")
    here = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure())
    answer = HttpResponseRedirect(wanted if here else "/")
    chosen = request.POST.get("theme", "")
    if chosen in THEMES:
        answer.set_cookie("theme", chosen, YEAR_S, secure=settings.TLS, httponly=True, samesite="Lax")
    else:
        answer.delete_cookie("theme", samesite="Lax")
    return answer
