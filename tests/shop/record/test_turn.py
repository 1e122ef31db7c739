"""Who writes next on SQLite: in the order of coming, handed over whatever happens, and never waited for twice."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import pytest
from django.db import OperationalError, connection, transaction

from shop.record import turn as turns
from shop.record.act import act
from shop.record.locks import busy
from shop.record.turn import Line, turn
from shop.record.who import SYSTEM

SOON_S = 10.0


def until(holds: Callable[[], bool]) -> None:
    end = time.monotonic() + SOON_S
    while not holds():
        assert time.monotonic() < end, "it never came"
        time.sleep(0.002)


@pytest.mark.parametrize("many", [1, 2, 9])
def test_they_have_the_place_in_the_order_in_which_they_came(many: int) -> None:
    line, order = Line(), list[int]()

    def one(place: int) -> None:
        assert line.take(SOON_S)
        order.append(place)
        line.give()

    assert line.take(0)
    threads = [threading.Thread(target=one, args=(place,)) for place in range(many)]
    for place, thread in enumerate(threads, start=1):
        thread.start()
        until(lambda place=place: len(line) == place)  # type: ignore[misc]
    assert order == []
    line.give()
    for thread in threads:
        thread.join(SOON_S)
    assert order == list(range(many))
    assert line.take(0), "the last one left it empty"


def test_who_gave_up_is_not_handed_the_place() -> None:
    line, had = Line(), list[bool]()
    assert line.take(0)
    impatient = threading.Thread(target=lambda: had.append(line.take(0.01)))
    impatient.start()
    impatient.join(SOON_S)
    assert had == [False]
    assert len(line) == 0
    line.give()
    assert line.take(0), "it waits for nobody who has gone"


@pytest.mark.sqlite
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("fails", [False, True], ids=["it is written", "it is refused"])
def test_an_act_waits_for_its_turn_and_hands_it_on(fails: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    line = Line()
    monkeypatch.setattr(turns, "_line", line)
    try:
        with act("probe.made", subject="probe:1", by=SYSTEM):
            assert not line.take(0), "it is this act's turn"
            with act("probe.made", subject="probe:2", by=SYSTEM):
                pass  # one inside it asks for no turn of its own
            if fails:
                raise ZeroDivisionError
    except ZeroDivisionError:
        assert fails
    assert line.take(0), "and now anybody's"


@pytest.mark.sqlite
@pytest.mark.django_db(transaction=True)
def test_a_turn_that_never_comes_is_told_as_the_database_tells_it(monkeypatch: pytest.MonkeyPatch) -> None:
    line = Line()
    monkeypatch.setattr(turns, "_line", line)
    monkeypatch.setitem(connection.settings_dict["OPTIONS"], "timeout", 0.01)
    assert line.take(0)
    with pytest.raises(OperationalError) as told, turn():
        raise AssertionError("nobody gave it")
    assert busy(told.value)
    with transaction.atomic(), turn():
        pass  # who writes already waits for nobody


@pytest.mark.postgresql
@pytest.mark.django_db(transaction=True)
def test_where_many_may_write_nobody_stands_in_line(monkeypatch: pytest.MonkeyPatch) -> None:
    line = Line()
    monkeypatch.setattr(turns, "_line", line)
    with turn():
        assert line.take(0), "the place is free"
