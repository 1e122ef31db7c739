"""A list by pages: which page the address asks for (?page=3), and the ways to the others, which keep whatever else it
narrows the list by."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.http import QueryDict

from shop.http.request import Asked

PER_PAGE = 50
#: So many pages on either side of the one that is shown, beside the first and the last.
NEAR = 2

#: (words, query) of a page; without a query the page that is shown, or a gap.
Way = tuple[str, str]
GAP: Way = ("…", "")


@dataclass(frozen=True)
class Page:
    """One page of a list. `first` and `end`: the places of its rows among all, as a slice takes them."""

    number: int
    first: int
    end: int
    ways: list[Way]


def page_asked(request: Asked) -> int:
    """What makes no sense in the address is as if it were not there: the first page."""
    number = request.GET.get("page", "1")
    return int(number) if number.isascii() and number.isdigit() and len(number) <= 6 else 1


def page_of(request: Asked, count: int, *, per_page: int | None = None) -> Page:
    """The page that is asked for of a list of `count` rows; past the end, the last one."""

    def query(number: int) -> str:
        asked: QueryDict = request.GET.copy()
        asked.pop("page", None)
        if number != 1:
            asked["page"] = str(number)
        return asked.urlencode() or "page=1"

    return paged(count, page_asked(request), per_page or PER_PAGE, query)


def paged(count: int, number: int, per_page: int, query: Callable[[int], str]) -> Page:
    """The same with the address of a page given by `query`."""
    last = max(1, -(-count // per_page))
    number = min(max(number, 1), last)
    ways = list(_ways(number, last, query)) if last > 1 else []
    return Page(number, (number - 1) * per_page, min(number * per_page, count), ways)


def _ways(number: int, last: int, query: Callable[[int], str]) -> Iterator[Way]:
    before = 0
    for at in range(1, last + 1):
        if at not in (1, last) and abs(at - number) > NEAR:
            continue
        if at > before + 1:
            yield GAP
        yield f"{at}", query(at) if at != number else ""
        before = at
