"""What templates say: states, verdicts, figures, times, the theme."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.conf import LazySettings
from django.template import Context, Template
from django.test import RequestFactory

from shop.templatetags.shop_look import figure, sentence, serial, time_ago

NOON = datetime(2025, 11, 20, 12, 0, tzinfo=UTC)


def drawn(source: str, **context: object) -> str:
    return Template("{% load shop_look %}" + source).render(Context(context))


def test_a_state_is_never_without_its_word() -> None:
    shown = drawn("{% state_mark word %}", word="waiting for time")
    assert "<svg" in shown
    assert ">waiting for time<" in shown


def test_a_state_word_is_escaped() -> None:
    assert "&lt;b&gt;" in drawn("{% state_mark word %}", word="<b>")


def test_a_drawing_prints_as_it_is_and_plain_text_does_not() -> None:
    assert drawn("{% verdict_mark 'in' %}").startswith("<svg")
    assert drawn("{{ text }}", text="<svg>") == "&lt;svg&gt;"


@pytest.mark.parametrize(("zone", "shown"), [("America/Denver", "2025-11-20 13:00"), ("UTC", "2025-11-20 20:00")])
def test_a_clock_is_the_shops(settings: LazySettings, zone: str, shown: str) -> None:
    """Mountain Standard Time is seven hours behind UTC (IANA time zone database)."""
    settings.TIME_ZONE = zone
    at = datetime(2025, 11, 20, 20, 0, tzinfo=UTC)
    assert f">{shown}<" in drawn("{{ at|clock }}", at=at)
    assert f'title="{shown}"' in drawn("{% time_ago at %}", at=at)
    assert 'datetime="2025-11-20T20:00:00+00:00"' in drawn("{{ at|clock }}", at=at)


def test_the_shops_zone_is_the_one_of_the_pages(settings: LazySettings) -> None:
    assert settings.TIME_ZONE == settings.SHOP_TIME_ZONE == "America/Denver"


@pytest.mark.parametrize(
    ("value", "decimals", "shown"),
    [
        (Decimal("3.06"), 4, "3.0600"),
        (Decimal("-2"), 1, "\N{MINUS SIGN}2.0"),
        (None, 2, "–"),
        (Decimal("1E+3"), "", "1000"),
        (Decimal("0.000100000"), "", "0.0001"),
        (Decimal("-40000.000000000"), "", "\N{MINUS SIGN}40000"),
    ],
)
def test_figures_have_fixed_decimals_and_no_grouping(value: Decimal | None, decimals: int | str, shown: str) -> None:
    assert figure(value, decimals) == shown


@pytest.mark.parametrize(
    ("minutes", "shown"),
    [(0, "just now"), (35, "35 min"), (65, "1 h 05"), (2700, "45 h 00"), (4560, "3 d 4 h"), (43200, "30 d")],
)
def test_time_ago_is_told_in_words(minutes: int, shown: str) -> None:
    told = time_ago(NOON - timedelta(minutes=minutes), NOON)
    assert f">{shown}</time>" in told
    assert 'datetime="' in told


def test_a_serial_does_not_break() -> None:
    assert serial("TBK-25-0143-D") == '<span class="serial">TBK-25-0143-D</span>'


@pytest.mark.parametrize(
    ("cookie", "shown"),
    [("dark", ' data-theme="dark"'), ("light", ' data-theme="light"'), ("", ""), ('"><x', "")],
)
def test_only_a_known_theme_reaches_the_page(cookie: str, shown: str) -> None:
    request = RequestFactory().get("/")
    request.COOKIES["theme"] = cookie
    assert drawn("{% theme_attribute %}", request=request) == shown


@pytest.mark.parametrize(
    ("typed", "said"), [("cracked", "cracked."), ("cracked.", "cracked."), ("why? ", "why?"), ("", ""), (" ", "")]
)
def test_typed_words_end_with_one_full_stop(typed: str, said: str) -> None:
    assert sentence(typed) == said
