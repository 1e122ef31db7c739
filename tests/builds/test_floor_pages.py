"""Floor, waiting list, axle file and station page: what they show, and that their queries stay constant."""

from __future__ import annotations

import csv
from datetime import timedelta
from io import StringIO

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.tagging import tag_axle
from builds.models import Axle
from tests.factories import signed_in_client
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def axles(floor: Floor) -> list[Axle]:
    """Three axles at different operations."""
    found = []
    for number, until in enumerate((40, 60, 90)):
        builder = floor.builder(floor.axle())
        builder.now = floor.now + timedelta(days=2 * number)
        builder.kit()
        builder.run(until=until)
        found.append(builder.axle)
    return found


@pytest.fixture
def dovie(floor: Floor) -> Client:
    return signed_in_client(floor.people["dovie"])


def queries(client: Client, path: str) -> int:
    client.get(path)  # the parsed card and the templates are kept after the first time
    with CaptureQueriesContext(
        connection,
    ) as caught:
        assert client.get(path).status_code == 200
    return len(caught)


def test_stopped_axles_come_first_with_their_cause(floor: Floor, axles: list[Axle], dovie: Client) -> None:
    tag_axle(axle=axles[2], cause="bent in the yard", by=floor.who("calla"), now=floor.now + timedelta(days=20))
    page = dovie.get(reverse("floor")).content.decode()
    assert "bent in the yard" in page
    assert page.index(axles[2].serial) < min(page.index(axle.serial) for axle in axles[:2])


def test_the_list_is_also_csv(axles: list[Axle], dovie: Client) -> None:
    rows = list(csv.reader(StringIO(dovie.get(reverse("floor"), {"as": "csv"}).content.decode())))
    assert rows[0][0] == "axle"
    assert {row[0] for row in rows[1:]} == {axle.serial for axle in axles}


@pytest.mark.parametrize("name", ["floor", "axles"])
def test_queries_do_not_grow_with_axles(floor: Floor, axles: list[Axle], dovie: Client, name: str) -> None:
    before = queries(dovie, reverse(name))
    floor.axles(4)
    assert queries(dovie, reverse(name)) == before


def test_the_waiting_list_is_constant(floor: Floor, axles: list[Axle]) -> None:
    tam = signed_in_client(floor.people["tam"])
    path = reverse("waiting", args=["TP"])
    before = queries(tam, path)
    floor.axles(4)
    assert queries(tam, path) == before


def test_the_axle_file_is_constant(floor: Floor, axles: list[Axle], dovie: Client) -> None:
    small, large = (queries(dovie, reverse("axle", args=[axle.serial])) for axle in (axles[0], axles[2]))
    assert small == large


def test_the_axle_file_shows_every_try_and_a_zone_narrows_it(floor: Floor, axles: list[Axle], dovie: Client) -> None:
    whole = dovie.get(reverse("axle", args=[axles[2].serial])).content.decode()
    assert "50.3 Spindle bore" in whole
    zone = dovie.get(reverse("axle", args=[axles[2].serial]), {"zone": "hub", "side": "left"}).content.decode()
    assert "50.3 Spindle bore" not in zone


@pytest.mark.parametrize("name", ["gauges", "procedures", "holds", "red_tags", "axles", "floor"])
def test_lists_are_drawn_for_the_engineer(floor: Floor, axles: list[Axle], name: str) -> None:
    assert signed_in_client(floor.people["wenzel"]).get(reverse(name)).status_code == 200


def test_one_gauge_shows_its_calibration_and_readings(floor: Floor, axles: list[Axle]) -> None:
    page = signed_in_client(floor.people["calla"]).get(reverse("gauge", args=["G-017"])).content.decode()
    assert "LAB-017-1" in page
    assert "50.3" in page


def test_a_count_is_a_link_to_as_many_rows(floor: Floor, axles: list[Axle], dovie: Client) -> None:
    tag_axle(axle=axles[1], cause="bent", by=floor.who("calla"), now=floor.now + timedelta(days=20))
    counts = dovie.get(reverse("floor")).context["counts"]
    assert [one.words for one in counts] == ["in the house", "stopped", "past their promise"]
    assert counts[1].count == 1
    for one in counts:
        assert len(dovie.get(one.url).context["rows"]) == one.count
    assert [row.axle for row in dovie.get(counts[1].url).context["rows"]] == [axles[1]]
    rows = list(csv.reader(StringIO(dovie.get(counts[1].url + "&as=csv").content.decode())))
    assert len(rows) == 2
    assert len(dovie.get(reverse("floor"), {"only": "nonsense"}).context["rows"]) == 0


def test_an_operation_that_nobody_has_in_hand_names_axle_and_operation(floor: Floor, axles: list[Axle]) -> None:
    path = reverse("station", args=[axles[0].serial, 50, "left"])
    page = signed_in_client(floor.people["tam"]).get(path).content.decode()
    block = page[page.index("terminal-block") : page.index('id="work"')]
    assert axles[0].serial in block
    assert "50 Face to length and bore spindle end, left" in block
    assert page.count("<h1") == 1


@pytest.mark.parametrize("typed", ["{}", "~A:{}", "{} "])
def test_a_search_for_one_axle_opens_its_file(axles: list[Axle], dovie: Client, typed: str) -> None:
    found = dovie.get(reverse("axles"), {"q": typed.format(axles[1].serial)})
    assert found["Location"] == reverse("axle", args=[axles[1].serial])


@pytest.mark.parametrize(
    ("typed", "said"), [("~A:", "No axle is found by that."), ("~ZZ", "No axle is found by that."), ("", "TBK-")]
)
def test_a_search_for_none_or_many_stays_on_the_list(axles: list[Axle], dovie: Client, typed: str, said: str) -> None:
    found = dovie.get(reverse("axles"), {"q": typed})
    assert found.status_code == 200
    assert said in found.content.decode()


def test_the_floor_begins_with_the_way_to_an_axle(axles: list[Axle], dovie: Client) -> None:
    page = dovie.get(reverse("floor")).content.decode()
    assert page.index(f'action="{reverse("axles")}"') < page.index('id="live"')  # so that no poll takes it away
