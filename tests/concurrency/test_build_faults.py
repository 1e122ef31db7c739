"""The n-th statement failing for every n, in the acts of the build: all of an act or nothing of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.db import transaction

from builds.actions.adding import void_reading
from builds.actions.closing import close_axle
from builds.actions.deciding import Decided, decide
from builds.models import RedTag, Visit
from measurements.models import Reading
from shop.record.verify import verify
from tests.bad_input import everything
from tests.builds.bench import Bench, open_bench
from tests.concurrency.cut import Cut, cut_at

pytestmark = pytest.mark.django_db(transaction=True)
Act = Callable[[], Any]


@pytest.fixture
def bench(transactional_db: None) -> Bench:
    return open_bench()


def a_reading(bench: Bench) -> Act:
    """Out of limit, with a computed value and a red tag that follow from it."""
    visit = bench.begin(bench.axle(), 10)
    bench.enter(visit, "10.1", "3.0630", position="A")
    return lambda: bench.enter(visit, "10.1", "3.0638", position="B")


def a_signature(bench: Bench) -> Act:
    visit = bench.tightened(bench.axle())
    return lambda: bench.sign(visit)


def a_hold(bench: Bench) -> Act:
    visit = bench.sign(bench.tightened(bench.axle()))
    return lambda: bench.held(visit)


def a_voiding(bench: Bench) -> Act:
    visit = bench.begin(bench.axle(), 10)
    bench.enter(visit, "10.1", "3.0630", position="A")
    bench.enter(visit, "10.1", "3.0631", position="B")
    wrong = bench.enter(visit, "10.1", "3.0632", position="B", reason="again").reading
    by = bench.people["ada"]
    return lambda: void_reading(reading=wrong, reason="other axle", by=by, now=bench.later(minutes=1))


def a_decision(bench: Bench) -> Act:
    a_reading(bench)()
    tag, by = RedTag.objects.get(reading__characteristic__code="10.1"), bench.people["eve"]
    decided = Decided("rework", "bored again", cause="bore")

    def do() -> Any:
        now = bench.later(minutes=1)
        return decide(tag=tag, decided=decided, grant=bench.grant("eve", "released"), by=by, now=now)

    return do


def a_closing(bench: Bench) -> Act:
    axle = bench.bought_off(bench.axle())
    return lambda: close_axle(axle=axle, by=bench.people["cy"], now=bench.later(minutes=1))


ACTS = [a_reading, a_signature, a_hold, a_voiding, a_decision, a_closing]


@pytest.mark.parametrize("made_ready", ACTS, ids=lambda act: act.__name__)
def test_an_act_cut_at_any_statement_leaves_nothing_behind(bench: Bench, made_ready: Callable[[Bench], Act]) -> None:
    do = made_ready(bench)
    before, number = everything(), 1
    while True:
        try:
            with cut_at(number) as seen:
                do()
        except Cut:
            assert everything() == before, f"after statement {number}: {seen[-1]}"
            number += 1
        else:
            break
    assert number > 8
    assert everything() != before
    assert verify().findings == []


def test_control_without_the_transaction_something_stays(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    do, count = a_reading(bench), Reading.objects.count()

    def in_pieces(self: transaction.Atomic, *_: object) -> None:
        """What is written is written."""

    monkeypatch.setattr(transaction.Atomic, "__enter__", in_pieces)
    monkeypatch.setattr(transaction.Atomic, "__exit__", in_pieces)
    with pytest.raises(Cut), cut_at(10):
        do()
    monkeypatch.undo()
    assert Reading.objects.count() > count
    assert Visit.objects.count() == 1
