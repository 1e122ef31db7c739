"""Two at one axle in the same second: closing, signing, entering, tagging. One order wins, and nothing falls between.

Each has a control in which the axle's lock is taken away and the fault must show.
"""

from __future__ import annotations

import json
import threading
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from builds.actions import closing, finishing, measuring, tagging
from builds.actions.closing import close_axle, frozen_bytes
from builds.actions.tagging import tag_axle
from builds.models import Axle, Closing, RedTag, Visit
from measurements.models import Reading
from shop.record.act import act
from shop.record.verify import verify
from tests.builds.bench import Bench, open_bench
from tests.concurrency.threads import LIMIT_S, together

pytestmark = pytest.mark.django_db(transaction=True)
#: So long the first one waits for the second, who is kept out by the lock and does not come.
KEPT_OUT_S = 0.7


@pytest.fixture
def bench(transactional_db: None) -> Bench:
    return open_bench()


def names(outcomes: list[Any]) -> list[str]:
    return sorted(type(outcome).__name__ for outcome in outcomes)


@contextmanager
def on_a_chain_of_its_own(kind: str, *, subject: str, **more: Any) -> Iterator[Any]:
    """The act without the axle's lock: nobody else ever takes this chain."""
    with act(kind, subject=f"test:{uuid.uuid4()}", **more) as a:
        yield a


class Meeting:
    """The first has decided and not yet written when the second begins; it goes on when the second is through, or
    has been kept out for a while."""

    def __init__(self) -> None:
        self.decided, self.through = threading.Event(), threading.Event()

    def pause(self, real: Callable[..., Any]) -> Callable[..., Any]:
        def paused(*given: Any, **more: Any) -> Any:
            made = real(*given, **more)
            self.decided.set()
            self.through.wait(KEPT_OUT_S)
            return made

        return paused

    def second(self, do: Callable[[], Any]) -> Callable[[], Any]:
        def run() -> Any:
            self.decided.wait(LIMIT_S)
            try:
                return do()
            finally:
                self.through.set()

        return run


@pytest.fixture
def meeting() -> Meeting:
    return Meeting()


def closes(bench: Bench, axle: Axle, who: str) -> Callable[[], Closing]:
    now = bench.later(minutes=1)
    return lambda: close_axle(axle=axle, by=bench.people[who], now=now)


# Two people close


def test_two_people_close_and_one_record_is_frozen(bench: Bench) -> None:
    axle = bench.bought_off(bench.axle())
    bench.later(minutes=1)
    both = [lambda who=who: close_axle(axle=axle, by=bench.people[who], now=bench.now) for who in ("cy", "ben")]
    outcomes = together(*both)
    assert names(outcomes) == ["Closing", "Stopped"]
    assert Closing.objects.count() == 1
    assert verify().findings == []


