"""How many statements one Enter, a signature and the bench pages take: a constant number, whatever there is already."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.hashers import make_password
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.models import Done, Visit, VisitState
from builds.reports.pending import ticks_left_out
from builds.reports.work import Place, work_of
from builds.scenario.driver import Builder
from shop.models import Person
from tests.factories import PIN, signed_in_client, with_key
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
#: Savepoints, begin and commit carry no question to the database.
FRAME = ("BEGIN", "COMMIT", "SAVEPOINT", "RELEASE")
#: PostgreSQL takes an event and its head in one statement, SQLite in two.
ON_POSTGRESQL = -1 if connection.vendor == "postgresql" else 0


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def builder(floor: Floor) -> Builder:
    builder = floor.builder(floor.axle())
    builder.kit()
    for key in ("10/", "200/", "210/"):
        builder.do(key)
    return builder


@pytest.fixture(scope="module")
def bolts(builder: Builder) -> Visit:
    visit = builder.begin("220/")
    builder.fit(visit)
    return visit


@pytest.fixture
def rusk(floor: Floor) -> Client:
    return signed_in_client(floor.people["rusk"])


def statements(do: Callable[[], Any]) -> int:
    with CaptureQueriesContext(connection) as caught:
        do()
    return sum(1 for query in caught.captured_queries if not query["sql"].startswith(FRAME))


def places(visit: Visit) -> list[Place]:
    return [place for place in work_of(visit).places if place.asked.code == "220.1"]


def test_one_reading_takes_seven_statements_however_many_there_are(builder: Builder, bolts: Visit) -> None:
    """Heads, what is at hand, readings, calibration, the new row, its event, the head."""
    counts = [statements(lambda place=place: builder.enter(bolts, place)) for place in places(bolts)]  # type: ignore[misc]
    assert counts == [7 + ON_POSTGRESQL] * 12


def test_one_enter_over_http_is_constant(bolts: Visit, rusk: Client) -> None:
    """With the seat, the pass with its axle, and the submission that is kept."""
    assert bolts.axle is not None
    path = reverse("station_reading", args=[bolts.axle.serial, 220, "-"])

    def post(place: Place) -> None:
        form = with_key(characteristic="220.1", position=place.position, value="105", gauge="G-042", **{"try": "1"})
        assert rusk.post(path, form).status_code == 303

    rusk.get(reverse("station", args=[bolts.axle.serial, 220, "-"]))  # the card is parsed once in a process
    counts = [statements(lambda place=place: post(place)) for place in places(bolts)]  # type: ignore[misc]
    assert counts == [10 + ON_POSTGRESQL] * 12


def test_an_entry_in_place_takes_no_statement_more(bolts: Visit, rusk: Client) -> None:
    """What the act has read is enough to draw what it changed: the readings, parts and photos of the pass."""
    assert bolts.axle is not None
    at = [bolts.axle.serial, 220, "-"]
    page = rusk.get(reverse("station", args=at)).content.decode()

    def post(place: Place) -> None:
        nonlocal page
        form = with_key(characteristic="220.1", position=place.position, value="105", gauge="G-042", **{"try": "1"})
        form["shown"] = shown_on(page)
        answer = rusk.post(reverse("station_reading", args=at), form, headers={"HX-Request": "true"})
        assert answer.status_code == 200
        page = answer.content.decode()
        assert '<section id="now-entry" hx-swap-oob="true"' in page
        assert 'id="work"' not in page

    counts = [statements(lambda place=place: post(place)) for place in places(bolts)]  # type: ignore[misc]
    assert counts == [10 + ON_POSTGRESQL] * 12


def shown_on(page: str) -> str:
    """The mark of what a page shows, as its form posts it."""
    return page.partition('name="shown" value="')[2][:16]


def test_the_station_page_takes_ten_statements_however_many_readings(
    builder: Builder, bolts: Visit, rusk: Client
) -> None:
    """Seat, pass, readings, kit, parts in, units with clocks and passes, open tags, chosen gauge, photos, advice."""
    assert bolts.axle is not None
    at = [bolts.axle.serial, 220, "-"]
    assert rusk.post(reverse("station_scan", args=at), with_key(scan="~G:G-042")).status_code == 303
    builder.now = timezone.now()
    path = f"{reverse('station', args=at)}?characteristic=220.1"
    counts = [statements(lambda: rusk.get(path))]
    for place in places(bolts):
        builder.enter(bolts, place)
        counts.append(statements(lambda: rusk.get(path)))
    assert counts == [10] * 13


def test_an_unchanged_page_asks_three_statements(bolts: Visit, rusk: Client) -> None:
    """Seat, pass and the mark; the page's own mark is the one that the database gives."""
    assert bolts.axle is not None
    at = [bolts.axle.serial, 220, "-"]
    page = rusk.get(reverse("station", args=at)).content.decode()
    stamp = page.partition("?stamp=")[2][:16]
    path = f"{reverse('station_changes', args=at)}?stamp={stamp}"
    assert statements(lambda: rusk.get(path)) == 3
    assert rusk.get(path).status_code == 204
    enter(bolts, rusk)
    assert rusk.get(path).status_code == 200


def enter(visit: Visit, client: Client) -> None:
    assert visit.axle is not None
    form = with_key(characteristic="220.1", position="1", value="105", gauge="G-042", **{"try": "1"})
    assert client.post(reverse("station_reading", args=[visit.axle.serial, 220, "-"]), form).status_code == 303


def test_the_waiting_list_is_constant(floor: Floor, bolts: Visit, rusk: Client) -> None:
    path = reverse("waiting", args=[bolts.operation.station.code])
    assert statements(lambda: rusk.get(path)) == 8
    floor.axles(4)
    assert statements(lambda: rusk.get(path)) == 8


@pytest.mark.parametrize("more_tries", [0, 12])
def test_finishing_over_http_is_constant(floor: Floor, more_tries: int) -> None:
    """Seat, pass, wrong PINs; heads, what the signature has to know, readings; then signature, doer, span,
    pass, event, head and the submission that is kept. With twice the tries it is the same."""
    worker = floor.people["rusk"]
    Person.objects.filter(pk=worker.pk).update(pin_hash=make_password(PIN))
    client, builder = signed_in_client(worker), floor.builder(floor.axle())
    builder.kit()
    for key in ("10/", "200/", "210/"):
        builder.do(key)
    visit = builder.begin("220/")
    builder.fill(visit)
    for place in places(visit)[:more_tries]:
        builder.enter(visit, place, reason="the wrench was not set")
    at = [builder.axle.serial, 220, "-"]
    client.get(reverse("station", args=at))  # the card is parsed once in a process
    form = with_key(pin=PIN, without=ticks_left_out(work_of(visit)))

    def press() -> None:
        assert client.post(reverse("station_finish", args=at), form).status_code == 303

    # PostgreSQL takes span and pass in one as well
    assert statements(press) == 13 + 2 * ON_POSTGRESQL
    visit.refresh_from_db()
    assert visit.state == VisitState.DONE
    assert Done.objects.filter(visit=visit, part="doer").count() == 1
    assert not visit.spans.filter(ended_at=None).exists()
    press()  # the same key again: the same answer, and no second signature
    assert Done.objects.filter(visit=visit).count() == 1
