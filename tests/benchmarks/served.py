"""A page as the server answers it: the test client keeps a copy of the context of every template that it draws, and
asks for no token with a form."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from urllib.parse import urlencode

from django.conf import settings
from django.http import HttpResponse, HttpResponseBase
from django.test import Client, RequestFactory
from django.test.client import ClientHandler

Post = Callable[..., HttpResponse]


def served(client: Client) -> Callable[[str], HttpResponseBase]:
    """Asks for an address with this client's cookies, through every middleware, without a network."""
    handler, factory = _server(client)

    def ask(path: str) -> HttpResponseBase:
        return handler.get_response(factory.get(path))

    return ask


def posting(client: Client) -> Post:
    """The same for a form, with the token that the form's page came with."""
    handler, factory = _server(client)

    def post(path: str, form: Mapping[str, str], headers: Mapping[str, str] | None = None) -> HttpResponse:
        body = urlencode({**form, "csrfmiddlewaretoken": client.cookies[settings.CSRF_COOKIE_NAME].value})
        asked = factory.post(path, body, content_type="application/x-www-form-urlencoded", headers=headers)
        answer = handler.get_response(asked)
        assert isinstance(answer, HttpResponse)
        return answer

    return post


def _server(client: Client) -> tuple[ClientHandler, RequestFactory]:
    handler, factory = ClientHandler(), RequestFactory()
    handler.load_middleware()
    factory.cookies = client.cookies
    return handler, factory
