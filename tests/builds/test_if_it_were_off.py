"""What if a gauge were off: the working out of the look-back without a calibration that found anything, and nothing
kept."""

from __future__ import annotations

import csv
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from html import unescape
from io import StringIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from builds.models import LookBack, RedTag, Visit
from builds.reports.lookback import Again, Off, if_it_were_off, judged_again
from measurements.actions.gauges import Calibrated, calibrate
from measurements.models import Calibration, Reading
from shop.clock import shop_day
from shop.models import Person
from shop.record.models import Event
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import MEASURING_CARD
from tests.factories import signed_in_client

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    """Three days old, so that its days are past."""
    return open_bench(MEASURING_CARD, begin=datetime.now(UTC) - timedelta(days=3))


@pytest.fixture(scope="module")
def bolts(bench: Bench) -> Visit:
    """Torques of 105, 110 and 104 ft-lb, limits 100 to 110, read with G-3."""
    visit = bench.begin(bench.axle(), 12)
    for text in ("105", "110", "104"):
        bench.enter(visit, "12.4", text, reason="next bolt")
    return visit


@pytest.fixture
def wim(bench: Bench, bolts: Visit) -> Client:
    person = bench.people["eve"].person
    assert person is not None
    return signed_in_client(Person.objects.get(pk=person.pk))


def found(bench: Bench, error: str, *, in_percent: bool) -> Calibration:
    made = shop_day(bench.later(days=1))
    done = Calibrated(made, made + timedelta(days=365), "LAB-2", Decimal(error), in_percent=in_percent)
    return calibrate(gauge=bench.gauges["G-3"], calibrated=done, by=bench.people["eve"], now=bench.now)


def told(rows: list[Again]) -> list[tuple[int, Fraction | None, str, bool, bool]]:
    return [(row.reading.pk, row.value, row.verdict, row.changed, row.counts) for row in rows]


@pytest.mark.parametrize(("error", "in_percent"), [("5", True), ("4.5", False), ("-3", False)])
def test_the_question_gives_what_the_look_back_would(bench: Bench, bolts: Visit, error: str, in_percent: bool) -> None:
    asked = if_it_were_off(
        Off(bench.gauges["G-3"], Decimal(error), in_percent), shop_day(bolts.claimed_at), shop_day(bench.now)
    )
    assert told(asked) == told(judged_again(found(bench, error, in_percent=in_percent)))
    assert len(asked) == 3
    assert any(row.changed for row in asked)


def test_only_the_days_that_were_asked_about(bench: Bench, bolts: Visit) -> None:
    day, off = shop_day(bolts.claimed_at), Off(bench.gauges["G-3"], Decimal(5))
    assert len(if_it_were_off(off, day, day)) == 3
    assert if_it_were_off(off, day + timedelta(days=1), day + timedelta(days=9)) == []
    assert if_it_were_off(off, day - timedelta(days=9), day - timedelta(days=1)) == []


def test_a_setting_ring_is_asked_about_by_its_size(bench: Bench) -> None:
    """A bore read as 3.0630 on a ring that is .0002 larger than its mark is 3.0632."""
    visit = bench.begin(bench.axle(), 10)
    bench.enter(visit, "10.1", "3.0630", position="A")
    day = shop_day(bench.now)
    rows = if_it_were_off(Off(bench.gauges["G-2"], Decimal("0.0002")), day, day)
    assert [row.value for row in rows if row.reading.ring_id] == [Fraction("3.0632")]


def page(client: Client, mark: str = "G-3", **asked: str) -> tuple[str, Any]:
    answer = client.get(reverse("look_back_ask", args=[mark]), asked)
    return " ".join(unescape(answer.content.decode()).split()), answer


def days(bolts: Visit) -> dict[str, str]:
    day = str(shop_day(bolts.claimed_at))
    return {"first": day, "last": day}


def test_the_page_says_that_it_is_a_question_and_keeps_nothing(wim: Client, bolts: Visit) -> None:
    before = (Event.objects.count(), Calibration.objects.count(), list(Reading.objects.values()))
    link = reverse("look_back_ask", args=["G-3"])
    assert f'href="{link}"' in wim.get(reverse("gauge", args=["G-3"])).content.decode()
    empty, _ = page(wim)
    assert "Nothing is kept and nothing is stopped by asking" in empty
    assert "Readings" not in empty
    shown, answer = page(wim, error="5", error_in="percent", **days(bolts))
    assert answer.status_code == 200
    assert "If it read 5 % too high" in shown
    assert "3 readings taken with it on those days, 0 computed from them. 1 would have another verdict, on 1 axle." in (
        shown.replace("<b>", "").replace("</b>", "")
    )
    assert "99.05" in shown
    assert (Event.objects.count(), Calibration.objects.count(), list(Reading.objects.values())) == before
    assert not LookBack.objects.exists()
    assert not RedTag.objects.exists()
    assert answer.wsgi_request.method == "GET"
    assert wim.post(link, {"error": "5"}).status_code == 405


def test_its_list_as_csv_and_days_without_a_reading(wim: Client, bolts: Visit) -> None:
    _, answer = page(wim, error="5", error_in="percent", **days(bolts), **{"as": "csv"})
    rows = list(csv.DictReader(StringIO(answer.content.decode())))
    assert [row["verdict now"] for row in rows].count("below the limit") == 1
    shown, _ = page(wim, error="5", first="2001-01-01", last="2001-01-02")
    assert "Nothing was read with it on those days." in shown


@pytest.mark.parametrize(
    ("mark", "wrong", "said"),
    [
        ("G-3", {"error": ""}, "Say how far it is off."),
        ("G-3", {"error": "5,5"}, "Type a figure with a point"),
        ("G-3", {"error": "a bit"}, "Type a figure with a point"),
        ("G-3", {"error": "0"}, "An error of zero changes no reading."),
        ("G-3", {"error": "9" * 40}, "Ensure that there are no more than"),
        ("G-3", {"error": "100", "error_in": "percent"}, "An error of 100 per cent or more is not a reading."),
        ("G-6", {"error": "1", "error_in": "percent"}, "has no percentage: give the error in degrees"),
        ("G-3", {"error": "1", "error_in": "furlongs"}, "Select a valid choice"),
        ("G-3", {"error": "1", "first": ""}, "Give the day as year-month-day"),
        ("G-3", {"error": "1", "first": "yesterday"}, "Write the day as year-month-day"),
        ("G-3", {"error": "1", "last": "2001-01-01"}, "The last day is before the first"),
        ("G-3", {"error": "1", "last": "2199-01-01"}, "That day is still to come"),
    ],
)
def test_a_wrong_question_is_said_plainly_and_kept(
    wim: Client, bolts: Visit, mark: str, wrong: dict[str, str], said: str
) -> None:
    asked = {"error": "1", **days(bolts), **wrong}
    shown, answer = page(wim, mark, **asked)
    assert answer.status_code == 200
    assert said in shown
    assert "another verdict" not in shown
    kept = [name for name in ("error", "first", "last") if asked[name]]
    assert [name for name in kept if f'value="{asked[name]}"' in shown] == kept


def test_an_unknown_gauge_is_not_here(wim: Client) -> None:
    assert wim.get(reverse("look_back_ask", args=["G-99"])).status_code == 404
