"""Headers on every answer, files and refusals included (the words of the content policy are django-csp's)."""

from __future__ import annotations

from collections.abc import Callable

from csp.constants import HEADER
from csp.utils import build_policy
from django.conf import settings
from django.http import HttpRequest, HttpResponseBase

_ALWAYS = {
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=(), serial=(self)",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Permitted-Cross-Domain-Policies": "none",
}


class SafetyHeaders:
    """What Django's own security middleware does not set."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        for name, value in _ALWAYS.items():
            response.headers.setdefault(name, value)
        return response


class ContentPolicy:
    """The content policy of the settings, put together once: no page here loosens it, and one that is stricter says so
    itself. Measured: put together anew it takes a twentieth of what an entry does."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response
        self.policy = build_policy()

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        # The framework's own pages for somebody who programs are drawn with styles of their own.
        if not (settings.DEBUG and response.status_code in (404, 500)):
            response.headers.setdefault(HEADER, self.policy)
        return response
