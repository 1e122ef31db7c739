"""The floor view: lateness by the shop's day, flow figures worked by hand, CSV, polling and its queries."""

from __future__ import annotations

import csv
import math
import random
from datetime import UTC, datetime, time, timedelta
from fractions import Fraction
from io import StringIO

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.adding import void_reading, withdraw_signature
from builds.actions.tagging import tag_axle
from builds.models import Axle, Operation, Span, Visit, VisitState
from builds.reports.floor import floor_rows
from builds.reports.flow import first_time_right, flow
from measurements.models import OUT
from shop.clock import shop_zone
from shop.models import Customer
from tests.factories import signed_in_client
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
#: Twelve for the report; the rest says who is asking.
MOST_QUERIES = 15


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture
def dovie(floor: Floor) -> Client:
    return signed_in_client(floor.people["dovie"])


def rows_of(client: Client, name: str, **asked: str) -> list[list[str]]:
    return list(csv.reader(StringIO(client.get(reverse(name), {"as": "csv", **asked}).content.decode())))


def passed(floor: Floor, axle: Axle, number: int, begun: datetime, touch: int, elapsed: int) -> Visit:
    """A pass that was done, with one stretch of touch time: minutes."""
    operation = Operation.objects.get(revision=axle.revision, number=number)
    tam = floor.people["tam"]
    visit = Visit.objects.create(
        item=axle.item,
        axle=axle,
        operation=operation,
        claimed_by=tam,
        claimed_at=begun,
        state=VisitState.DONE,
        done_at=begun + timedelta(minutes=elapsed),
    )
    Span.objects.create(visit=visit, person=tam, begun_at=begun, ended_at=begun + timedelta(minutes=touch))
    return visit


def test_an_axle_is_late_from_the_shops_midnight_after_its_promise(floor: Floor) -> None:
    axle = floor.axle()
    promised = axle.line.promised_to
    end = datetime.combine(promised + timedelta(days=1), time(), shop_zone()).astimezone(UTC)

    def late(now: datetime) -> bool:
        return next(row.late for row in floor_rows(now) if row.axle.pk == axle.pk)

    assert not late(end - timedelta(minutes=1))
    assert late(end)


def test_times_by_station_are_worked_by_hand(floor: Floor) -> None:
    """Touch 10, 20, 60 and elapsed 10, 20, 120 minutes: the median is the second, 85 % the third (nearest rank)."""
    axles, now = floor.axles(3), datetime.now(UTC)
    for axle, touch, elapsed in zip(axles, (10, 20, 60), (10, 20, 120), strict=True):
        passed(floor, axle, 200, now - timedelta(hours=3), touch, elapsed)
    code = Operation.objects.get(revision=floor.revision, number=200).station.code
    found = next(row for row in flow(now).stations if row.code == code)
    assert (found.count, found.touch, found.elapsed) == (3, (20.0, 60.0), (20.0, 120.0))


def test_quantiles_are_by_nearest_rank(floor: Floor) -> None:
    """Worked by hand: of the minutes 1 to 10 the median is the fifth and 85 % the ninth; of one value it is both; and
    what nobody did is no row. A pass that nobody was at has no touch time."""
    axles, now = floor.axles(10), datetime.now(UTC)
    for minutes, axle in enumerate(axles, 1):
        passed(floor, axle, 200, now - timedelta(hours=3), minutes, minutes)
    Span.objects.filter(visit=passed(floor, axles[0], 10, now - timedelta(hours=3), 2, 7)).delete()
    codes = [Operation.objects.get(revision=floor.revision, number=number).station.code for number in (200, 10)]
    found = {row.code: row for row in flow(now).stations}
    assert set(found) == set(codes)
    assert (found[codes[0]].touch, found[codes[0]].elapsed) == ((5.0, 9.0), (5.0, 9.0))
    assert (found[codes[1]].count, found[codes[1]].touch, found[codes[1]].elapsed) == (1, (0.0, 0.0), (7.0, 7.0))


def test_figures_of_many_passes_are_those_of_a_walk_over_them(floor: Floor) -> None:
    """Beside every pass read and ranked one by one, for random minutes (seed 7) on three stations."""
    chance, now = random.Random(7), datetime.now(UTC)
    for axle in floor.axles(12):
        for number in (10, 200, 210):
            elapsed = chance.randrange(5, 900)
            begun = now - timedelta(minutes=chance.randrange(1000, 100_000))
            passed(floor, axle, number, begun, chance.randrange(1, elapsed), elapsed)
    walked: dict[str, list[Visit]] = {}
    for visit in Visit.objects.filter(state=VisitState.DONE).select_related("operation__station"):
        walked.setdefault(visit.operation.station.code, []).append(visit)
    found = {row.code: row for row in flow(now).stations}
    assert found.keys() == walked.keys()
    for code, visits in walked.items():
        elapsed = sorted((visit.done_at - visit.claimed_at).total_seconds() / 60 for visit in visits if visit.done_at)
        touch = sorted(
            sum((span.ended_at - span.begun_at).total_seconds() / 60 for span in visit.spans.all() if span.ended_at)
            for visit in visits
        )
        for values, told in ((touch, found[code].touch), (elapsed, found[code].elapsed)):
            ranks = (math.ceil(Fraction(share, 100) * len(values)) - 1 for share in (50, 85))
            assert told == pytest.approx(tuple(values[rank] for rank in ranks), abs=1e-4)
    assert sum(count for _, count in flow(now).weeks) == sum(map(len, walked.values()))


