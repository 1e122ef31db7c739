"""The ranking over what is kept of each axle: the same as over sets of axles, and never behind the record."""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.actions import exposing
from builds.actions.exposing import LOOK_THROUGH, keep_up, look_through
from builds.models import Axle, Exposed, Returned, SharedValue, Shipment
from builds.reports.returns.exposure import Value, exposure
from builds.reports.returns.kept import not_kept, rules_now
from builds.reports.returns.shared import Row, Shared, shared, shared_list
from measurements.statistics.stratified import within
from measurements.statistics.suspects import Counts, rank
from shop.models import Item, Role, Shift
from shop.record import jobs
from shop.record.models import Head, Job, Signature
from tests import factories
from tests.builds.reach.brute import afresh
from tests.builds.reach.world import World, small
from tests.factories import signed_in_client

pytestmark = pytest.mark.django_db
BACK = 3


def shop(seed: int, axles: int = 6) -> World:
    """Every axle but the last has left, and some of them came back."""
    afresh()
    world = small(seed, axles)
    for number, item in enumerate(world.axles):
        if number < axles - 1:
            ship(world, item)
        if number < BACK:
            Returned.objects.create(
                number=number + 1, axle_id=item.pk, words="noise", came_on=world.day(90), person=world.people[0],
                at=world.day(90),
            )  # fmt: skip
    return world


def ship(world: World, item: Item) -> None:
    person, at = world.people[0], world.day(60)
    signature = Signature.objects.create(person=person, meaning="released", at=at)
    Shipment.objects.create(
        axle_id=item.pk, consignee="C", address="A", carrier="B", signature=signature, shipped_at=at
    )


def by_sets(alike: Value | None = None) -> dict[Value, tuple[object, ...]]:
    """What is said of each value, reckoned with the set of axles of every value, as one would write it down."""
    built = frozenset(Shipment.objects.values_list("axle", flat=True))
    failed = frozenset(Returned.objects.values_list("axle", flat=True))
    every = exposure(sorted(built))
    held = {value: those for value, those in every.items() if those & failed}
    counts = [Counts(len(those & failed), len(those), len(failed), len(built)) for those in held.values()]
    groups: dict[frozenset[int], set[Value]] = defaultdict(set)
    for value, those in held.items():
        groups[those].add(value)
    told: dict[Value, tuple[object, ...]] = {}
    values = list(held)
    for one in rank(counts, len(every)):
        value = values[one.place]
        those = held[value]
        strata = [
            Counts(len(those & failed & part), len(those & part), len(failed & part), len(part))
            for part in (held[alike], built - held[alike])
        ] if alike is not None and those != held[alike] else None  # fmt: skip
        told[value] = (
            one.counts, one.p, one.adjusted, one.least_p, one.risk, frozenset(groups[those]), len(every),
            within(strata) if strata is not None else None,
        )  # fmt: skip
    return told


def told(found: Shared) -> dict[Value, tuple[object, ...]]:
    def of(row: Row) -> tuple[object, ...]:
        one = row.suspect
        return (
            one.counts,
            one.p,
            one.adjusted,
            one.least_p,
            one.risk,
            frozenset(row.values),
            found.looked_at,
            row.beside,
        )

    return {value: of(row) for row in found.rows for value in row.values}


@pytest.mark.parametrize("seed", range(4))
def test_it_is_the_ranking_over_sets_whatever_is_kept(seed: int) -> None:
    world = shop(seed)
    wanted = by_sets()
    assert len(wanted) > 10
    assert told(shared()) == wanted  # nothing is kept yet
    rules = rules_now()
    waiting = not_kept(rules)
    assert {axle for axle, _ in waiting} == {item.pk for item in world.axles[:-1]}
    look_through(waiting[::2], rules)
    assert told(shared()) == wanted
    look_through(not_kept(rules), rules)
    assert not_kept(rules) == []
    found = shared()
    assert told(found) == wanted
    for value in [row.values[0] for row in found.rows][:6]:
        assert told(shared(alike=value.key)) == by_sets(value)


