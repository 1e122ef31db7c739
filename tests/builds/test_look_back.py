"""A gauge found off: exactly what it read is judged again, nothing is overwritten, and each axle gets its decision.

The figures are those of the scenario's story (d): a bore gauge that reads .0006 high, bores of 3.0625 to 3.0637.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.closing import close_axle
from builds.actions.deciding import Agreement, Decided, decide
from builds.actions.looking_back import classes_of, look_back, settle
from builds.actions.settling import Settled, settlers
from builds.errors import MovedOn, NotYours
from builds.models import Closing, JudgedAgain, LookBack, LookBackAxle, LookBackDecision, RedTag
from builds.reports.lookback import Again, axles_touched, changed_on, judged_again, kept, last_good, opened_by
from builds.reports.recomputing import worked_out_again
from builds.scenario.driver import Builder
from measurements.actions.gauges import Calibrated, calibrate
from measurements.models import Calibration, Gauge, Reading, ReadingInput, VerdictWord
from shop.actions.signing import Grant
from shop.clock import shop_day
from shop.errors import Refusal
from shop.http import new_submission
from tests.factories import signed_in_client
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
HIGH = Decimal("0.0006")
AGREED = Agreement("A. Buyer", date(2026, 1, 5), "letter")


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def low(floor: Floor) -> Builder:
    """Bores read as 3.0629 on both sides with G-014: 3.0623 in truth, below 3.0625. Pilots 3.0650."""
    return _bored(floor, "3.0629")


@pytest.fixture(scope="module")
def edge(floor: Floor, low: Builder) -> Builder:
    """Read as 3.0631: 3.0625 in truth, which is in, for limits are inclusive."""
    return _bored(floor, "3.0631")


@pytest.fixture(scope="module")
def other(floor: Floor, edge: Builder) -> Builder:
    """The same figures as the low one, read with another gauge of the kind."""
    return _bored(floor, "3.0629", gauge="G-017")


def _bored(floor: Floor, bore: str, gauge: str = "G-014") -> Builder:
    builder = floor.builder(floor.axle(), c50_3=bore, c50_6="3.0650")
    with floor.shop.using(c50_3=gauge):
        builder.kit()
        builder.run(until=60)
    return builder


@pytest.fixture(scope="module")
def gone(floor: Floor, other: Builder) -> Builder:
    """Bored as the low one, built to its end and closed before the gauge was found out."""
    builder = floor.builder(floor.axle(), c50_3="3.0629", c50_6="3.0650")
    with floor.shop.using(c50_3="G-014"):
        builder.kit()
        builder.run()
    builder.now += timedelta(hours=1)
    close_axle(axle=builder.axle, by=floor.who("calla"), now=builder.now)
    return builder


@pytest.fixture(scope="module")
def found(floor: Floor, low: Builder, edge: Builder, other: Builder, gone: Builder) -> Calibration:
    """The calibration that finds the error, a day after the last of them."""
    return _calibrated(floor, HIGH, after=max(low.now, edge.now, other.now, gone.now) + timedelta(days=1))


def _calibrated(floor: Floor, error: Decimal | None, *, after: datetime, mark: str = "G-014") -> Calibration:
    gauge = Gauge.objects.select_related("item").get(item__mark=mark)
    day = shop_day(after)
    made = Calibrated(day, day + timedelta(days=365), "LAB-2", error, Decimal(0))
    return calibrate(gauge=gauge, calibrated=made, by=floor.who("wenzel"), now=after)


def _of(rows: list[Again], builder: Builder, code: str) -> list[Again]:
    return [
        row
        for row in rows
        if row.reading.characteristic.code == code and builder.axle in [visit.axle for visit in row.visits]
    ]


def test_exactly_the_readings_of_this_gauge_since_the_last_good_day(found: Calibration, other: Builder) -> None:
    rows = judged_again(found)
    direct = {row.reading.pk for row in rows if row.reading.gauge_id == found.gauge_id}
    good = last_good(found)
    assert good is not None
    assert good.made_on < found.made_on
    assert direct == set(Reading.objects.filter(gauge=found.gauge).values_list("pk", flat=True))
    assert len(direct) == 12
    assert _of(rows, other, "50.3") == []


def test_a_reading_under_the_new_calibration_is_not_touched(floor: Floor, found: Calibration, low: Builder) -> None:
    before = {row.reading.pk for row in judged_again(found)}
    builder = floor.builder(floor.axle(), c50_3="3.0629", c50_6="3.0650")
    builder.now = datetime.combine(found.made_on, time(12), UTC) + timedelta(days=1)
    with floor.shop.using(c50_3="G-014"):
        builder.kit()
        builder.run(until=60)
    assert Reading.objects.filter(gauge=found.gauge).count() == 16
    assert {row.reading.pk for row in judged_again(found)} == before


def test_the_corrected_figure_is_judged_at_the_edge(found: Calibration, low: Builder, edge: Builder) -> None:
    rows = judged_again(found)
    told = {(row.value, row.verdict, row.changed) for row in _of(rows, low, "50.3")}
    assert told == {(Fraction("3.0623"), VerdictWord.BELOW, True)}
    told = {(row.value, row.verdict, row.changed) for row in _of(rows, edge, "50.3")}
    assert told == {(Fraction("3.0625"), VerdictWord.IN, False)}


def test_what_was_computed_from_it_is_computed_again(found: Calibration, low: Builder) -> None:
    """Pilots 3.0650 on bores of 3.0623: .0027, inside .0010 to .0029. Out-of-round stays what it was."""
    rows = judged_again(found)
    fits = _of(rows, low, "50.7")
    assert {(row.reading.value, row.value, row.changed) for row in fits} == {
        (Decimal("0.0021"), Fraction("0.0027"), False)
    }
    assert {row.value for row in _of(rows, low, "50.4")} == {Fraction(0)}


def test_with_no_error_every_computed_value_is_what_was_stored(low: Builder) -> None:
    """The control of working out again: every computed reading of a bored axle comes out as it was written."""
    checked = 0
    for computed in (
        Reading.objects.filter(inputs__isnull=False).distinct().select_related("characteristic", "item__unit")
    ):
        edges = ReadingInput.objects.filter(computed=computed).select_related(
            "source__characteristic", "source__item__unit"
        )
        asked = low.axle.revision.card.characteristic(computed.characteristic.code)
        value = worked_out_again(computed, asked, [edge.source for edge in edges], {})
        assert value is not None
        assert computed.value is not None
        assert abs(value - Fraction(computed.value)) < Fraction(1, 10**9)
        checked += 1
    assert checked >= 8


def test_no_error_and_no_earlier_calibration_give_nothing(floor: Floor, low: Builder, gone: Builder) -> None:
    first = Calibration.objects.filter(gauge__item__mark="G-014").order_by("pk")[0]
    assert judged_again(first) == []
    clean = _calibrated(floor, Decimal(0), after=gone.now + timedelta(days=9), mark="G-017")
    assert judged_again(clean) == []
    with pytest.raises(Refusal, match="found no error"):
        look_back(found=clean, by=floor.who("wenzel"), now=gone.now + timedelta(days=9))


def test_a_setting_ring_found_larger_makes_the_bore_larger(
    floor: Floor, low: Builder, other: Builder, gone: Builder
) -> None:
    ring = Reading.objects.filter(characteristic__code="50.3").exclude(ring=None)[0].ring
    assert ring is not None
    found = _calibrated(floor, Decimal("0.0002"), after=gone.now + timedelta(days=2), mark=ring.item.mark)
    values = {row.value for row in judged_again(found) if row.reading.characteristic.code == "50.3"}
    assert values == {Fraction("3.0631"), Fraction("3.0633")}


def test_putting_it_on_record_overwrites_nothing_and_stops_what_is_here(
    floor: Floor, found: Calibration, low: Builder, edge: Builder, gone: Builder
) -> None:
    before = list(Reading.objects.order_by("pk").values())
    made = look_back(found=found, by=floor.who("wenzel"), now=gone.now + timedelta(days=2))
    assert list(Reading.objects.order_by("pk").values()) == before
    kept = JudgedAgain.objects.filter(look_back=made)
    assert kept.count() == len(judged_again(found))
    assert {row.axle for row in made.axles.all()} == {low.axle, gone.axle}
    tags = RedTag.objects.filter(axle=low.axle).order_by("number")
    assert [(tag.stops_axle, tag.reading.characteristic.code) for tag in tags if tag.reading] == [(True, "50.3")] * 4
    assert tags[0].cause == (
        "Gauge G-014 was found off by 0.0006 in: 50.3 Spindle bore, A was read 3.0629 and is 3.0623, below the limit."
    )
    assert list(opened_by(made)) == list(tags)
    assert not RedTag.objects.filter(axle=edge.axle).exists()
    with pytest.raises(MovedOn):
        look_back(found=found, by=floor.who("wenzel"), now=gone.now + timedelta(days=2))
    with pytest.raises(IntegrityError), transaction.atomic():
        JudgedAgain.objects.filter(look_back=made).update(verdict="in")


def test_only_keepers_of_gauges_look_back(floor: Floor, found: Calibration, low: Builder, gone: Builder) -> None:
    with pytest.raises(Refusal):
        look_back(found=found, by=floor.who("rusk"), now=gone.now + timedelta(days=2))
    assert not LookBack.objects.exists()


def test_an_axle_that_is_here_is_decided_by_its_tag(
    floor: Floor, found: Calibration, low: Builder, gone: Builder
) -> None:
    made = look_back(found=found, by=floor.who("wenzel"), now=gone.now + timedelta(days=2))
    with pytest.raises(Refusal, match="Decide there"):
        _settle(floor, made.axles.get(axle=low.axle), "wenzel", Settled("as_is", "fits", AGREED))


@pytest.fixture
def row(floor: Floor, found: Calibration, gone: Builder) -> LookBackAxle:
    """The closed axle's line of the look-back."""
    made = look_back(found=found, by=floor.who("wenzel"), now=gone.now + timedelta(days=2))
    return made.axles.get(axle=gone.axle)


