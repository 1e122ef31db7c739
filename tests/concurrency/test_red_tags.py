"""Two bad readings on two axles in the same instant: both are saved, each with its tag.

The second axle's reading begins later and takes the tags' numbers first, so the first one meets a chain that is
ahead of its own time. The control takes the mend away, and the reading is lost.
"""

from __future__ import annotations

import threading
from typing import Any

import pytest

from builds.actions import reacting
from builds.actions.judging import Entered
from builds.actions.measuring import Taken, enter_reading
from builds.models import RedTag, Visit
from measurements.models import Reading
from shop.errors import Refusal
from shop.record import act as act_module
from shop.record.models import Event
from shop.record.verify import verify
from tests.builds.bench import Bench, open_bench
from tests.concurrency.threads import LIMIT_S, together

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.postgresql]


def bad(bench: Bench, visit: Visit) -> Taken:
    entered = Entered("10.1", text="3.0650", position="A", gauge="G-1", ring="G-2")
    return enter_reading(visit=visit, entered=entered, by=bench.people["ada"])


def overtaken(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """The first reading stands before the tags' numbers until the second one has passed."""
    bench = open_bench()
    visits = [bench.begin(bench.axle(), 10) for _ in range(2)]
    waits, passed, real = threading.Event(), threading.Event(), reacting.open_tag

    def slow(*, wrong: Any, **more: Any) -> RedTag:
        if wrong.axle == visits[0].axle:
            waits.set()
            passed.wait(LIMIT_S)
        return real(wrong=wrong, **more)

    def second() -> Taken:
        waits.wait(LIMIT_S)
        try:
            return bad(bench, visits[1])
        finally:
            passed.set()

    monkeypatch.setattr(reacting, "open_tag", slow)
    return together(lambda: bad(bench, visits[0]), second)


def test_both_are_saved_each_with_its_tag(monkeypatch: pytest.MonkeyPatch) -> None:
    outcomes = overtaken(monkeypatch)
    assert [type(outcome).__name__ for outcome in outcomes] == ["Taken", "Taken"]
    assert Reading.objects.filter(verdict="above").count() == 2
    assert sorted(RedTag.objects.values_list("number", flat=True)) == [1, 2]
    times = list(Event.objects.filter(subject="counter:red-tags").order_by("sequence").values_list("at", flat=True))
    assert times == sorted(times)
    assert verify().findings == []


def test_control_with_a_time_that_does_not_move_the_reading_is_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    def unmoved(held: Any) -> Any:
        act_module._not_before(held.now, held.heads.values())
        return held.now

    monkeypatch.setattr(act_module, "_moved_on", unmoved)
    first, second = overtaken(monkeypatch)
    assert isinstance(first, Refusal)
    assert "cannot follow" in first.text
    assert isinstance(second, Taken)
    assert Reading.objects.filter(verdict="above").count() == 1
