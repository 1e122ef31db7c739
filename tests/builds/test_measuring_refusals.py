"""What one Enter refuses, through the action: the sentence, the field, and that nothing was written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from builds.actions.claiming import set_down, take_up
from builds.actions.finishing import finish
from builds.actions.tagging import report_wrong, tag_axle
from builds.errors import MovedOn, NotReady, NotSignable, NotYours, Stopped
from builds.models import Visit
from measurements.actions.gauges import NewGauge, retire_gauge, take_in_gauge
from measurements.gauges import GaugeRefused
from measurements.models import Reading
from shop.actions.skills import Qualification, give_skill
from shop.clock import shop_day, shop_zone
from shop.errors import Refusal
from shop.record.models import Event
from shop.record.who import Who
from tests.builds.bench import Bench, calibrated, open_bench
from tests.builds.bench_cards import MEASURING_CARD

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(MEASURING_CARD)


@pytest.fixture(scope="module")
def every(bench: Bench) -> Visit:
    return bench.begin(bench.axle(), 12)


@pytest.fixture(scope="module")
def bore(bench: Bench) -> Visit:
    return bench.begin(bench.axle(), 10)


def refused(do: Callable[[], Any], kind: type[Refusal] = Refusal) -> Refusal:
    """The refusal, once nothing is seen to have been added."""
    before = Reading.objects.count(), Event.objects.count()
    with pytest.raises(kind) as found:
        do()
    assert (Reading.objects.count(), Event.objects.count()) == before
    assert found.value.text.endswith((".", "?", "!"))
    return found.value


@dataclass(frozen=True)
class Wrong:
    """An entry that is refused: what is sent, words of the sentence, and the field it names."""

    code: str
    text: str
    said: str
    field: str = "value"
    position: str = ""


FIGURES = [
    Wrong("12.4", "", "Blank is not zero"),
    Wrong("12.4", "   ", "Blank is not zero"),
    Wrong("12.4", "10,5", "has a comma"),
    Wrong("12.4", "1,050", "no sign between thousands"),
    Wrong("12.4", "abc", "is not a figure"),
    Wrong("12.4", "105 ft", "is not a figure"),
    Wrong("12.4", "1O5", "is not a figure"),
    Wrong("12.4", "NaN", "is not a figure"),
    Wrong("12.4", "Infinity", "is not a figure"),
    Wrong("12.4", "1e2", "is not a figure"),
    Wrong("12.4", "1.05E+2", "is not a figure"),
    Wrong("12.4", "0x69", "is not a figure"),
    Wrong("12.4", "١٠٥", "is not a figure"),
    Wrong("12.4", "1.0.5", "is not a figure"),
    Wrong("12.4", "--105", "is not a figure"),
    Wrong("12.4", ".", "is not a figure"),
    Wrong("12.4", "105\x00", "is not a figure"),
    Wrong("12.4", "1" + "0" * 40, "too large"),
    Wrong("12.4", "-1" + "0" * 40, "too large"),
    Wrong("12.4", "105.5", "finer than the gauge reads: its step is 1"),
    Wrong("12.4", "-105", "outside the range of G-3 (20 to 160 ft-lb)", "gauge"),
    Wrong("12.4", "0", "outside the range of G-3", "gauge"),
    Wrong("12.4", "19", "outside the range of G-3", "gauge"),
    Wrong("12.4", "161", "outside the range of G-3", "gauge"),
    Wrong("10.1", "3.06305", "finer than the gauge reads: its step is 0.0001", position="A"),
    Wrong("10.1", "0.0000000001", "more than 9 decimals", position="A"),
    Wrong("10.1", "3.063", "has no position “C”. Positions: A, B.", "position", "C"),
    Wrong("10.1", "3.063", "has no position “”", "position"),
    Wrong("10.1", "3.063", "has no position “a”", "position", "a"),
    Wrong("10.2", "0.0001", "is computed from other readings. It cannot be typed"),
    Wrong("12.6", "-1", "type a whole number, 0 or more"),
    Wrong("12.6", "0.5", "type a whole number, 0 or more"),
    Wrong("12.6", "none", "is not a figure"),
    Wrong("12.7", "", "Blank is not an answer"),
    Wrong("12.7", " \t ", "Blank is not an answer"),
    Wrong("12.7", "x" * 401, "longer than 400 characters"),
    Wrong("12.8", "green", "answer one of straw, blue"),
    Wrong("12.8", "STRAW", "answer one of straw, blue"),
    Wrong("12.9", "1", "answer one of yes, no"),
    Wrong("12.10", "noon", "is not a time"),
    Wrong("12.10", "2026-11-25T10:00:00", "has no zone"),
    Wrong("12.10", "2999-01-01T10:00:00+00:00", "still to come"),
    Wrong("12.11", "photo", "no photo was taken", "photo"),
    Wrong("99.1", "1", "has no characteristic 99.1", ""),
    Wrong("20.1", "105", "has no characteristic 20.1", ""),
]


@pytest.mark.parametrize("wrong", FIGURES, ids=lambda wrong: f"{wrong.code} {wrong.text[:12]!r} {wrong.position}")
def test_what_cannot_be_taken(bench: Bench, bore: Visit, every: Visit, wrong: Wrong) -> None:
    visit = bore if wrong.code.startswith("10") else every
    found = refused(lambda: bench.enter(visit, wrong.code, wrong.text, position=wrong.position))
    assert wrong.said in found.text
    assert found.field == wrong.field


@pytest.mark.parametrize(
    ("code", "text", "more", "said", "field"),
    [
        ("12.4", "105", {"unit": "mm"}, "“mm” is not a unit of the same kind", "unit"),
        ("12.4", "105", {"unit": "furlong"}, "“furlong” is not a unit of the same kind", "unit"),
        ("12.12", "900000000", {"unit": "m"}, "900000000 m is too large", "value"),
        ("12.4", "105", {"gauge": ""}, "No gauge was scanned. Scan the torque wrench", "gauge"),
        ("12.4", "105", {"gauge": "G-99"}, "No gauge carries the mark “G-99”", "gauge"),
        ("12.4", "105", {"gauge": "~A:TBK-26-0001-9"}, "No gauge carries the mark", "gauge"),
        ("12.4", "105", {"gauge": "G-1"}, "G-1 is a bore gauge; this needs a torque wrench", "gauge"),
        ("12.1", "0.008", {"gauge": "G-7", "position": "1"}, "reads in steps of 0.001 in; this needs 0.0001", "gauge"),
        ("10.1", "3.063", {"position": "A", "ring": ""}, "Scan the setting ring", "ring"),
        ("10.1", "3.063", {"position": "A", "ring": "G-8"}, "too far from the limits here", "ring"),
        ("10.1", "3.063", {"position": "A", "ring": "G-1"}, "G-1 is a bore gauge; this needs a setting ring", "ring"),
        ("10.1", "3.063", {"position": "A", "ring": "G-77"}, "No gauge carries the mark “G-77”", "ring"),
    ],
)
def test_with_what_it_was_measured(
    bench: Bench, bore: Visit, every: Visit, code: str, text: str, more: dict[str, str], said: str, field: str
) -> None:
    found = refused(lambda: bench.enter(bore if code.startswith("10") else every, code, text, **more))
    assert (said in found.text, found.field) == (True, field), found.text


def test_a_position_that_is_read_already_needs_a_reason(bench: Bench, bore: Visit) -> None:
    bench.enter(bore, "10.1", "3.0630", position="A")
    again = refused(lambda: bench.enter(bore, "10.1", "3.0631", position="A"))
    assert ("position A has a reading already (3.0630). Say why" in again.text, again.field) == (True, "reason")
    blank = refused(lambda: bench.enter(bore, "10.1", "3.0631", position="A", reason=" \n "))
    assert blank.field == "reason"
    long = refused(lambda: bench.enter(bore, "10.1", "3.0631", position="A", reason="x" * 301))
    assert ("longer than 300" in long.text, long.field) == (True, "reason")
    seen_one = refused(lambda: bench.enter(bore, "10.1", "3.0631", position="A", try_number=1, reason="x"), MovedOn)
    assert "was entered meanwhile by" in seen_one.text


def local(day: date, hour: int, minute: int = 0) -> datetime:
    """A moment by the shop's own clock; its night shift begins at 22:00 and goes on past midnight."""
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=shop_zone()).astimezone(UTC)


