"""Headers on every answer, plain words on refusals, and live pages that answer no news with nothing."""

from __future__ import annotations

import pytest
from django.http import HttpResponse
from django.test import Client, RequestFactory
from django.urls import reverse

from shop.http import Asked, own_path, stamp_of, unless_unchanged
from shop.models import Person, Role
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def dovie() -> Person:
    return factories.person("dovie", Role.MANAGER, password=factories.PASSWORD)


ANSWERS = ["/people/", "/sign-in/office/", "/nothing/", "/health/", "/", "/people/nobody-here/"]


@pytest.mark.parametrize("url", ANSWERS)
def test_every_answer_carries_the_safety_headers(dovie: Person, url: str) -> None:
    answer = factories.signed_in_client(dovie).get(url)
    policy = answer["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    assert "unsafe" not in policy
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "camera=(self)" in answer["Permissions-Policy"]
    assert answer["Cache-Control"] == "no-store"


def test_no_page_has_script_or_style_inside(dovie: Person) -> None:
    client = factories.signed_in_client(dovie)
    for url in ("/people/", "/people/dovie/", "/terminals/", "/partners/", "/mine/", "/sign-in/office/"):
        page = client.get(url).content.decode()
        assert "<style" not in page
        assert " style=" not in page
        assert "onclick" not in page
        assert "<script>" not in page
        assert "://" not in page.replace("http://www.w3.org", "")


@pytest.mark.parametrize("secure", [False, True])
def test_cookies_are_bound_to_the_host_under_tls(dovie: Person, settings: pytest.FixtureRequest, secure: bool) -> None:
    prefix = "__Host-" if secure else ""
    settings.COOKIE_PREFIX = prefix  # type: ignore[attr-defined]
    settings.SESSION_COOKIE_SECURE = secure  # type: ignore[attr-defined]
    client = Client()
    client.post(reverse("office_sign_in"), {"code": "dovie", "password": factories.PASSWORD}, secure=secure)
    cookie = client.cookies[f"{prefix}seat"]
    assert bool(cookie["secure"]) == secure
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert cookie["path"] == "/"
    assert not cookie["domain"]
    assert client.get("/mine/", secure=secure).status_code == 200


@pytest.mark.parametrize(
    "url", ["/nothing/", "/people/nobody-here/", "/people/%00/", "/people/😀/", f"/people/{'x' * 999}/"]
)
def test_what_is_not_there_answers_404(dovie: Person, url: str) -> None:
    answer = factories.signed_in_client(dovie).get(url)
    assert answer.status_code == 404
    assert "nothing at this address" in answer.content.decode()


@pytest.mark.parametrize("number", ["0", "99999999999999999999999999"])
def test_a_number_no_database_holds_answers_404(dovie: Person, number: str) -> None:
    answer = factories.signed_in_client(dovie).post(f"/people/dovie/roles/{number}/end/", factories.with_key())
    assert answer.status_code == 404


def test_a_character_that_cannot_be_stored_is_refused_before_the_view(dovie: Person) -> None:
    client = factories.signed_in_client(dovie)
    for answer in (client.get("/people/", {"a": "x\x00"}), client.post("/people/", {"na\x00me": "x"})):
        assert answer.status_code == 422
        assert "cannot be stored" in answer.content.decode()


def test_a_body_that_cannot_be_read_answers_400(dovie: Person) -> None:
    client = factories.signed_in_client(dovie)
    answer = client.post("/people/", b"--x\r\nnonsense", content_type="multipart/form-data; boundary=")
    assert answer.status_code == 400
    assert "could not be read" in answer.content.decode()


def poll(stamp: str | None) -> Asked:
    request = RequestFactory().get("/floor/", {} if stamp is None else {"stamp": stamp})
    request.__class__ = Asked
    assert isinstance(request, Asked)
    return request


def test_an_unchanged_page_answers_an_empty_204() -> None:
    stamp = stamp_of(4, "in hand")
    drawn = unless_unchanged(poll(stamp), stamp, lambda: HttpResponse("whole"))
    assert (drawn.status_code, drawn.content) == (204, b"")


@pytest.mark.parametrize("asks", [None, "", "other"])
def test_a_changed_page_is_drawn(asks: str | None) -> None:
    drawn = unless_unchanged(poll(asks), stamp_of(4, "in hand"), lambda: HttpResponse("whole"))
    assert (drawn.status_code, drawn.content) == (200, b"whole")


def test_stamps_tell_facts_apart() -> None:
    assert stamp_of(1, 2) == stamp_of(1, 2)
    assert len({stamp_of(1, 2), stamp_of(12), stamp_of("1", "23"), stamp_of(2, 1)}) == 4


@pytest.mark.parametrize(
    ("address", "path"),
    [
        ("/mine/?a=1", "/mine/?a=1"),
        ("http://testserver/mine/", "/mine/"),
        ("http://testserver", "/"),
        ("http://evil.example/mine/", ""),
        ("//evil.example", ""),
        ("mine/", ""),
        ("", ""),
    ],
)
def test_only_our_own_pages_are_gone_back_to(address: str, path: str) -> None:
    assert own_path(poll(None), address) == path