def test_what_is_kept_is_what_is_ranked() -> None:
    """The control: with a wrong row kept the ranking is another, so it does read what is kept."""
    shop(1)
    keep_up()
    before = told(shared())
    came_back = Returned.objects.values("axle")
    assert Exposed.objects.exclude(axle__in=came_back).update(numbers=b"") > 0
    assert told(shared()) != before
    Exposed.objects.update(rules="other")
    assert told(shared()) == before


def test_an_axle_whose_record_moved_on_is_looked_through_anew() -> None:
    world = shop(2)
    rules = rules_now()
    look_through(not_kept(rules), rules)
    axle = Axle.objects.get(pk=world.axles[4].pk)
    Head.objects.create(subject=axle.subject, sequence=1, hash=bytes(32))
    assert not_kept(rules) == [(axle.pk, 1)]
    assert keep_up() == 0
    assert not_kept(rules) == []
    Shift.objects.create(name="fourth", starts="03:00", ends="04:00")
    assert len(not_kept(rules_now())) == len(world.axles) - 1


def test_a_unit_that_was_taken_out_speaks_for_its_axle_too() -> None:
    world = shop(0)
    rules = rules_now()
    look_through(not_kept(rules), rules)
    axle, unit = next(pair for pair in _parted() if pair[0] in {item.pk for item in world.axles[:-1]})
    Head.objects.create(subject=Item.objects.get(pk=unit).subject, sequence=2, hash=bytes(32))
    assert axle in {found for found, _ in not_kept(rules)}


def _parted() -> list[tuple[int, int]]:
    left = set(Shipment.objects.values_list("axle", flat=True))
    with connection.cursor() as cursor:
        cursor.execute("SELECT axle_id, unit_id FROM builds_parted")
        return [(axle, unit) for axle, unit in cursor.fetchall() if axle in left]


def test_the_statements_are_as_many_for_three_axles_as_for_nine() -> None:
    counts = []
    for axles in (4, 10):
        with transaction.atomic():
            shop(3, axles)
            keep_up()
            with CaptureQueriesContext(connection) as asked:
                assert shared().built == axles - 1
            counts.append(len(asked))
            transaction.set_rollback(True)
    assert counts == [11, 11]


def test_a_page_that_would_wait_long_asks_for_a_job(monkeypatch: pytest.MonkeyPatch) -> None:
    shop(1)
    client = signed_in_client(factories.person("omni", *Role))
    monkeypatch.setattr(exposing, "WAITED_FOR", 2)
    for _ in range(2):
        answer = client.get(reverse("returns_share"))
        assert answer.status_code == 202
        assert "5 are still to be done" in answer.content.decode()
    job = Job.objects.get(kind=LOOK_THROUGH)
    monkeypatch.setattr(exposing, "AT_ONCE", 2)
    monkeypatch.setattr(exposing, "LONGEST_S", 0.0)
    assert run(job) == "done"
    assert Exposed.objects.count() == 2  # it hands over to another, which goes on from there
    (other,) = Job.objects.filter(kind=LOOK_THROUGH, state=Job.State.WAITING)
    monkeypatch.setattr(exposing, "LONGEST_S", 100.0)
    assert run(other) == "done"
    answer = client.get(reverse("returns_share"))
    assert answer.status_code == 200
    assert "3 of 5 axles that left came back" in answer.content.decode()
    assert told(shared()) == by_sets()


def run(job: Job) -> str:
    jobs.load_handlers()
    return jobs.run_job(job.pk, now=timezone.now() + timedelta(seconds=1))


def test_two_that_look_through_the_same_axles_keep_them_once() -> None:
    shop(1)
    rules = rules_now()
    waiting = not_kept(rules)
    look_through(waiting, rules)
    values = SharedValue.objects.count()
    look_through(waiting, rules)
    assert SharedValue.objects.count() == values
    assert Exposed.objects.count() == len(waiting)


def test_the_csv_tells_every_value_that_a_returned_axle_has() -> None:
    shop(0)
    keep_up()
    assert len(shared_list(shared()).text().splitlines()) == 1 + len(by_sets())


def test_an_address_that_names_nothing_compares_with_nothing() -> None:
    shop(0)
    assert told(shared(alike="item|nothing||")) == by_sets()
