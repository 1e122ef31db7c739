"""A page as the server answers it: the test client keeps a copy of the context of every template that it draws."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpResponseBase
from django.test import Client, RequestFactory
from django.test.client import ClientHandler


def served(client: Client) -> Callable[[str], HttpResponseBase]:
    """Asks for an address with this client's cookies, through every middleware, without a network."""
    handler, factory = ClientHandler(), RequestFactory()
    handler.load_middleware()
    factory.cookies = client.cookies

    def ask(path: str) -> HttpResponseBase:
        return handler.get_response(factory.get(path))

    return ask