def test_a_gauge_is_good_until_the_shops_midnight_in_the_middle_of_a_night_shift(bench: Bench, every: Visit) -> None:
    """A calibration is good up to, not including, its due day; the day is the shop's, not the server's (UTC)."""
    due = shop_day(bench.now + timedelta(days=60))
    calibrated(bench, "G-3", shop_day(bench.now), due)
    last, first = local(due - timedelta(days=1), 23, 59), local(due, 0)
    assert last.date() == due, "by the server's own calendar it is the due day already"
    assert bench.enter(every, "12.4", "105", at=last).reading.verdict == "in"
    late = refused(lambda: bench.enter(every, "12.4", "106", reason="next bolt", at=first), GaugeRefused)
    assert f"G-3 is overdue: its calibration ran out on {due:%d %b %Y}, today" in late.text
    assert late.field == "gauge"


def test_a_gauge_without_calibration_is_refused(bench: Bench, every: Visit) -> None:
    new = NewGauge("G-90", "torque_wrench", "new wrench", "ft-lb")
    take_in_gauge(gauge=new, by=bench.people["eve"], now=bench.later(minutes=1))
    found = refused(lambda: bench.enter(every, "12.4", "105", gauge="G-90"), GaugeRefused)
    assert "has no calibration on record" in found.text


