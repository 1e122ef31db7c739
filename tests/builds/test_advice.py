"""Advice at the bench: worked out under the same lock as the entry, kept beside its try, never in its way."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from builds.actions.adding import void_reading
from builds.models import Visit
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from measurements.bench.answer import Answer, Tone
from measurements.models import Advised
from shop.record.models import Event
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db

LOOSE_LEFT = {"50.3": "3.0632", "50.6": "3.0650"}  # .0018 in
TIGHT_RIGHT = {"50.3": "3.0625", "50.6": "3.0650"}  # .0025 in


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def press(floor: Floor) -> Builder:
    """Both tubes bored, each to its own size; the spindles are to be pressed."""
    axle = floor.axle()
    builder = Builder(
        floor.shop,
        axle,
        floor.now + timedelta(minutes=5),
        floor.builder(axle).values,
        by_slot={"50/left": LOOSE_LEFT, "50/right": TIGHT_RIGHT},
    )
    builder.kit()
    builder.run(until=70)
    return builder


def told(visit: Visit) -> list[tuple[str, Answer, str]]:
    """Every answer kept at this pass, oldest first: its side, the answer, and after which entry."""
    rows = Advised.objects.filter(sheet__visit_links__visit=visit).select_related("after__characteristic")
    return [
        (row.side, Answer.from_json(row.answer), row.after.characteristic.code if row.after else "")
        for row in rows.order_by("pk")
    ]


def pair(answer: Answer) -> str:
    return answer.lines[0].value


@pytest.mark.parametrize(("side", "interference"), [("left", "0.0018 in"), ("right", "0.0025 in")])
def test_before_the_ram_moves_the_pair_in_hand_is_told(press: Builder, side: str, interference: str) -> None:
    visit = press.begin(f"70/{side}")
    ((_, answer, after),) = told(visit)
    assert (pair(answer), answer.tone, after) == (interference, Tone.KNOW, "")


def test_the_peak_is_judged_for_the_pair_and_both_answers_stay(press: Builder) -> None:
    """A peak inside the card's window (3520 to 19100 lbf), but too much for this pair, is told; it is no refusal."""
    visit = press.begin("70/left")
    press.enter_code(visit, "70.a", "press oil")
    (taken,) = press.enter_code(visit, "70.1", "15000")
    assert taken.reading.verdict == "in"
    answers = told(visit)
    assert [(answer.tone, after) for _, answer, after in answers] == [
        (Tone.KNOW, ""),
        (Tone.KNOW, "70.a"),
        (Tone.STOP, "70.1"),
    ]
    assert "press oil" in answers[1][1].assumed[0]
    assert "15000 lbf is more than this pair should take" in answers[2][1].says
    event = Event.objects.filter(subject=press.axle.subject, kind="reading.entered").latest("pk")
    assert b"15000 lbf is more" in bytes(event.content)


def test_a_peak_declared_void_is_judged_no_more(floor: Floor, press: Builder) -> None:
    """The newest answer is the one without it; what was said of it stays in the record."""
    visit = press.begin("70/left")
    (taken,) = press.enter_code(visit, "70.1", "15000")
    assert press.doer is not None
    void_reading(reading=taken.reading, reason="the other spindle", by=floor.who(press.doer.code), now=press.now)
    assert [answer.tone for _, answer, _ in told(visit)] == [Tone.KNOW, Tone.STOP, Tone.KNOW]


def test_an_entry_that_changes_no_answer_keeps_none(press: Builder) -> None:
    visit = press.begin("70/left")
    before = len(told(visit))
    press.enter_code(visit, "70.b", "yes")
    assert len(told(visit)) == before


def test_an_operation_of_the_whole_axle_answers_for_each_side(press: Builder) -> None:
    press.by_slot = press.by_slot | {"40/left": {}, "40/right": {}}
    press.run(until=110)
    visit = press.begin("110/")
    assert [(side, answer.tone) for side, answer, _ in told(visit)] == [("left", Tone.KNOW), ("right", Tone.KNOW)]
    place = next(found for found in work_of(visit).places if (found.asked.code, found.position) == ("110.1", "right"))
    press.enter(visit, place, "9000")
    assert [(side, after) for side, _, after in told(visit)][2:] == [("right", "110.1")]


def test_an_operation_without_advice_asks_nothing_for_it(floor: Floor) -> None:
    """Control: one with advice does."""
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=60)
    asked = []
    for key, code in (("60/left", "60.a"), ("70/left", "70.a")):
        builder.run(until=int(key[:2]))
        visit = builder.begin(key)
        with CaptureQueriesContext(connection) as seen:
            builder.enter_code(visit, code)
        asked.append(any("measurements_advised" in query["sql"] for query in seen))
        builder.fill(visit)
        builder.sign(visit)
    assert asked == [False, True]
