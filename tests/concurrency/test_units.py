"""Two terminals fetch one unit in the same second: one axle gets it, the other is told where it is. Two terminals take
up the same operation of a unit that is in no axle: one has it in hand, the other is told who.

The controls take the unit's lock away: both axles must then get it, and who comes second must meet the database's own
refusal, with no word about whose hands the work is in.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import count
from typing import Any

import pytest

from builds.actions import claiming, joining
from builds.actions.building_units import NewUnit, begin_units, put_in_stock
from builds.actions.claiming import take_up
from builds.actions.finishing import finish
from builds.actions.joining import Spot, join_unit, own_unit
from builds.actions.parting import UnitOut, part_unit, whole
from builds.models import Axle, Joined, Revision, Unit, Visit
from shop.models import Role
from shop.record.act import act
from tests.builds.cards import SMALL_CARD_HUB
from tests.builds.floor import axle, grant, person, released
from tests.concurrency.threads import LIMIT_S, together

pytestmark = pytest.mark.django_db(transaction=True)


def names(outcomes: list[Any]) -> list[str]:
    return sorted(type(outcome).__name__ for outcome in outcomes)


def taken_out() -> tuple[Unit, Axle, Axle]:
    """A unit that was taken out of its axle, and two axles that want it."""
    revision = released()
    donor, one, other = axle(revision), axle(revision), axle(revision)
    unit = own_unit(Spot(donor), "carrier")
    part_unit(unit=unit, out=UnitOut("wanted", "stock", "new"), by=person(Role.ASSEMBLER))
    return whole(unit.pk), one, other


def begun(revision: Revision) -> Unit:
    return begin_units(new=NewUnit(revision, "hub"), by=person(Role.LEAD_BUILDER))[0]


def built_for_stock() -> tuple[Unit, Axle, Axle]:
    """A unit that was built before any axle, and two axles that want it."""
    revision, worker = released(SMALL_CARD_HUB), person(Role.ASSEMBLER)
    unit = begun(revision)
    visit = take_up(bench=unit, key="50/", by=worker)
    finish(visit=visit, grant=grant(worker, "did"), by=worker)
    put_in_stock(unit=unit, note="shelf 1", by=worker)
    return whole(unit.pk), axle(revision), axle(revision)


def met_after(real: Callable[..., Any]) -> Callable[..., Any]:
    """What was asked, told to two askers when both have asked."""
    both = threading.Barrier(2)

    def asked(*facts: Any) -> Any:
        found = real(*facts)
        both.wait(LIMIT_S)
        return found

    return asked


def join_at_once(unit: Unit, *axles: Axle) -> list[Any]:
    worker = person(Role.ASSEMBLER)
    return together(*(lambda one=one: join_unit(unit=unit, spot=Spot(one), reason="first", by=worker) for one in axles))


def take_up_at_once(unit: Unit) -> list[Any]:
    two = [person(Role.ASSEMBLER) for _ in range(2)]
    return together(*(lambda by=by: take_up(bench=unit, key="50/", by=by) for by in two))


@pytest.mark.parametrize("made", [taken_out, built_for_stock])
def test_one_unit_fetched_for_two_axles_goes_into_one(made: Callable[[], tuple[Unit, Axle, Axle]]) -> None:
    unit, one, other = made()
    outcomes = join_at_once(unit, one, other)
    assert names(outcomes) == ["Elsewhere", "Joined"]
    row = Joined.objects.get()
    refused = next(outcome for outcome in outcomes if not isinstance(outcome, Joined))
    assert f"is in {row.axle.serial} by now" in str(refused)
    assert whole(unit.pk).axle == row.axle
    left_out = other if row.axle == one else one
    assert own_unit(Spot(left_out), unit.role).joined_at is not None
    assert set(Visit.objects.filter(item=unit.item).values_list("axle", flat=True)) <= {row.axle.pk}


@pytest.mark.postgresql
@pytest.mark.parametrize("made", [taken_out, built_for_stock])
def test_control_without_the_units_lock_both_would_get_it(
    monkeypatch: pytest.MonkeyPatch, made: Callable[[], tuple[Unit, Axle, Axle]]
) -> None:
    unit, one, other = made()

    @contextmanager
    def without_the_unit(kind: str, *, also: Any = (), **more: Any) -> Iterator[Any]:
        with act(kind, **more) as a:
            yield a

    monkeypatch.setattr(joining, "act", without_the_unit)
    monkeypatch.setattr(joining, "may_join", met_after(joining.may_join))
    assert names(join_at_once(unit, one, other)) == ["Joined", "Joined"]
    assert Joined.objects.count() == 2


def test_one_operation_of_a_free_unit_taken_up_twice_is_in_one_persons_hands() -> None:
    unit = begun(released(SMALL_CARD_HUB))
    outcomes = take_up_at_once(unit)
    assert names(outcomes) == ["MovedOn", "Visit"]
    visit = Visit.objects.select_related("claimed_by").get(item=unit.item)
    refused = next(outcome for outcome in outcomes if not isinstance(outcome, Visit))
    assert f"50 Grease the hub on {unit.serial} is in hand with {visit.claimed_by.name}" in str(refused)


@pytest.mark.postgresql
def test_control_without_the_units_lock_nobody_says_who_has_it(monkeypatch: pytest.MonkeyPatch) -> None:
    unit = begun(released(SMALL_CARD_HUB))
    apart = count(1)

    @contextmanager
    def in_a_chain_apart(kind: str, *, subject: str, **more: Any) -> Iterator[Any]:
        with act(kind, subject=f"apart:{next(apart)}", **more) as a:
            yield a

    monkeypatch.setattr(claiming, "act", in_a_chain_apart)
    monkeypatch.setattr(claiming, "standing", met_after(claiming.standing))
    assert names(take_up_at_once(unit)) == ["IntegrityError", "Visit"]