def test_retiring_a_gauge_refuses_the_next_reading_on_a_page_that_is_open(bench: Bench, every: Visit) -> None:
    bench.enter(every, "12.4", "105")
    retire_gauge(gauge=bench.gauges["G-3"], reason="dropped", by=bench.people["eve"], now=bench.later(minutes=1))
    found = refused(lambda: bench.enter(every, "12.4", "106", reason="again"), GaugeRefused)
    assert ("G-3 is retired. Take another torque wrench" in found.text, found.field) == (True, "gauge")


@pytest.mark.parametrize(("who", "said"), [("wim", "is for assembler"), ("eve", "is for assembler"), ("", "badge")])
def test_who_may_not_enter_here(bench: Bench, every: Visit, who: str, said: str) -> None:
    bench.people[""] = Who(None)
    assert said in refused(lambda: bench.enter(every, "12.7", "x", who=who), NotYours).text


def test_a_person_who_was_retired_meanwhile_is_refused(bench: Bench, every: Visit) -> None:
    ada = bench.people["ada"].person
    assert ada is not None
    type(ada).objects.filter(pk=ada.pk).update(retired_at=bench.now)
    refused(lambda: bench.enter(every, "12.7", "x"), NotYours)


def test_a_skill_is_asked_for_on_the_day_and_a_month_that_is_too_short_ends_it_on_its_last_day(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Valid up to, not including, the last use and six calendar months, the day clamped: 31 Aug gives 28 Feb."""
    wim, axle = bench.people["wim"], bench.axle()
    assert wim.person is not None

    def take(at: datetime) -> Visit:
        return take_up(bench=axle, key="14/", by=wim, now=at)

    assert "is not qualified for" in refused(lambda: take(local(date(2030, 9, 1), 8)), NotYours).text
    skill = Qualification("gas_metal_arc", date(2030, 8, 31), None, 6, "test piece")
    give_skill(person=wim.person, skill=skill, by=bench.people["mo"], now=local(date(2030, 8, 31), 8))
    assert "lapsed on 28 Feb 2031" in refused(lambda: take(local(date(2031, 2, 28), 0)), NotYours).text
    visit = take(local(date(2031, 2, 27), 23, 50))
    monkeypatch.setattr(bench, "now", local(date(2031, 2, 27), 23, 55))
    calibrated(bench, "G-6", date(2031, 2, 1), date(2031, 12, 1))
    assert bench.enter(visit, "14.1", "240", who="wim").reading.verdict == "in"
    monkeypatch.setattr(bench, "now", local(date(2031, 2, 28), 0))
    lapsed = refused(lambda: bench.enter(visit, "14.1", "250", who="wim", reason="hotter"), NotYours)
    assert "lapsed on 28 Feb 2031" in lapsed.text


def test_an_operation_that_is_not_in_hand_takes_nothing(bench: Bench, bore: Visit) -> None:
    set_down(visit=bore, note="", by=bench.people["ada"], now=bench.later(minutes=1))
    assert "set down. Take it up again" in refused(lambda: bench.enter(bore, "10.1", "3.063", position="A")).text
    assert bore.axle is not None
    bore = bench.begin(bore.axle, 10, "ben")
    for position in ("A", "B"):
        bench.enter(bore, "10.1", "3.063", position=position, who="ben")
    finish(visit=bore, grant=bench.grant("ben"), by=bench.people["ben"], now=bench.later(minutes=1))
    assert "no longer in hand: it is done" in refused(
        lambda: bench.enter(bore, "10.1", "3.063", position="A", reason="late"), MovedOn
    ).text  # fmt: skip


def test_an_operation_that_has_not_begun_has_no_place_to_enter(bench: Bench) -> None:
    axle = bench.axle()
    assert "cannot start yet: after 10" in refused(lambda: bench.begin(axle, 20), NotReady).text


def test_the_pass_of_another_axle_does_not_take_what_is_not_its_own(bench: Bench, bore: Visit, every: Visit) -> None:
    found = refused(lambda: bench.enter(bore, "12.4", "105"))
    assert "Operation 10 has no characteristic 12.4" in found.text
    other = bench.begin(bench.axle(), 10)
    bench.enter(other, "10.1", "3.0630", position="A")
    assert bench.blanks(bore) == ["10.1 A", "10.1 B", "10.2"]


def test_a_tag_on_the_axle_stops_every_entry(bench: Bench, bore: Visit) -> None:
    assert bore.axle is not None
    tag = tag_axle(axle=bore.axle, cause="crack in the housing", by=bench.people["cy"], now=bench.later(minutes=1))
    found = refused(lambda: bench.enter(bore, "10.1", "3.063", position="A"), Stopped)
    assert f"Stopped by red tag {tag.number}: crack in the housing" in found.text


def test_a_tag_on_one_side_does_not_keep_the_other_from_being_signed(bench: Bench) -> None:
    axle = bench.axle()
    left, right = (bench.begin(axle, 16, side=side) for side in ("left", "right"))
    for visit in (left, right):
        bench.enter(visit, "16.1", "yes")
    report_wrong(visit=left, cause="dented", by=bench.people["ada"], now=bench.later(minutes=1))
    with pytest.raises(NotSignable, match="is open: dented"):
        bench.sign(left)
    assert bench.sign(right).state == "done"


def test_control_the_same_entry_is_taken_where_nothing_stands_against_it(bench: Bench, bore: Visit) -> None:
    before = Reading.objects.count(), Event.objects.count()
    bench.enter(bore, "10.1", "3.063", position="A", who="ben", gauge="~G:G-1", ring="~G:G-2")
    assert (Reading.objects.count(), Event.objects.count()) == (before[0] + 1, before[1] + 1)
