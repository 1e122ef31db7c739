"""Orders and red tags by pages, on the page of holds too: each row once, the filter kept, the CSV whole."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest

from builds.actions.loose import tag_loose
from builds.models import Order
from builds.reports.holds import red_tags
from shop.http.paging import PER_PAGE
from shop.models import Customer, Item, Role
from tests.builds.floor import part, person, released
from tests.builds.pages import Browser, text_of
from tests.builds.test_loose_red_tags import decide_by_page

pytestmark = pytest.mark.django_db
BEGIN = date(2025, 1, 1)


def orders(count: int) -> list[str]:
    """Their numbers, the newest first."""
    customer = Customer.objects.create(code="hp", name="Hollow Pine Trailer Guild")
    made = [
        Order.objects.create(number=f"P-{day:04}", customer=customer, placed_on=BEGIN + timedelta(days=day))
        for day in range(count)
    ]
    return [one.number for one in reversed(made)]


def on_page(page: str, path: str) -> list[str]:
    return re.findall(rf'href="/{path}/([\w-]+)/"', page.partition("<tbody>")[2].partition("</tbody>")[0])


def test_more_orders_than_a_page_stand_on_two_each_once() -> None:
    numbers, office = orders(PER_PAGE + 3), Browser(person(Role.OFFICE))
    first, second = (office.get(f"/orders/?page={number}") for number in (1, 2))
    assert on_page(first.content.decode(), "orders") == numbers[:PER_PAGE]
    assert on_page(second.content.decode(), "orders") == numbers[PER_PAGE:]
    assert '<a href="?page=2">2</a>' in first.content.decode()
    assert "Page 1 2" in text_of(first)
    assert '<b aria-current="page">2</b>' in second.content.decode()
    assert len(office.get("/orders/?as=csv").content.decode().splitlines()) == PER_PAGE + 4


def test_a_page_of_orders_has_no_ways_where_it_is_the_only_one() -> None:
    orders(PER_PAGE)
    page = Browser(person(Role.OFFICE)).get("/orders/").content.decode()
    assert len(on_page(page, "orders")) == PER_PAGE
    assert "Pages of the orders" not in page


@pytest.fixture
def tags(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Seven red tags, of which the second and the fifth are decided; as if two rows filled a page. In the order of the
    list: those without a decision by age, then the decided ones, the newest first."""
    monkeypatch.setattr("shop.http.paging.PER_PAGE", 2)
    released()
    items: list[Item] = [part("shaft", f"S-{number}").item for number in range(7)]
    made = [tag_loose(item=item, cause="bent", by=person(Role.PAINTER)) for item in items]
    for place in (1, 4):
        assert decide_by_page(made[place], "scrap").status_code == 303
    return [made[place].number for place in (0, 2, 3, 5, 6, 4, 1)]


def test_every_red_tag_stands_on_one_page_those_without_a_decision_first(tags: list[int]) -> None:
    looks = Browser(person(Role.PAINTER))
    pages = [on_page(looks.get(f"/red-tags/?page={number}").content.decode(), "red-tags") for number in range(1, 5)]
    assert pages == [[str(number) for number in tags[first : first + 2]] for first in (0, 2, 4, 6)]
    assert [row.tag.number for row in red_tags(open_only=False)] == tags
    assert len(looks.get("/red-tags/?as=csv&page=2").content.decode().splitlines()) == 8


def test_the_ways_between_the_pages_keep_the_filter(tags: list[int]) -> None:
    looks = Browser(person(Role.PAINTER))
    page = looks.get("/red-tags/?only=open&page=2").content.decode()
    assert on_page(page, "red-tags") == [str(number) for number in tags[2:4]]
    nav = page.partition('aria-label="Pages of the red tags"')[2].partition("</nav>")[0]
    assert re.findall(r'href="\?([^"]+)"', nav) == ["only=open", "only=open&amp;page=3"]
    assert "5" in text_of(looks.get("/red-tags/")).partition("Only those without a decision")[2][:5]


def open_on_holds(page: str) -> tuple[list[str], str]:
    """The red tags that one page of the holds shows, and the ways to the others."""
    section = page.partition('id="tags"')[2].partition("</section>")[0]
    return on_page(section, "red-tags"), section.partition('aria-label="Pages of the red tags"')[2]


def test_the_page_of_holds_shows_each_open_tag_on_one_page_the_decided_on_none(tags: list[int]) -> None:
    looks = Browser(person(Role.PAINTER))
    pages = [open_on_holds(looks.get(f"/holds/?page={number}").content.decode()) for number in (1, 2, 3)]
    assert [shown for shown, _ in pages] == [
        [str(number) for number in tags[first : min(first + 2, 5)]] for first in (0, 2, 4)
    ]
    assert re.findall(r'href="([^"]+)"', pages[1][1]) == ["?page=1#tags", "?page=3#tags"]


def test_control_few_open_tags_stand_on_the_page_of_holds_without_ways(
    tags: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The decided ones fill no page: five are open, and five fit."""
    monkeypatch.setattr("shop.http.paging.PER_PAGE", 5)
    shown, ways = open_on_holds(Browser(person(Role.PAINTER)).get("/holds/").content.decode())
    assert shown == [str(number) for number in tags[:5]]
    assert ways == ""


@pytest.mark.parametrize(("first", "end"), [(0, 2), (0, 5), (3, 6), (4, 7), (5, 7), (6, 9), (0, 9), (7, 9)])
def test_any_part_of_the_list_is_that_part_of_the_whole(tags: list[int], first: int, end: int) -> None:
    assert [row.tag.number for row in red_tags(open_only=False, first=first, end=end)] == tags[first:end]
