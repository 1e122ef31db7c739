"""A list by pages: which rows, and which ways to the other pages (shop.http.paging)."""

from __future__ import annotations

import pytest
from django.http import HttpRequest, QueryDict

from shop.http.paging import page_asked, page_of, paged


def asked(text: str) -> HttpRequest:
    request = HttpRequest()
    request.GET = QueryDict(text)
    return request


@pytest.mark.parametrize(
    ("count", "number", "rows"),
    [(0, 1, (0, 0)), (50, 1, (0, 50)), (51, 1, (0, 50)), (51, 2, (50, 51)), (51, 9, (50, 51)), (51, 0, (0, 50))],
)
def test_a_page_has_its_rows_and_past_the_end_stands_the_last_one(
    count: int, number: int, rows: tuple[int, int]
) -> None:
    page = paged(count, number, 50, str)
    assert (page.first, page.end) == rows


def test_every_row_stands_on_one_page() -> None:
    pages = [paged(123, number, 10, str) for number in range(1, 14)]
    assert [row for page in pages for row in range(page.first, page.end)] == list(range(123))


@pytest.mark.parametrize(
    ("count", "number", "words"),
    [
        (50, 1, ""),
        (51, 1, "1 2"),
        (1000, 1, "1 2 3 … 20"),
        (1000, 10, "1 … 8 9 10 11 12 … 20"),
        (1000, 4, "1 2 3 4 5 6 … 20"),
        (1000, 20, "1 … 18 19 20"),
    ],
)
def test_the_first_the_last_and_those_near_by_are_named(count: int, number: int, words: str) -> None:
    assert " ".join(said for said, _ in paged(count, number, 50, str).ways) == words


def test_the_page_that_is_shown_and_a_gap_lead_nowhere() -> None:
    ways = paged(1000, 10, 50, str).ways
    assert [said for said, query in ways if not query] == ["…", "10", "…"]


def test_the_ways_keep_what_the_list_was_narrowed_by() -> None:
    ways = page_of(asked("only=open&page=2&q=a%26b"), 101).ways
    assert ways == [("1", "only=open&q=a%26b"), ("2", ""), ("3", "only=open&q=a%26b&page=3")]


def test_the_first_page_of_a_list_that_nothing_narrows_has_an_address_too() -> None:
    assert page_of(asked("page=2"), 51).ways[0] == ("1", "page=1")


@pytest.mark.parametrize("typed", ["", "x", "-1", "1.5", "²", "٣", "9999999"])
def test_what_makes_no_sense_is_the_first_page(typed: str) -> None:
    request = asked("")
    request.GET = request.GET.copy()
    request.GET["page"] = typed
    assert page_asked(request) == 1
