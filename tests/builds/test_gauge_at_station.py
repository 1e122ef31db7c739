"""A gauge that is recalled, or worn out, while a station's page is open with it: the next press is refused."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.models import Visit
from builds.scenario.driver import Builder
from measurements.actions.gauges import Calibrated, calibrate, note_uses, recall_gauge
from measurements.models import Gauge, Reading
from shop.clock import shop_day
from tests.factories import signed_in_client, with_key
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def bolts(floor: Floor) -> Visit:
    """Ring-gear bolts in hand: 12 to be tightened with the wrench G-042."""
    builder: Builder = floor.builder(floor.axle())
    builder.kit()
    for key in ("10/", "200/", "210/"):
        builder.do(key)
    visit = builder.begin("220/")
    builder.fit(visit)
    builder.enter_code(visit, "220.3")
    return visit


@pytest.fixture
def gauge() -> Gauge:
    return Gauge.objects.select_related("item").get(item__mark="G-042")


@pytest.fixture
def station(floor: Floor, bolts: Visit) -> Client:
    """A browser with the station's page open and the wrench scanned."""
    client = signed_in_client(floor.people["rusk"])
    assert client.post(reverse("station_scan", args=at(bolts)), with_key(scan="~G:G-042")).status_code == 303
    assert press(client, bolts, "1").status_code == 303
    return client


def at(visit: Visit) -> list[object]:
    assert visit.axle is not None
    return [visit.axle.serial, 220, "-"]


def press(client: Client, visit: Visit, bolt: str, mark: str = "G-042") -> Any:
    form = with_key(characteristic="220.1", position=bolt, value="105", gauge=mark, **{"try": "1"})
    return client.post(reverse("station_reading", args=at(visit)), form)


def shown(client: Client, visit: Visit) -> str:
    return client.get(reverse("station", args=at(visit))).content.decode()


def test_a_recall_refuses_the_next_press_on_the_open_page_and_keeps_what_was_typed(
    floor: Floor, station: Client, bolts: Visit, gauge: Gauge
) -> None:
    assert "G-042" in shown(station, bolts)
    recall_gauge(gauge=gauge, reason="dropped on the floor", by=floor.who("calla"))
    before = Reading.objects.count()
    answer = press(station, bolts, "2")
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Gauge G-042 is recalled: dropped on the floor. Take another torque wrench." in page
    assert 'value="105"' in page
    assert Reading.objects.count() == before
    assert "now: it is recalled" in shown(station, bolts)


def test_the_station_says_when_few_uses_are_left_and_refuses_at_the_last(
    floor: Floor, station: Client, bolts: Visit, gauge: Gauge
) -> None:
    today = shop_day(timezone.now())
    fresh = Calibrated(today, today + timedelta(days=365), "LAB-5", due_after=5000)
    calibrate(gauge=gauge, calibrated=fresh, by=floor.who("wenzel"))
    assert "uses made" not in shown(station, bolts)
    note_uses(gauge=gauge, uses=4998, reason="lug nuts", by=floor.who("calla"))
    assert "4,998 of 5,000 uses made" in shown(station, bolts)
    assert [press(station, bolts, bolt).status_code for bolt in ("2", "3", "4")] == [303, 303, 422]
    assert "now: it is overdue" in shown(station, bolts)
    assert Reading.objects.filter(gauge=gauge, calibration__due_after=5000, position__in="234").count() == 2
