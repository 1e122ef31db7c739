"""A look-back finds a unit that went out of, and one that came into, an axle after its record was closed: what was done
on the one stands in that record, what was done on the other stands under no axle."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from builds.actions.exchanging import Swap
from builds.actions.joining import Spot, own_unit
from builds.actions.looking_back import look_back
from builds.models import LookBackAxle, RedTag, Unit, Visit
from builds.reports import lookback
from builds.reports.in_axles import came_into
from builds.reports.lapses import Lapsed, by_axle, by_unit
from builds.reports.lookback import Again, axles_touched, changed_on, judged_again
from builds.reports.lookback_units import units_touched
from measurements.actions.gauges import Calibrated, calibrate
from measurements.models import Calibration, Reading
from shop.clock import shop_day
from tests.builds.returns.test_exchange import Field, field_of
from tests.shopfloor import THIRD

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def field(once_per_module: None) -> Field:
    return field_of(THIRD)


@pytest.fixture
def old(field: Field) -> Unit:
    """The left stub as the axle left; the spare one is in its place since."""
    unit = own_unit(Spot(field.axle, "left"), "stub")
    field.swap(Swap(unit, field.stub.item.mark, "quarantine"))
    return unit


def found_off(field: Field) -> Calibration:
    """The micrometer of 17.1 read a whole millimetre too much: every diameter is out in truth."""
    reading = Reading.objects.filter(item=field.stub.item, characteristic__code="17.1")[0]
    day = shop_day(field.floor.now) + timedelta(days=3)
    new = Calibrated(day, day + timedelta(days=365), "LAB-2", Decimal(1), Decimal(0))
    assert reading.gauge is not None
    return calibrate(gauge=reading.gauge, calibrated=new, by=field.floor.who("wenzel"))


def of(rows: list[Again], unit: Unit) -> set[int]:
    """What counts and is judged otherwise now, read on this unit."""
    return {row.reading.pk for row in rows if row.reading.item_id == unit.item_id and row.counts and row.changed}


def test_both_are_found_where_they_are(field: Field, old: Unit) -> None:
    rows = judged_again(found_off(field))
    assert of(rows, field.stub)
    assert of(axles_touched(rows)[field.axle], field.stub) == of(rows, field.stub)
    assert of(changed_on(rows, field.axle), field.stub) == of(rows, field.stub)
    assert [unit.pk for unit in units_touched(rows)] == [old.pk]


def test_the_one_in_the_house_is_stopped_and_the_axle_out_there_is_decided_about(field: Field, old: Unit) -> None:
    look_back(found=found_off(field), by=field.floor.who("wenzel"))
    tags = RedTag.objects.open().filter(item__kind="unit")
    assert {(tag.item, tag.axle) for tag in tags} == {(old.item, None)}
    assert LookBackAxle.objects.get(axle=field.axle).tag is None


def test_control_by_the_passes_alone_the_new_one_is_missed(
    field: Field, old: Unit, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fault as it was: who decides about the axle never saw what was read on the stub that is in it."""
    rows = judged_again(found_off(field))
    monkeypatch.setattr(lookback, "axles_holding", lambda items: {})
    monkeypatch.setattr(lookback, "came_into", lambda axle: came_into(axle).none())
    assert not of(axles_touched(rows).get(field.axle, []), field.stub)
    assert not of(changed_on(rows, field.axle), field.stub)


def test_a_lapse_finds_both_too(field: Field, old: Unit) -> None:
    visits = Visit.objects.select_related("item__unit", "axle__item", "operation")
    rows = [
        Lapsed(visits.get(item=unit.item, operation__number=37), date(2026, 1, 5), "did the work", "lapsed.")
        for unit in (old, field.stub)
    ]
    assert {axle: len(own) for axle, own in by_axle(rows).items()} == {field.axle: 2}
    assert [unit.pk for unit in by_unit(rows)] == [old.pk]
