"""The gauge shelf through its pages: order, taking in, calibrating, retiring; each refusal beside what is accepted."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from measurements.actions.gauges import Calibrated, NewGauge, calibrate, retire_gauge, take_in_gauge
from measurements.models import Calibration, Characteristic, Gauge, GaugeRecall, GaugeUse
from measurements.reports.gauges import gauge_standing, shelf
from shop.clock import shop_day
from shop.models import Role
from shop.record.who import Who
from tests.builds.pages import text_of
from tests.factories import person, signed_in_client, with_key

pytestmark = pytest.mark.django_db


@pytest.fixture
def calla() -> Who:
    return Who(person("calla", Role.INSPECTOR, pin=""))


@pytest.fixture
def client(calla: Who) -> Client:
    assert calla.person is not None
    return signed_in_client(calla.person)


@pytest.fixture
def today() -> date:
    return shop_day(timezone.now())


def gauge(by: Who, mark: str, due: date | None) -> Gauge:
    made = take_in_gauge(gauge=NewGauge(mark, "feeler", f"Feeler {mark}", "in", Decimal("0.001")), by=by)
    if due is not None:
        calibrate(gauge=made, calibrated=Calibrated(date(2026, 1, 1), due, f"LAB-{mark}"), by=by)
    return made


def test_overdue_gauges_come_first_then_those_due_soon_and_retired_ones_last(calla: Who, today: date) -> None:
    """Due today is overdue; thirty days ahead is soon, thirty-one is not."""
    for mark, days in (("G-FAR", 31), ("G-SOON", 30), ("G-TODAY", 0), ("G-LONG", -9)):
        gauge(calla, mark, today + timedelta(days=days))
    gauge(calla, "G-NEVER", None)
    retire_gauge(gauge=gauge(calla, "G-GONE", today - timedelta(days=99)), reason="dropped", by=calla)
    assert [(row.gauge.item.mark, row.state) for row in shelf(timezone.now())] == [
        ("G-NEVER", "overdue"),
        ("G-LONG", "overdue"),
        ("G-TODAY", "overdue"),
        ("G-SOON", "due soon"),
        ("G-FAR", "valid"),
        ("G-GONE", "retired"),
    ]


def test_a_gauge_is_taken_in_and_a_second_one_of_its_mark_is_not(client: Client) -> None:
    fields = {"mark": "g-77", "kind": "feeler", "name": "Feeler set", "unit": "in", "step": "0.001"}
    assert client.post(reverse("gauges"), with_key(**fields)).status_code == 303
    assert Gauge.objects.get(item__mark="G-77").step == Decimal("0.001")
    again = client.post(reverse("gauges"), with_key(**fields | {"name": "Another set"}))
    assert again.status_code == 422
    said = again.content.decode()
    assert "Marks are never used twice" in said
    assert 'value="Another set"' in said
    assert Gauge.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "typed"),
    [("mark", ""), ("name", " "), ("unit", "furlong"), ("step", "0"), ("step", "-1"), ("step", "x"), ("step", "NaN")],
)
def test_a_gauge_with_a_wrong_field_is_refused_and_keeps_what_was_typed(client: Client, field: str, typed: str) -> None:
    fields = {"mark": "G-77", "kind": "feeler", "name": "Feeler set", "unit": "in", "step": "0.001", field: typed}
    answer = client.post(reverse("gauges"), with_key(**fields))
    assert answer.status_code == 422
    assert 'value="feeler"' in answer.content.decode()
    assert not Gauge.objects.exists()


def test_a_calibration_goes_on_record_and_one_from_the_future_does_not(calla: Who, client: Client, today: date) -> None:
    made = gauge(calla, "G-1", None)
    path = reverse("gauge_calibrate", args=["G-1"])
    due = (today + timedelta(days=365)).isoformat()
    tomorrow = {"made_on": (today + timedelta(days=1)).isoformat(), "due_on": due, "certificate": "LAB-9"}
    refused = client.post(path, with_key(**tomorrow))
    assert refused.status_code == 422
    assert "cannot lie in the future" in refused.content.decode()
    assert 'value="LAB-9"' in refused.content.decode()
    assert not Calibration.objects.exists()
    assert client.post(path, with_key(**tomorrow | {"made_on": today.isoformat()})).status_code == 303
    assert Calibration.objects.get(gauge=made).made_on == today
    assert "LAB-9" in client.get(reverse("gauge", args=["G-1"])).content.decode()


def test_a_gauge_is_retired_only_with_a_reason_and_only_once(calla: Who, client: Client, today: date) -> None:
    made = gauge(calla, "G-1", today + timedelta(days=90))
    path = reverse("gauge_retire", args=["G-1"])
    assert client.post(path, with_key(reason=" ")).status_code == 422
    made.refresh_from_db()
    assert made.retired_at is None
    assert client.post(path, with_key(reason="anvil chipped")).status_code == 303
    made.refresh_from_db()
    assert made.retired_at is not None
    assert client.post(path, with_key(reason="again")).status_code == 422


def test_only_its_keepers_get_the_forms(calla: Who, client: Client, today: date) -> None:
    gauge(calla, "G-1", today + timedelta(days=90))
    manager = signed_in_client(person("dovie", Role.MANAGER, pin=""))
    for name, given in (("gauges", []), ("gauge", ["G-1"])):
        field = 'name="setting"' if name == "gauges" else 'name="certificate"'
        assert field in client.get(reverse(name, args=given)).content.decode()
        assert field not in manager.get(reverse(name, args=given)).content.decode()
    fields = {"mark": "G-2", "kind": "feeler", "name": "Feeler set", "unit": "in"}
    assert manager.post(reverse("gauges"), with_key(**fields)).status_code == 422
    assert not Gauge.objects.filter(item__mark="G-2").exists()
    assert client.post(reverse("gauges"), with_key(**fields)).status_code == 303


def characteristic(code: str, name: str, low: str, high: str, unit: str = "in", kind: str = "feeler") -> None:
    limits = {"low": Decimal(low), "high": Decimal(high), "unit": unit}
    Characteristic.objects.create(card_key="x/A", code=code, name=name, kind="measured", gauge_kind=kind, **limits)


def test_a_gauges_page_begins_with_what_one_comes_for(calla: Who, client: Client, today: date) -> None:
    """How long it is good, what it measures, when it was calibrated, what it is asked for at; its label comes last."""
    new = NewGauge("G-1", "feeler", "Feeler", "in", Decimal("0.001"), Decimal("0.5"), Decimal("2"))
    due = today + timedelta(days=90)
    calibrate(gauge=take_in_gauge(gauge=new, by=calla), calibrated=Calibrated(today, due, "LAB-1"), by=calla)
    characteristic("220.1", "Gap at the flange", "0.9", "1")
    characteristic("50.3", "Gap at the hub", "0.5", "2")
    page = text_of(client.get(reverse("gauge", args=["G-1"])))
    places = [
        page.index(words)
        for words in (
            "How it stands", "Good until", "90 days left", "Range and step 0.5 to 2 in, step 0.001", "Last calibration",
            "Asked for at 50.3 Gap at the hub; 220.1 Gap at the flange", "Calibrations", "Readings taken with it",
            "Print its label",
        )
    ]  # fmt: skip
    assert places == sorted(places)


def test_a_gauge_is_asked_for_where_its_kind_is_and_its_range_holds_the_limits(calla: Who, client: Client) -> None:
    new = NewGauge("G-1", "feeler", "Feeler", "in", Decimal("0.001"), Decimal("0.5"), Decimal("2"))
    made = take_in_gauge(gauge=new, by=calla)
    characteristic("10.1", "Below its range", "0.4", "1")
    characteristic("10.2", "Above its range", "1", "2.1")
    characteristic("10.3", "Of another kind", "1", "2", kind="depth_gauge")
    characteristic("10.4", "In another unit", "12", "25", unit="mm")
    assert gauge_standing(made, timezone.now()).asked_at == ["10.4 In another unit"]
    assert "Asked for at 10.4 In another unit" in text_of(client.get(reverse("gauge", args=["G-1"])))


def test_a_gauge_that_is_not_there_is_a_404(client: Client) -> None:
    assert client.get(reverse("gauge", args=["G-NONE"])).status_code == 404


def wrench(by: Who, due_after: int = 10) -> Gauge:
    made = take_in_gauge(gauge=NewGauge("G-W", "torque_wrench", "wrench", "ft-lb", Decimal(1)), by=by)
    today = shop_day(timezone.now())
    first = Calibrated(today - timedelta(days=9), today + timedelta(days=300), "LAB-W", due_after=due_after)
    calibrate(gauge=made, calibrated=first, by=by)
    return made


def test_uses_are_told_on_the_page_and_the_shelf_and_warned_of_before_the_end(calla: Who, client: Client) -> None:
    """Ten uses: from the ninth on it is due soon, at the tenth it is overdue."""
    wrench(calla)
    path, uses = reverse("gauge", args=["G-W"]), reverse("gauge_uses", args=["G-W"])
    for more, told, state in (
        (8, "8 of 10 uses", "valid"),
        (1, "9 of 10 uses", "due soon"),
        (1, "10 of 10", "overdue"),
    ):
        assert client.post(uses, with_key(uses=str(more), what_for="trial bolts")).status_code == 303
        page, list_ = client.get(path).content.decode(), client.get(reverse("gauges")).content.decode()
        assert told in page
        assert told in list_
        assert [row.state for row in shelf(timezone.now())] == [state]
    assert "It may not be used" in page
    assert "10,10" in client.get(f"{reverse('gauges')}?as=csv").content.decode()


@pytest.mark.parametrize("typed", ["", "0", "-1", "1,5", "x", "1.5", "99999999999999999999"])
def test_uses_that_are_no_number_are_refused_and_stay_typed(calla: Who, client: Client, typed: str) -> None:
    wrench(calla)
    path = reverse("gauge_uses", args=["G-W"])
    answer = client.post(path, with_key(uses=typed, what_for="trial bolts"))
    assert answer.status_code == 422
    assert 'value="trial bolts"' in answer.content.decode()
    assert not GaugeUse.objects.exists()
    again = with_key(uses="1", what_for="trial bolts")
    assert [client.post(path, again).status_code for _ in range(2)] == [303, 303]
    assert GaugeUse.objects.count() == 1, "two presses are one"


def test_a_recall_stands_on_the_page_and_one_press_away_is_what_it_was_used_for(calla: Who, client: Client) -> None:
    wrench(calla)
    path = reverse("gauge_recall", args=["G-W"])
    assert client.post(path, with_key(reason=" ")).status_code == 422
    assert client.post(path, with_key(reason="dropped")).status_code == 303
    page = client.get(reverse("gauge", args=["G-W"])).content.decode()
    assert "by Calla" in page
    assert "dropped." in page
    since = (shop_day(timezone.now()) - timedelta(days=9)).isoformat()
    assert f"cause=G-W&amp;day_from={since}" in page
    assert client.get(reverse("reach"), {"cause": "G-W", "day_from": since}).status_code == 200
    assert [row.state for row in shelf(timezone.now())] == ["recalled"]
    assert client.post(path, with_key(reason="again")).status_code == 422
    assert GaugeRecall.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("due_after", "0"), ("due_after", "-5"), ("due_after", "5,000"), ("due_after", "many"),
        ("as_found", "0,0006"), ("as_found", "x"), ("as_found", "1e20"), ("as_found", "100"),
        ("error_in", "furlongs"), ("due_on", ""), ("certificate", " "),
    ],
)  # fmt: skip
def test_a_calibration_with_a_wrong_field(calla: Who, client: Client, today: date, field: str, typed: str) -> None:
    made = wrench(calla)
    due = (today + timedelta(days=365)).isoformat()
    fields = {"made_on": today.isoformat(), "due_on": due, "due_after": "5000", "certificate": "LAB-77",
              "error_in": "percent", "as_found": "4", "as_left": "0"}  # fmt: skip
    path = reverse("gauge_calibrate", args=["G-W"])
    answer = client.post(path, with_key(**fields | {field: typed}))
    assert answer.status_code == 422
    assert 'value="5000"' in answer.content.decode() or field == "due_after"
    assert made.calibrations.count() == 1
    assert client.post(path, with_key(**fields)).status_code == 303
    newest = made.calibrations.latest("pk")
    assert (newest.as_found, newest.in_percent, newest.due_after) == (Decimal(4), True, 5000)
    page = client.get(reverse("gauge", args=["G-W"])).content.decode()
    assert "4 %" in page
    assert "or 5000 uses" in page