@pytest.mark.postgresql
def test_control_without_the_lock_both_would_close(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """The one-to-one key is the second wall: it throws one of the two out, with no sentence for anybody."""
    axle, both = bench.bought_off(bench.axle()), threading.Barrier(2)
    real = closing.missing_for_closing

    def decided(*given: Any) -> Any:
        made = real(*given)
        both.wait(LIMIT_S)
        return made

    monkeypatch.setattr(closing, "act", on_a_chain_of_its_own)
    monkeypatch.setattr(closing, "missing_for_closing", decided)
    outcomes = together(closes(bench, axle, "cy"), closes(bench, axle, "ben"))
    assert names(outcomes) == ["Closing", "IntegrityError"]


# One signs while another enters


def buy_off(bench: Bench) -> Visit:
    """The last operation before closing, ready to be signed by its inspector."""
    axle = bench.axle()
    bench.held(bench.sign(bench.tightened(axle)))
    visit = bench.begin(axle, 30, "cy")
    bench.enter(visit, "30.1", "yes", "cy")
    return visit


def sign_and_enter(bench: Bench, visit: Visit, meeting: Meeting, monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """The signature is decided upon; then somebody at another terminal enters that it does not turn after all."""
    monkeypatch.setattr(finishing, "not_signable", meeting.pause(finishing.not_signable))
    at, cy = bench.later(minutes=2), bench.people["cy"]
    return together(
        lambda: finishing.finish(visit=visit, grant=bench.grant("cy"), by=cy, now=at),
        meeting.second(lambda: bench.enter(visit, "30.1", "no", "ben", reason="stiff", at=at)),
    )


def test_what_is_entered_while_another_signs_is_refused(
    bench: Bench, meeting: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    visit = buy_off(bench)
    signed, entered = sign_and_enter(bench, visit, meeting, monkeypatch)
    assert (signed.state, type(entered).__name__) == ("done", "MovedOn")
    assert Reading.objects.filter(characteristic__code="30.1").count() == 1


@pytest.mark.postgresql
def test_control_without_the_lock_a_no_slips_under_the_signature(
    bench: Bench, meeting: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    visit = buy_off(bench)
    monkeypatch.setattr(measuring, "act", on_a_chain_of_its_own)
    monkeypatch.setattr(tagging, "act", on_a_chain_of_its_own)
    signed, _ = sign_and_enter(bench, visit, meeting, monkeypatch)
    assert signed.state == "done"
    assert Reading.objects.filter(characteristic__code="30.1", verdict="no").exists()


@pytest.mark.parametrize("reading_first", [True, False])
def test_the_frozen_record_holds_the_reading_or_the_reading_is_refused(bench: Bench, reading_first: bool) -> None:
    visit, first_is_through = buy_off(bench), threading.Event()
    at = bench.later(minutes=2)

    def enter() -> Any:
        if not reading_first:
            first_is_through.wait(LIMIT_S)
        try:
            return bench.enter(visit, "30.1", "yes", "ben", reason="turned again", at=at)
        finally:
            first_is_through.set()

    def sign_and_close() -> Closing:
        if reading_first:
            first_is_through.wait(LIMIT_S)
        try:
            finishing.finish(visit=visit, grant=bench.grant("cy"), by=bench.people["cy"], now=bench.now)
        finally:
            first_is_through.set()
        return close_axle(axle=Axle.objects.get(pk=visit.axle_id), by=bench.people["cy"], now=bench.now)

    entered, closed = together(enter, sign_and_close)
    rows = Reading.objects.filter(characteristic__code="30.1").count()
    assert rows == (2 if reading_first else 1)
    assert type(entered).__name__ in (("Taken",) if reading_first else ("MovedOn", "Stopped"))
    assert tries_of("30.1", json.loads(frozen_bytes(closed))) == rows


def tries_of(code: str, record: Any) -> int:
    """How many readings of this code the frozen record holds, those that count and those that are superseded."""
    if isinstance(record, list):
        return sum(tries_of(code, value) for value in record)
    if not isinstance(record, dict):
        return 0
    if record.get("code") == code:
        return len(record["readings"]) if "readings" in record else int("try" in record)
    return sum(tries_of(code, value) for value in record.values())


# One closes while another hangs a red tag


def close_and_tag(bench: Bench, axle: Axle, meeting: Meeting, monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    monkeypatch.setattr(closing, "missing_for_closing", meeting.pause(closing.missing_for_closing))
    first, at = closes(bench, axle, "cy"), bench.later(minutes=1)
    tag = meeting.second(lambda: tag_axle(axle=axle, cause="crack", by=bench.people["ben"], now=at))
    return together(first, tag)


def test_a_tag_hung_during_a_closing_waits_and_is_marked(
    bench: Bench, meeting: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    axle = bench.bought_off(bench.axle())
    assert names(close_and_tag(bench, axle, meeting, monkeypatch)) == ["Closing", "RedTag"]
    assert RedTag.objects.get().after_closing


@pytest.mark.postgresql
def test_control_without_the_lock_it_would_close_over_the_tag(
    bench: Bench, meeting: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    axle = bench.bought_off(bench.axle())
    monkeypatch.setattr(tagging, "act", on_a_chain_of_its_own)
    assert names(close_and_tag(bench, axle, meeting, monkeypatch)) == ["Closing", "RedTag"]
    assert not RedTag.objects.get().after_closing
