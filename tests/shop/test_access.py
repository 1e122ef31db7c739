"""Every address x every role: the table in tests/access_matrix.py against what the pages really do."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from shop.models import Role
from shop.permissions import OPEN_PAGES
from tests import factories
from tests.access_matrix import EVERYBODY, PAGES, Page

ROLES = [None, *Role]


def addresses(resolver: URLResolver | None = None) -> Iterator[str]:
    """The names of all addresses; one without a name gets its pattern, and fails the table for that."""
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            yield from addresses(entry)
        elif isinstance(entry, URLPattern):
            yield entry.name or str(entry.pattern)


def asked(client: Client, name: str, page: Page, method: str) -> HttpResponse:
    """The answer as the browser gets it; what an empty or senseless form makes of it does not matter here."""
    url = reverse(name, kwargs=dict(page.args))
    fields = factories.with_key() if method == "POST" else {}
    answer: HttpResponse = getattr(client, method.lower())(url, fields)
    return answer


def sends_to_sign_in(answer: HttpResponse) -> bool:
    return answer.status_code == 401 or (
        answer.status_code == 302 and answer["Location"].startswith(reverse("sign_in"))
    )


def test_every_address_is_in_the_table_and_no_other() -> None:
    assert set(addresses()) == set(PAGES)


def test_the_open_pages_are_these_and_no_more() -> None:
    """Frozen: a page that needs no sign-in is added here on purpose or not at all."""
    installed = set(PAGES)
    assert {name for name, page in PAGES.items() if page.open} == OPEN_PAGES & installed
    frozen = """
        health sign_in sign_in_pin office_sign_in sign_out theme
        verify customer_enter customer_enter_token customer_order customer_certificate
    """
    assert frozenset(frozen.split()) == OPEN_PAGES


@pytest.mark.django_db
@pytest.mark.parametrize("name", PAGES)
def test_nobody_gets_past_the_gate(name: str) -> None:
    page = PAGES[name]
    for method in page.methods:
        answer = asked(Client(), name, page, method)
        assert answer.status_code < 500
        if not page.open:
            assert sends_to_sign_in(answer), f"{method} {name} answered {answer.status_code} to nobody"


@pytest.mark.django_db
@pytest.mark.parametrize("role", ROLES, ids=[str(role) for role in ROLES])
def test_each_role_gets_its_pages_and_no_others(role: Role | None) -> None:
    somebody = factories.person("somebody", *([role] if role else []))
    desk = factories.signed_in_client(somebody)
    bench = factories.at_terminal_client(somebody, factories.terminal())
    for name, page in PAGES.items():
        if page.open:
            continue
        client = desk
        if page.station:
            assert asked(desk, name, page, page.methods[0]).status_code == 403, f"{name} opens at a desk"
            client = bench
        allowed = page.roles == EVERYBODY or role in page.roles
        for method in page.methods:
            answer = asked(client, name, page, method)
            assert answer.status_code < 500
            assert not sends_to_sign_in(answer)
            assert (answer.status_code != 403) == allowed, f"{method} {name} answered {answer.status_code} to {role}"


@pytest.mark.django_db
@pytest.mark.parametrize("name", PAGES)
def test_other_methods_are_refused(name: str) -> None:
    page = PAGES[name]
    manager = factories.person("dovie", *Role)
    at = factories.terminal()
    client = factories.at_terminal_client(manager, at) if page.station else factories.signed_in_client(manager)
    for method in {"GET", "POST", "DELETE"} - set(page.methods):
        assert asked(client, name, page, method).status_code == 405