def _settle(floor: Floor, row: LookBackAxle, code: str, settled: Settled) -> LookBackDecision:
    by, at = floor.who(code), row.look_back.at + timedelta(minutes=1)
    grant = Grant(floor.people[code], None, "released", at + timedelta(minutes=1))
    settle(row=row, settled=settled, grant=grant, by=by, now=at)
    return LookBackDecision.objects.get(axle=row)


def _agreed(row: LookBackAxle) -> Agreement:
    """On the day on which the gauge was found off: before that nobody knew of it."""
    return replace(AGREED, on=row.look_back.found.made_on)


def test_a_closed_axle_is_not_stopped_and_gets_its_own_decision(floor: Floor, row: LookBackAxle) -> None:
    assert row.tag is None
    assert not RedTag.objects.filter(axle=row.axle).exists()
    as_is = Settled("as_is", "The fit is .0027, inside .0010 to .0029.")
    with pytest.raises(Refusal, match="customer's agreement"):
        _settle(floor, row, "wenzel", as_is)
    with pytest.raises(NotYours, match="decided by engineer; Calla"):
        _settle(floor, row, "calla", replace(as_is, agreement=_agreed(row)))
    late = replace(AGREED, on=date(2199, 1, 1))
    with pytest.raises(Refusal, match="still to come"):
        _settle(floor, row, "wenzel", replace(as_is, agreement=late))
    with pytest.raises(Refusal, match="reason is empty"):
        _settle(floor, row, "wenzel", Settled("as_is", " ", AGREED))
    with pytest.raises(Refusal, match="what becomes of it"):
        _settle(floor, row, "wenzel", Settled("", "fits", AGREED))
    early = replace(AGREED, on=row.look_back.found.made_on - timedelta(days=1))
    with pytest.raises(Refusal, match="nobody can have agreed to it"):
        _settle(floor, row, "wenzel", replace(as_is, agreement=early))
    made = _settle(floor, row, "wenzel", replace(as_is, agreement=_agreed(row)))
    assert (made.outcome, made.agreed_by, made.signature.person.code) == ("as_is", "A. Buyer", "wenzel")
    with pytest.raises(MovedOn):
        _settle(floor, row, "wenzel", Settled("stop", "after all"))


