"""Two benches take the last bearings of one lot at once: they go into one axle, and the other is told.

A lot serves many axles, so fitting does not take its chain's lock; near its end the lot's row is held while it is
counted. The control never holds it, and the lot gives more than came.
"""

from __future__ import annotations

import threading
from decimal import Decimal
from typing import Any

import pytest

from builds.actions import counting
from builds.actions.counting import used_of
from builds.actions.fitting import fit_part
from builds.models import Fitted
from shop.models import Lot, Role
from shop.record.verify import verify
from tests.builds.floor import axle, lot, person, released, visit
from tests.concurrency.threads import LIMIT_S, together

pytestmark = pytest.mark.django_db(transaction=True)
#: What operation 30 of the test card takes of a lot.
WANTED = 4


def at_once(monkeypatch: pytest.MonkeyPatch, wait_s: float) -> list[Any]:
    """Both have counted before either saves, where nothing keeps the second from counting."""
    revision, worker = released(), person(Role.ASSEMBLER)
    Lot.objects.filter(pk=lot("bearing", "PB-1").pk).update(received=WANTED)
    works = [visit(axle(revision), 30, by=worker) for _ in range(2)]
    both, real = threading.Barrier(2), counting.require_left

    def counted(*facts: Any) -> None:
        real(*facts)
        try:
            both.wait(wait_s)
        except threading.BrokenBarrierError:
            return

    monkeypatch.setattr("builds.actions.fitting.require_left", counted)
    return together(*(lambda work=work: fit_part(visit=work, scan="PB-1", by=worker) for work in works))


def test_the_last_of_a_lot_goes_into_one_axle(monkeypatch: pytest.MonkeyPatch) -> None:
    outcomes = at_once(monkeypatch, 1)
    assert sorted(type(outcome).__name__ for outcome in outcomes) == ["Fitted", "NotFree"]
    assert any("0 left of 4 that came" in str(outcome) for outcome in outcomes)
    assert used_of(Lot.objects.get()) == Decimal(WANTED)
    assert verify().findings == []


@pytest.mark.postgresql
def test_control_without_the_lots_lock_both_take_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(counting, "NEARLY_OUT", -1_000_000)
    outcomes = at_once(monkeypatch, LIMIT_S)
    assert [type(outcome).__name__ for outcome in outcomes] == ["Fitted", "Fitted"]
    assert used_of(Lot.objects.get()) == Decimal(2 * WANTED)
    assert Fitted.objects.count() == 2
