"""Two terminals in the same second: one part goes into one kit, one serial is given once.

Each has a control in which the lock is taken away and the fault must show.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from builds.actions import booking, kitting
from builds.actions.booking import book_axles
from builds.actions.fitting import fit_part
from builds.actions.kitting import kit_part
from builds.models import Axle, Fitted, KitLine
from shop.codes import running_number
from shop.models import Place, Role
from shop.record.act import act
from tests.builds.floor import axle, line, part, person, released, visit
from tests.concurrency.threads import LIMIT_S, together

pytestmark = pytest.mark.django_db(transaction=True)


def names(outcomes: list[Any]) -> list[str]:
    return sorted(type(outcome).__name__ for outcome in outcomes)


def two_axles() -> tuple[Axle, Axle]:
    revision = released()
    return axle(revision), axle(revision)


def kit_at_once(one: Axle, other: Axle) -> list[Any]:
    receiver = person(Role.RECEIVER)
    return together(
        lambda: kit_part(axle=one, scan="S-1", by=receiver),
        lambda: kit_part(axle=other, scan="S-1", by=receiver),
    )


def test_one_part_scanned_for_two_axles_lies_in_one_kit() -> None:
    one, other = two_axles()
    shaft = part("shaft", "S-1")
    outcomes = kit_at_once(one, other)
    assert names(outcomes) == ["Elsewhere", "list"]
    assert KitLine.objects.count() == 1
    assert Place.objects.get(pk=shaft.pk).host_id == KitLine.objects.get().axle_id


@pytest.mark.postgresql
def test_control_without_the_parts_lock_both_kits_would_hold_it(monkeypatch: pytest.MonkeyPatch) -> None:
    one, other = two_axles()
    part("shaft", "S-1")
    both = threading.Barrier(2)
    real = kitting.require_same_set

    @contextmanager
    def without_the_part(kind: str, *, also: Any = (), **more: Any) -> Iterator[Any]:
        with act(kind, **more) as a:
            yield a

    def decided(*facts: Any) -> None:
        real(*facts)
        both.wait(LIMIT_S)

    monkeypatch.setattr(kitting, "act", without_the_part)
    monkeypatch.setattr(kitting, "require_same_set", decided)
    assert names(kit_at_once(one, other)) == ["list", "list"]
    assert KitLine.objects.count() == 2


def test_one_part_fitted_at_two_benches_is_fitted_once() -> None:
    one, other = two_axles()
    part("shaft", "S-1")
    worker = person(Role.ASSEMBLER)
    first, second = visit(one, 40, by=worker), visit(other, 40, by=worker)
    outcomes = together(
        lambda: fit_part(visit=first, scan="S-1", by=worker),
        lambda: fit_part(visit=second, scan="S-1", by=worker),
    )
    assert names(outcomes) == ["Elsewhere", "Fitted"]
    assert Fitted.objects.count() == 1


def test_two_offices_book_at_once_and_no_serial_is_given_twice() -> None:
    revision, office = released(), person(Role.OFFICE)
    lines = [line(revision, quantity=3, by=office) for _ in range(2)]
    outcomes = together(*[lambda one=one: book_axles(line=one, count=3, by=office) for one in lines])
    assert names(outcomes) == ["list", "list"]
    numbers = sorted(running_number(made.serial) for made in Axle.objects.select_related("item"))
    assert numbers == ["0001", "0002", "0003", "0004", "0005", "0006"]


@pytest.mark.postgresql
def test_control_without_the_counters_lock_two_would_take_one_number(monkeypatch: pytest.MonkeyPatch) -> None:
    revision, office = released(), person(Role.OFFICE)
    lines = [line(revision, quantity=1, by=office) for _ in range(2)]
    both, real = threading.Barrier(2), booking._next_number

    def counted(first: int | None) -> int:
        number = real(first)
        both.wait(LIMIT_S)
        return number

    monkeypatch.setattr(booking, "_counter", lambda: f"serials:{threading.get_ident()}")
    monkeypatch.setattr(booking, "_next_number", counted)
    outcomes = together(*[lambda one=one: book_axles(line=one, count=1, by=office) for one in lines])
    # The other walls, the unique mark and the new axle's own chain, still throw one of the two out.
    assert names(outcomes)[1] == "list"
    assert names(outcomes)[0] in ("IntegrityError", "Refusal")
