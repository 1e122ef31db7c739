"""Two axles taken up at one station in the same second are two pieces, with two numbers.

The control takes the station's lock away, and both must then be the same piece.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import datetime

import pytest

from builds.actions import claiming
from builds.actions.claiming import take_up
from builds.models import Axle, Operation, Visit
from shop.models import Role
from shop.record.who import Who
from tests.builds.floor import axle, person, released
from tests.concurrency.threads import LIMIT_S, together

pytestmark = pytest.mark.django_db(transaction=True)


def pieces_at_once() -> list[int]:
    revision = released()
    receiver = person(Role.RECEIVER)
    together(*[_taking(axle(revision), receiver) for _ in range(2)])
    return sorted(Visit.objects.values_list("piece", flat=True))


def _taking(one: Axle, by: Who) -> Callable[[], Visit]:
    return lambda: take_up(bench=one, key="10/", by=by)


def test_two_axles_at_one_station_are_two_pieces() -> None:
    assert pieces_at_once() == [1, 2]


@pytest.mark.postgresql
def test_control_without_the_stations_lock_both_are_the_same_piece(monkeypatch: pytest.MonkeyPatch) -> None:
    both, real = threading.Barrier(2), claiming.piece_number

    def counted(operation: Operation, now: datetime) -> int:
        number = real(operation, now)
        both.wait(LIMIT_S)
        return number

    monkeypatch.setattr(claiming, "_lock_count", lambda operation: None)
    monkeypatch.setattr(claiming, "piece_number", counted)
    assert pieces_at_once() == [1, 1]
