"""Two terminals fetch one unit in the same second: one axle gets it, the other is told where it is.

The control takes the unit's lock away, and both must get it.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from builds.actions import joining
from builds.actions.joining import Spot, join_unit, own_unit
from builds.actions.parting import UnitOut, part_unit, whole
from builds.models import Axle, Joined, Unit
from shop.models import Role
from shop.record.act import act
from tests.builds.floor import axle, person, released
from tests.concurrency.threads import LIMIT_S, together

pytestmark = pytest.mark.django_db(transaction=True)


def names(outcomes: list[Any]) -> list[str]:
    return sorted(type(outcome).__name__ for outcome in outcomes)


def a_unit_and_two_axles() -> tuple[Unit, Axle, Axle]:
    revision = released()
    donor, one, other = axle(revision), axle(revision), axle(revision)
    unit = own_unit(Spot(donor), "carrier")
    part_unit(unit=unit, out=UnitOut("wanted", "stock", "new"), by=person(Role.ASSEMBLER))
    return whole(unit.pk), one, other


def join_at_once(unit: Unit, *axles: Axle) -> list[Any]:
    worker = person(Role.ASSEMBLER)
    return together(*(lambda one=one: join_unit(unit=unit, spot=Spot(one), reason="first", by=worker) for one in axles))


def test_one_unit_fetched_for_two_axles_goes_into_one() -> None:
    unit, one, other = a_unit_and_two_axles()
    outcomes = join_at_once(unit, one, other)
    assert names(outcomes) == ["Elsewhere", "Joined"]
    row = Joined.objects.get()
    refused = next(outcome for outcome in outcomes if not isinstance(outcome, Joined))
    assert f"is in {row.axle.serial} by now" in str(refused)
    assert whole(unit.pk).axle == row.axle
    left_out = other if row.axle == one else one
    assert own_unit(Spot(left_out), "carrier").joined_at is not None


@pytest.mark.postgresql
def test_control_without_the_units_lock_both_would_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    unit, one, other = a_unit_and_two_axles()
    both = threading.Barrier(2)
    real = joining.may_join

    @contextmanager
    def without_the_unit(kind: str, *, also: Any = (), **more: Any) -> Iterator[Any]:
        with act(kind, **more) as a:
            yield a

    def decided(*facts: Any) -> Any:
        found = real(*facts)
        both.wait(LIMIT_S)
        return found

    monkeypatch.setattr(joining, "act", without_the_unit)
    monkeypatch.setattr(joining, "may_join", decided)
    assert names(join_at_once(unit, one, other)) == ["Joined", "Joined"]
    assert Joined.objects.count() == 2