def test_the_public_check_says_that_there_is_more_and_not_what(floor: Floor, row: LookBackAxle) -> None:
    """Nothing before somebody has decided: until then it is the shop's own, on the customer's page too."""

    def checked() -> str:
        given = {"serial": row.axle.serial, "fingerprint": Closing.objects.get(axle=row.axle).sha256}
        return " ".join(Client().post(reverse("verify"), given).content.decode().split())

    assert "There is more since then" not in checked()
    _settle(floor, row, "wenzel", Settled("stop", "The bores are to be measured here."))
    page = checked()
    assert "Since then what was recorded of it was looked at again." in page
    assert "take the axle out of use until a competent person has looked at it" in page
    assert [said for said in ("G-014", "3.0623", "are to be measured here") if said in page] == []
    assert [person.name for person in floor.people.values() if person.name in page] == []


def test_a_concession_for_an_axle_that_is_here_says_the_value_put_right(
    floor: Floor, found: Calibration, low: Builder, gone: Builder
) -> None:
    at = gone.now + timedelta(days=2)
    made = look_back(found=found, by=floor.who("wenzel"), now=at)
    tag = made.axles.get(axle=low.axle).tag
    assert tag is not None
    assert tag.reading is not None
    grant = Grant(floor.people["wenzel"], None, "released", at + timedelta(minutes=1))
    early = replace(AGREED, on=found.made_on - timedelta(days=1))
    too_soon = Decided("use_as_is", "The fit is .0027.", agreement=early)
    with pytest.raises(Refusal, match="nobody can have agreed to it"):
        decide(tag=tag, decided=too_soon, grant=grant, by=floor.who("wenzel"), now=at)
    as_is = Decided("use_as_is", "The fit is .0027.", agreement=replace(AGREED, on=found.made_on))
    grant = Grant(floor.people["wenzel"], None, "released", at + timedelta(minutes=1))
    decided = decide(tag=tag, decided=as_is, grant=grant, by=floor.who("wenzel"), now=at)
    assert (tag.reading.value, decided.concession.value) == (Decimal("3.0629"), Decimal("3.0623"))
    other = RedTag.objects.filter(axle=low.axle).exclude(pk=tag.pk)
    assert other.filter(disposition=None).count() == 3


