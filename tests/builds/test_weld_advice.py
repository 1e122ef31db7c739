"""At the weld bench, in paint and at the test stand the advice knows the steel, the hands and the wire, and is kept."""

from __future__ import annotations

from dataclasses import replace

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from builds.actions.claiming import take_up
from builds.actions.fitting import take_out
from builds.models import Fitted, Visit
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from measurements.bench.answer import Answer, Tone
from measurements.models import Advised
from shop.actions.skills import end_skill
from shop.models import Skill
from shop.record.who import SYSTEM
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def welding(floor: Floor) -> Builder:
    """Both spindles pressed; the first is to be welded."""
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=80)
    return builder


def told(visit: Visit, name: str) -> list[Answer]:
    """Every answer to one advice kept at this pass, oldest first."""
    rows = Advised.objects.filter(sheet__visit_links__visit=visit, name=name).order_by("pk")
    return [Answer.from_json(row.answer) for row in rows]


def test_before_the_arc_the_steel_the_hands_and_the_missing_wire_are_told(floor: Floor, welding: Builder) -> None:
    visit = welding.begin("80/left")
    (heat,) = told(visit, "preheat")
    assert (heat.tone, heat.says) == (Tone.DO, "Heat to at least 300 °F (149 °C), measured on both sides.")
    assert [line.note for line in heat.lines if line.name == "CET"] == ["Heat Q7714"]
    (arc,) = told(visit, "arc_energy")
    assert (arc.tone, len(arc.reason)) == (Tone.UNKNOWN, 4)
    (hands,) = told(visit, "welder_and_wire")
    assert welding.doer is not None
    assert (hands.tone, hands.lines[0].value) == (Tone.DO, welding.doer.name)
    assert hands.lines[1].value == "W-12 rev 3"
    assert "No wire is scanned yet" in hands.says


def test_a_spool_scanned_in_or_taken_out_is_told_at_once(floor: Floor, welding: Builder) -> None:
    """The gas, which no advice is told of, gives no new answer."""
    visit = welding.begin("80/left")
    welding.fit(visit)
    before, after = told(visit, "welder_and_wire")
    assert (before.tone, after.tone) == (Tone.DO, Tone.GO)
    assert "opened on" in after.lines[2].note
    spool = Fitted.objects.get(visit=visit, role="weld_wire")
    take_out(fitted=spool, reason="tangled", to="scrap", by=floor.who("isolde"), now=welding.now)
    assert [answer.tone for answer in told(visit, "welder_and_wire")] == [Tone.DO, Tone.GO, Tone.DO]


def test_what_was_advised_and_what_was_done_are_both_kept(welding: Builder) -> None:
    visit = welding.begin("80/left")
    welding.enter_code(visit, "80.1", "310")
    assert [answer.tone for answer in told(visit, "preheat")] == [Tone.DO, Tone.GO]
    for code, text in (("80.2", "320"), ("80.3", "25.0"), ("80.4", "210"), ("80.a", "9.60")):
        welding.enter_code(visit, code, text)
    assert told(visit, "arc_energy")[-1].says.endswith("the arc time is not read yet.")
    welding.enter_code(visit, "80.b", "52")
    last = told(visit, "arc_energy")[-1]
    assert (last.tone, last.lines[0].value) == (Tone.GO, "28.4 kJ/in")
    row = Advised.objects.filter(sheet__visit_links__visit=visit, name="arc_energy").latest("pk")
    assert row.after is not None
    assert row.after.characteristic.code == "80.b"


def test_a_welder_whose_skill_was_ended_is_refused_by_the_action_as_before(floor: Floor, welding: Builder) -> None:
    """The advice refuses nothing: the refusal stays where it was."""
    visit = welding.begin("80/left")
    assert welding.doer is not None
    skill = Skill.objects.get(person=welding.doer, process="gas_metal_arc")
    end_skill(skill=skill, reason="eye test", by=SYSTEM, now=welding.now)
    with pytest.raises(Exception, match="gas-metal-arc welding lapsed"):
        welding.enter_code(visit, "80.1", "310")
    with pytest.raises(Exception, match="lapsed"):
        take_up(bench=welding.axle, key="80/right", by=floor.who(welding.doer.code), now=welding.now)


def test_each_entry_asks_a_constant_number_of_questions(welding: Builder) -> None:
    """The steel is asked for with a preheat or interpass only; the arc, the welder and the wire not at all then."""
    visit = welding.begin("80/left")
    welding.fit(visit)
    welding.enter_code(visit, "80.1", "310")
    first = next(place for place in work_of(visit).places if place.asked.code == "80.2")
    asked = []
    for number in range(1, 4):
        with CaptureQueriesContext(connection) as seen:
            welding.enter(visit, replace(first, position=f"pass {number}"), "320")
        asked.append([query["sql"] for query in seen if not query["sql"].startswith(("SAVEPOINT", "RELEASE"))])
    counts = [len(one) for one in asked]  # the first interpass gives a new answer, which is one row more
    assert counts == [counts[1] + 1, counts[1], counts[1]]
    for table, wanted in (("builds_fitted", 1), ("builds_weldprocedure", 0), ("shop_drum", 0)):
        assert sum(f'FROM "{table}"' in sql for sql in asked[0]) == wanted


def test_a_plug_weld_is_told_of_the_steel_of_both_tubes(welding: Builder) -> None:
    welding.run(until=130)
    visit = welding.begin("130/")
    (answer,) = told(visit, "preheat")
    assert "V, Ni, Cu not on its certificate" in answer.assumed[1]
    # CET .416, 12.7 mm, 5 ml/100 g, 0.9 kJ/mm: 117.6 °C, 243.7 °F (calculated)
    assert [line.value for line in answer.lines if line.name == "by the chemistry"] == ["244 °F"]


def test_paint_film_gear_and_housing_are_advised_where_the_card_says(welding: Builder) -> None:
    welding.run(until=180)
    paint = welding.begin("180/")
    assert told(paint, "wet_film")[0].says.startswith("Lay 5.5 to 9.2 mil wet")
    for code, text in (("180.d", "68"), ("180.e", "60"), ("180.f", "80")):
        welding.enter_code(paint, code, text)
    tones = [answer.tone for answer in told(paint, "dew_point")]
    assert (set(tones[:-1]), tones[-1]) == ({Tone.UNKNOWN}, Tone.WAIT)
