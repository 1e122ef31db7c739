"""Two managers who retire each other in the same second: one of them stays."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any

import pytest

from shop.actions import people
from shop.models import Person, Role
from shop.record.act import act
from shop.record.who import Who
from tests import factories
from tests.concurrency.threads import LIMIT_S, together

pytestmark = pytest.mark.django_db(transaction=True)


def each_other() -> list[str]:
    one, two = (factories.person(code, Role.MANAGER) for code in ("dovie", "ingrith"))
    outcomes: list[Any] = together(
        lambda: people.retire(person=one, by=Who(two)),
        lambda: people.retire(person=two, by=Who(one)),
    )
    return sorted(type(outcome).__name__ for outcome in outcomes)


def test_one_manager_stays() -> None:
    assert each_other() == ["Person", "Refusal"]
    assert Person.objects.working().count() == 1


@pytest.mark.postgresql
def test_control_without_the_managers_lock_none_would(monkeypatch: pytest.MonkeyPatch) -> None:
    both, real = threading.Barrier(2), people._keep_a_manager

    @contextmanager
    def without_the_managers(kind: str, *, also: Any = (), **more: Any) -> Iterator[Any]:
        with act(kind, **more) as a:
            yield a

    def decided(leaving: Person, day: date) -> None:
        real(leaving, day)
        both.wait(LIMIT_S)

    monkeypatch.setattr(people, "act", without_the_managers)
    monkeypatch.setattr(people, "_keep_a_manager", decided)
    assert each_other() == ["Person", "Person"]
    assert not Person.objects.working().exists()