def test_who_may_decide_does_not_depend_on_what_happens_later(row: LookBackAxle) -> None:
    """Also when the pass is opened again or the reading replaced since: the gravest class stays."""
    rows = [replace(again, replaced=True) for again in kept(row.look_back)]
    assert axles_touched(rows) == {}
    assert classes_of(changed_on(rows, row.axle)) == {"S"}
    assert settlers({"S", "L"}) == ("engineer",)


def test_twice_the_same_axle_is_listed_once(found: Calibration, low: Builder, gone: Builder) -> None:
    touched = axles_touched(judged_again(found))
    assert [axle.serial for axle in touched] == sorted([low.axle.serial, gone.axle.serial])
    assert len(touched[low.axle]) == 4


def test_a_voided_or_replaced_reading_stops_nothing(found: Calibration, low: Builder) -> None:
    rows = [replace(row, replaced=True) for row in judged_again(found)]
    assert any(row.changed for row in rows)
    assert axles_touched(rows) == {}


def test_the_page_shows_both_sides_and_puts_it_on_record(floor: Floor, found: Calibration, low: Builder) -> None:
    inspector = signed_in_client(floor.people["wenzel"])
    path = reverse("look_back", args=[found.pk])
    shown = inspector.get(path).content.decode()
    assert "It reads 0.0006 in too high" in shown
    assert "3.0623" in shown
    assert "below the limit" in shown
    assert not LookBack.objects.exists()
    assert inspector.get(f"{path}?as=csv").content.decode().count("below the limit") == 8
    answer = inspector.post(path, {"submission": new_submission()})
    assert (answer.status_code, LookBack.objects.count()) == (303, 1)
    row = LookBackAxle.objects.get(axle=low.axle)
    assert row.tag is not None
    assert f"Red tag {row.tag.number}" in inspector.get(path).content.decode()
    assert "It is decided there" in inspector.get(reverse("look_back_axle", args=[row.pk])).content.decode()


def test_a_calibration_without_an_error_has_no_page(floor: Floor, low: Builder) -> None:
    first = Calibration.objects.filter(gauge__item__mark="G-014").order_by("pk")[0]
    inspector = signed_in_client(floor.people["wenzel"])
    assert inspector.get(reverse("look_back", args=[first.pk])).status_code == 404


def test_the_number_of_queries_does_not_grow(floor: Floor, found: Calibration, low: Builder, edge: Builder) -> None:
    def counted(made: list[object]) -> int:
        with CaptureQueriesContext(connection) as told:
            made += judged_again(found)
        return len(told)

    few: list[object] = []
    one = counted(few)
    builder = floor.builder(floor.axle(), c50_3="3.0629", c50_6="3.0650")
    with floor.shop.using(c50_3="G-014"):
        builder.kit()
        builder.run(until=60)
    many: list[object] = []
    assert (counted(many), len(many) > len(few)) == (one, True)