def test_a_pass_counts_in_the_week_of_the_shop_in_which_it_was_done(floor: Floor) -> None:
    """Monday 00:00 in the shop begins a week; a minute before is the week before."""
    axle = floor.axle()
    now = datetime(2026, 3, 4, 18, tzinfo=UTC)
    monday = datetime(2026, 3, 2, tzinfo=shop_zone()).astimezone(UTC)
    passed(floor, axle, 10, monday - timedelta(minutes=31), 5, 30)
    passed(floor, axle, 200, monday - timedelta(minutes=30), 5, 30)
    passed(floor, axle, 210, monday - timedelta(weeks=11, minutes=31), 5, 30)
    weeks = flow(now).weeks
    assert [day.isoformat() for day, _ in weeks[-2:]] == ["2026-02-23", "2026-03-02"]
    assert [count for _, count in weeks] == [0] * 10 + [1, 1]


def test_first_time_right_counts_first_passes_without_anything_out_or_sent_back(floor: Floor) -> None:
    """A value out of limit that its own reader calls void is still a try; called void by who decides, it never was."""
    now = floor.now
    for name in ("good", "out", "void by its reader", "void by wenzel", "sent back", "in hand"):
        builder = floor.builder(floor.axle())
        builder.now = now + timedelta(minutes=5)
        builder.kit()
        builder.run(until=50)
        visit = builder.begin("50/left")
        if name == "out" or name.startswith("void"):
            reading = builder.enter_code(visit, "50.3", "3.0700")[0].reading
            assert reading.verdict in [str(word) for word in OUT]
            if name != "out":
                by = floor.who("wenzel") if name == "void by wenzel" else floor.who(str(visit.claimed_by.code), "TP")
                void_reading(reading=reading, reason="of another tube", by=by, now=builder.now)
        if name == "sent back":
            Visit.objects.filter(pk=visit.pk).update(state=VisitState.WAIT_SIGN)
            withdraw_signature(visit=visit, reason="burr left", by=floor.who("calla"), now=builder.now)
        elif name != "in hand":
            Visit.objects.filter(pk=visit.pk).update(state=VisitState.DONE, done_at=builder.now)
        now = builder.now
    found = next(row for row in first_time_right(datetime.now(UTC)) if row.number == 50)
    assert (found.count, found.right, found.share) == (5, 2, 40)


def test_a_text_that_would_be_a_formula_is_neutralised_and_others_are_not(floor: Floor, dovie: Client) -> None:
    axle = floor.axle()
    customer = axle.line.order.customer
    for name, shown in (("=1+1", "'=1+1"), ("Lost Ridge", "Lost Ridge")):
        Customer.objects.filter(pk=customer.pk).update(name=name)
        line = next(row for row in rows_of(dovie, "floor") if row[0] == axle.serial)
        assert line[6] == shown
    assert line[8] == "0"


def test_the_list_of_one_station_is_the_csv_of_that_station(floor: Floor, dovie: Client) -> None:
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=20)
    builder.begin("200/")
    station = next(found.station for found in floor.revision.card.operations if found.number == 200)
    floor.axle()
    rows = rows_of(dovie, "floor", station=station)
    assert builder.axle.serial in {row[0] for row in rows[1:]}
    assert {row[3] for row in rows[1:]} == {station}
    assert len(rows) < len(rows_of(dovie, "floor"))
    page = dovie.get(reverse("floor"), {"station": station}).content.decode()
    assert f"?as=csv&amp;station={station}" in page


def test_polling_answers_204_until_something_changed(floor: Floor, dovie: Client) -> None:
    axle = floor.axle()
    stamp = dovie.get(reverse("floor")).context["stamp"]
    poll = {"HTTP_HX_REQUEST": "true"}
    assert dovie.get(reverse("floor"), {"stamp": stamp}, **poll).status_code == 204  # type: ignore[arg-type]
    tag_axle(axle=axle, cause="dropped", by=floor.who("calla"))
    assert dovie.get(reverse("floor"), {"stamp": stamp}, **poll).status_code == 200  # type: ignore[arg-type]


def test_the_floor_takes_few_queries(floor: Floor, dovie: Client) -> None:
    counts = []
    for _ in range(2):
        floor.axles(5)
        dovie.get(reverse("floor"))
        with CaptureQueriesContext(connection) as caught:
            assert dovie.get(reverse("floor")).status_code == 200
        counts.append(len(caught))
    assert counts[0] == counts[1] <= MOST_QUERIES
