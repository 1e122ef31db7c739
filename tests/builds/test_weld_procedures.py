"""A weld names a procedure that was in force on the day of its arc and is qualified for its process."""

from __future__ import annotations

from copy import deepcopy
from datetime import timedelta

import pytest

from builds.actions.claiming import OnPaper
from builds.actions.finishing import finish
from builds.actions.reopening import reopen
from builds.definitions.words import Tracking
from builds.models import Done, Visit, Weld, WeldProcedure
from builds.reports.kit import needs_of
from builds.scenario.driver import Builder
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import SkillUse
from shop.record.act import act
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def before(floor: Floor) -> Builder:
    """Everything before the spindle weld is done, and its wire and gas are open on that day."""
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=80)
    for need in needs_of(builder.axle, [builder.axle.plan.slot("80/left")]):
        if need.tracking is Tracking.BULK:
            floor.stock.find(builder.axle, need, builder.now)
    return builder


@pytest.fixture
def builder(before: Builder) -> Builder:
    return deepcopy(before)


def procedure(builder: Builder) -> WeldProcedure:
    weld = builder.axle.plan.slot("80/left").operation.welds[0]
    return WeldProcedure.objects.get(code=weld.procedure, revision=weld.procedure_revision)


def change(builder: Builder, **fields: object) -> None:
    WeldProcedure.objects.filter(pk=procedure(builder).pk).update(**fields)


def welded(builder: Builder, paper: OnPaper | None = None) -> Visit:
    visit = builder.begin("80/left", paper=paper)
    builder.fill(visit)
    return builder.sign_doer(visit)


def test_control_the_procedure_of_the_card_is_signed(builder: Builder) -> None:
    visit = welded(builder)
    assert set(Weld.objects.filter(visit=visit).values_list("procedure", flat=True)) == {procedure(builder).pk}


def test_a_procedure_for_another_process_is_refused(builder: Builder) -> None:
    change(builder, process="gas_tungsten_arc")
    with pytest.raises(Refusal, match="this joint is welded by"):
        welded(builder)


def test_a_withdrawn_procedure_is_refused_today(builder: Builder) -> None:
    change(builder, withdrawn_on=shop_day(builder.now))
    with pytest.raises(Refusal, match="was not in force on"):
        welded(builder)


def test_work_on_paper_is_judged_by_the_day_of_the_arc(builder: Builder, floor: Floor) -> None:
    """Welded the day before the procedure was withdrawn, entered after; the control is the same the other way."""
    arc = builder.now
    builder.now += timedelta(days=2)
    change(builder, withdrawn_on=shop_day(arc) + timedelta(days=1))
    visit = welded(builder, OnPaper(floor.people["isolde"], arc))
    assert {shop_day(weld.ended_at) for weld in Weld.objects.filter(visit=visit)} == {shop_day(arc)}


def test_control_a_procedure_released_after_the_arc_was_not_in_force_then(builder: Builder, floor: Floor) -> None:
    arc = builder.now
    builder.now += timedelta(days=2)
    change(builder, released_on=shop_day(arc) + timedelta(days=1))
    with pytest.raises(Refusal, match="was not in force on"):
        welded(builder, OnPaper(floor.people["isolde"], arc))


def uses() -> int:
    return SkillUse.objects.filter(person__code="isolde", process="gas_metal_arc").count()


@pytest.mark.parametrize(("asked", "more"), [("80.2", 0), ("", 1)], ids=["no arc", "control, with its arc"])
def test_a_pass_without_an_arc_renews_no_skill(builder: Builder, asked: str, more: int) -> None:
    """The single welds are those of 80.1, not of 80.2. A later day, so that a use would be a new one."""
    visit = welded(builder)
    weld = builder.axle.plan.slot("80/left").operation.welds[0]
    assert weld.positions_of == "80.1"
    with act("work.reopened", subject=builder.axle.subject, by=builder.shop.who(builder.doer), now=builder.now) as a:
        reopen(a, builder.axle, {"80/left": [asked] if asked else []}, cause="rework", reason="measured again")
    builder.now += timedelta(days=1)
    before = uses()
    again = welded(builder)
    assert again.number == visit.number + 1
    assert uses() == before + more


@pytest.mark.parametrize("signer", ["bram", "isolde"])
def test_the_welder_is_who_laid_the_arc_whoever_signs(builder: Builder, floor: Floor, signer: str) -> None:
    """Two welders at one pass: the record names her who stood at the weld, and her skill is the one that was used. The
    control signs herself."""
    day = shop_day(builder.now + timedelta(days=2))
    builder.now += timedelta(days=2)
    builder.hands["80/left"] = floor.people["isolde"]
    visit = builder.begin("80/left")
    builder.fill(visit)
    by = floor.who(signer, "WB")
    visit = finish(visit=visit, grant=builder.grant(by, "did"), by=by, now=builder.now)
    assert {weld.welder.code for weld in visit.welds.all()} == {"isolde"}
    assert set(SkillUse.objects.filter(on=day).values_list("person__code", flat=True)) == {"isolde"}
    assert Done.objects.get(visit=visit).signature.person == by.person


@pytest.mark.parametrize(("length", "fits"), [(300, True), (301, False)])
def test_a_reason_is_kept_whole_or_refused(builder: Builder, length: int, *, fits: bool) -> None:
    visit = welded(builder)
    with act("work.reopened", subject=builder.axle.subject, by=builder.shop.who(builder.doer), now=builder.now) as a:
        if fits:
            reopen(a, builder.axle, {"80/left": []}, cause="rework", reason="x" * length)
            assert len(Visit.objects.get(pk=visit.pk).reopenings.get().reason) == length
        else:
            with pytest.raises(Refusal, match="longer than 300 characters"):
                reopen(a, builder.axle, {"80/left": []}, cause="rework", reason="x" * length)
