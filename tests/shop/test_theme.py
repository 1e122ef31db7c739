"""Light or dark, kept in a cookie by a plain form."""

from __future__ import annotations

import pytest
from django.test import RequestFactory

from shop.views.theme import theme


def post(**fields: str) -> tuple[str, str]:
    answer = theme(RequestFactory().post("/theme/", fields))
    cookie = answer.cookies.get("theme")
    return answer["Location"], cookie.value if cookie else ""


@pytest.mark.parametrize("chosen", ["light", "dark"])
def test_a_choice_is_kept_and_the_page_comes_back(chosen: str) -> None:
    assert post(theme=chosen, next="/floor/?at=GB") == ("/floor/?at=GB", chosen)


@pytest.mark.parametrize("chosen", ["", "purple"])
def test_anything_else_leaves_it_to_the_device(chosen: str) -> None:
    assert post(theme=chosen, next="/floor/") == ("/floor/", "")


@pytest.mark.parametrize("away", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)"])
def test_it_never_leads_to_another_host(away: str) -> None:
    assert post(theme="dark", next=away)[0] == "/"


def test_looking_changes_nothing() -> None:
    answer = theme(RequestFactory().get("/theme/", {"theme": "dark"}))
    assert answer.status_code == 405
    assert not answer.cookies
