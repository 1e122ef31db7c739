"""The reach list's page: what is typed, what is refused in words and kept, page, CSV and PDF, its statements."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.reports.reach.answer import Spot
from shop.clock import shop_day
from shop.models import Supplier
from tests.factories import signed_in_client
from tests.shopfloor import open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def client(once_per_module: None) -> Client:
    floor = open_shop()
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=40)
    return signed_in_client(floor.people["calla"])


def page(client: Client, **typed: str) -> str:
    answer = client.get(reverse("reach"), typed)
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_a_heat_by_scan_leads_to_its_axle(client: Client) -> None:
    text = page(client, cause="~H:Q7714")
    assert "Heat Q7714" in text
    assert "<b>1 axle.</b>" in text
    assert "a person decides" in text
    # The control: a heat that went nowhere.
    assert "0 axles" in page(client, cause="~H:R7120")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"cause": " "}, "Nothing was scanned or typed"),
        ({"cause": "Q9999"}, "Nothing here is called Q9999"),
        ({"cause": "Q7714", "day_from": "2025-02-10", "day_to": "2025-02-01"}, "before it begins"),
        ({"cause": "Q7714", "day_from": "2925-02-10"}, "lies ahead"),
        ({"cause": "Q7714", "day_from": "yesterday"}, "Write the day as year-month-day"),
        ({"cause": "Q7714", "other": "nobody-here"}, "Nothing here is called nobody-here"),
        ({"cause": "~B:TB-RUSK-25"}, "is no cause"),
        ({"cause": "GB", "kind": "shift"}, "needs its day"),
        ({"cause": "GB", "kind": "shift", "day_from": "2025-01-01", "day_to": "2025-12-01"}, "at most 62"),
        ({"cause": "x" * 500}, "at most 80"),
    ],
)
def test_bad_input_is_said_plainly_and_kept(client: Client, typed: dict[str, str], said: str) -> None:
    text = page(client, **typed)
    assert said in text
    assert "axles.</b>" not in text
    if typed["cause"].strip():
        assert f'value="{typed["cause"]}"' in text


def test_nothing_found_says_what_was_searched(client: Client) -> None:
    today = str(shop_day(timezone.now()))
    text = page(client, cause="bram", kind="person", day_from=today)
    assert "Person Bram Ottelow" in text
    assert "Nothing on record was touched" in text


def test_the_list_as_csv_and_pdf(client: Client) -> None:
    lines = page(client, cause="~H:Q7714", **{"as": "csv"}).splitlines()
    assert lines[0].startswith("place,what,mark,axle")
    assert sum(line.startswith("on the floor,axle") for line in lines) == 1
    answer = client.get(reverse("reach"), {"cause": "~H:Q7714", "as": "pdf"})
    assert (answer["Content-Type"], answer.content[:5]) == ("application/pdf", b"%PDF-")


def test_a_long_place_goes_on_over_pages_and_loses_no_row(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two rows a page here. Every mark of the list stands on one of the pages; a page that is not, is the nearest."""
    monkeypatch.setattr("builds.views.reach.ON_A_PAGE", 2)
    asked, place, marks = longest(client)
    assert len(marks) > 2
    at = next(spot.key for spot in Spot if spot == place)
    seen = set()
    for number in range(1, -(-len(marks) // 2) + 1):
        part = section(page(client, **asked, at=at, page=str(number)), at)
        found = {mark for mark in marks if f'<span class="serial">{mark}</span>' in part}
        assert 1 <= len(found) <= 2
        assert f"of {len(marks)}, page {number} of" in part
        seen |= found
    assert seen == set(marks)
    for odd in ("999999", "0", "-1", "two", "9" * 40, ""):
        assert f"of {len(marks)}, page" in section(page(client, **asked, at=at, page=odd), at)


def longest(client: Client) -> tuple[dict[str, str], str, list[str]]:
    """The supplier of whom most is at one place: how the page is asked for it, the place, and the marks there."""
    found = []
    for code in Supplier.objects.values_list("code", flat=True):
        asked = {"cause": code, "kind": "supplier"}
        lines = [line.split(",") for line in page(client, **asked, **{"as": "csv"}).splitlines()[1:]]
        for place in {line[0] for line in lines}:
            found.append((asked, place, [line[2] for line in lines if line[0] == place]))
    return max(found, key=lambda one: len(one[2]))


def section(text: str, key: str) -> str:
    return text.partition(f'<section class="stack" id="{key}"')[2].partition("</section>")[0]


def test_what_narrows_is_folded_away_until_it_says_something(client: Client) -> None:
    assert '<details class="more">' in page(client, cause="~H:Q7714")
    assert '<details class="more">' in page(client)
    for typed in ({"day_from": "2025-02-10"}, {"other": "rusk"}, {"together": "either"}, {"day_from": "yesterday"}):
        assert '<details class="more" open>' in page(client, cause="~H:Q7714", **typed)
