"""A void takes a value away, and is no way to more tries than the card allows: low torque is repeated once."""

from __future__ import annotations

import pytest
from django.urls import reverse

from builds.actions.adding import void_reading
from builds.actions.measuring import Taken
from builds.errors import NotYours
from builds.models import RedTag, Visit
from builds.reports import pending
from builds.reports.work import is_void
from measurements.models import Reading, Voiding
from shop.record.models import Event
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import card_with, one
from tests.factories import signed_in_client, with_key

pytestmark = pytest.mark.django_db
_MEASURED = (
    'unit = "in"\nrecorded_only = true\ndecimals = 4\nstep = 0.0001\ngauge_kind = "dial_indicator"\npositions = 2'
)
_COMPUTED = (
    'unit = "in"\nhigh = 0.002\ndecimals = 4\non_high = "repeat 1"\nsource = "test"\n'
    'computation = { name = "variation", inputs = { readings = "12.1" } }'
)
CARD = card_with(12, one("12.1", "measured", _MEASURED), one("12.2", "computed", _COMPUTED))


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(CARD)


@pytest.fixture(scope="module")
def tightening(bench: Bench) -> Visit:
    """Operation 20 in hand; 12 has no place in its order of work."""
    axle = bench.axle()
    bench.bored(axle)
    return bench.begin(axle, 20)


def low(bench: Bench, visit: Visit, who: str = "ada") -> Taken:
    """One more low try of the first bolt."""
    return bench.enter(visit, "20.1", "99", who, position="1", reason="again")


def void(bench: Bench, reading: Reading, who: str = "ada") -> Voiding:
    return void_reading(reading=reading, reason="of the next axle", by=bench.people[who], now=bench.later(seconds=9))


def test_low_tries_that_their_reader_declares_void_are_counted(bench: Bench, tightening: Visit) -> None:
    first = low(bench, tightening).reading
    assert void(bench, first).counts
    taken = low(bench, tightening)
    (tag,) = taken.reacted.tags
    assert tag.cause == "20.1 Bolt torque, position 1: 99 ft-lb, below the limit."
    assert "The repeats are used up" in taken.reacted.consequences[0][1].text
    assert [row.typed for row in Reading.objects.filter(sheet__visit_links__visit=tightening)] == ["99", "99"]


def test_control_were_void_tries_not_counted_anybody_could_try_without_end(
    bench: Bench, tightening: Visit, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fault as it was: with the guard taken away no red tag is ever opened."""
    monkeypatch.setattr(pending, "is_counted", lambda reading: not is_void(reading))
    for _ in range(5):
        taken = low(bench, tightening)
        assert taken.reacted.tags == ()
        void(bench, taken.reading)
    assert not RedTag.objects.filter(axle=tightening.axle).exists()


def test_it_counts_too_when_a_workmate_declares_it_void(bench: Bench, tightening: Visit) -> None:
    first = low(bench, tightening, "ben").reading
    assert void(bench, first, "ada").counts
    assert len(low(bench, tightening, "ben").reacted.tags) == 1


@pytest.mark.parametrize("who", ["cy", "eve"])
def test_somebody_who_decides_and_did_not_read_it_takes_the_try_away(bench: Bench, tightening: Visit, who: str) -> None:
    """20.1 is of class L, so the inspector and the engineer decide; the engineer works nowhere here."""
    row = void(bench, low(bench, tightening).reading, who)
    assert not row.counts
    taken = low(bench, tightening)
    assert (taken.reacted.tags, taken.reacted.consequences[0][1].kind) == ((), "repeat")
    assert len(low(bench, tightening).reacted.tags) == 1


def test_who_decides_cannot_take_away_a_try_of_their_own(bench: Bench, tightening: Visit) -> None:
    assert void(bench, low(bench, tightening, "ben").reading, "ben").counts


def test_about_class_s_only_the_engineer_says_so(bench: Bench) -> None:
    """10.1 is of class S. The inspector neither works there nor decides about it."""
    visit = bench.begin(bench.axle(), 10)
    first = bench.enter(visit, "10.1", "3.0626", position="A").reading
    with pytest.raises(NotYours, match="is for assembler"):
        void(bench, first, "cy")
    assert not Voiding.objects.filter(reading=first).exists()
    assert not void(bench, first, "eve").counts


def test_what_was_computed_from_a_void_reading_is_counted_as_well(bench: Bench) -> None:
    """Calculated: .0060 and .0085 are .0025 apart, more than .0020; declared void and read again so, that is twice."""
    visit = bench.begin(bench.axle(), 12)
    bench.enter(visit, "12.1", ".0060", position="1")
    taken = bench.enter(visit, "12.1", ".0085", position="2")
    assert [row.verdict for row in taken.computed] == ["above"]
    void(bench, taken.reading)
    assert Voiding.objects.get(reading=taken.computed[0]).counts
    again = bench.enter(visit, "12.1", ".0085", position="2", reason="again")
    assert [tag.reading for tag in again.reacted.tags] == list(again.computed)


def test_the_ledger_says_whether_the_try_still_counts(bench: Bench, tightening: Visit) -> None:
    void(bench, low(bench, tightening).reading)
    last = Event.objects.filter(kind="reading.voided", subject=tightening.subject).latest("sequence")
    assert b'"still_a_try":true' in bytes(last.content)


def test_the_page_says_it_before_and_after(bench: Bench, tightening: Visit) -> None:
    reading, axle = low(bench, tightening).reading, tightening.axle
    assert axle is not None
    page, ada = reverse("axle", args=[axle.serial]), signed_in_client(bench.people["ada"].person)  # type: ignore[arg-type]
    assert "still counted as one of the tries" in ada.get(page, {"void": reading.pk}).content.decode()
    answer = ada.post(
        reverse("axle_void", args=[axle.serial, reading.pk]), with_key(reason="the next axle"), follow=True
    )
    said = answer.content.decode()
    assert "It was out of limit and is still counted as a try." in said
    assert "void, still counted as a try: the next axle" in said
