"""Taking up an operation: order, role, skill, station, waits, other hands, work on paper."""

from __future__ import annotations

from datetime import datetime, time, timedelta

import pytest

from builds.actions.adding import shorten_wait
from builds.actions.claiming import OnPaper, set_down, take_up
from builds.actions.fitting import fit_part
from builds.actions.reopening import reopen, reopen_for_cause
from builds.errors import MovedOn, NotReady, NotYours
from builds.models import Visit, Weld
from builds.reports.kit import needs_of, slot_of
from builds.scenario.driver import Builder
from shop.actions.signing import GRANT_LASTS, Grant
from shop.clock import shop_zone
from shop.errors import Refusal
from shop.models import SkillUse
from shop.record.act import act
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def kitted(floor: Floor) -> Builder:
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.do("10/")
    return builder


@pytest.fixture(scope="module")
def before_second_look(floor: Floor) -> Builder:
    """Everything up to the second look at the welds is done; the 48 h have begun."""
    floor.now += timedelta(days=1)
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=165)
    return builder


def test_what_comes_later_cannot_start(floor: Floor, kitted: Builder) -> None:
    with pytest.raises(NotReady, match="cannot start yet: after 20"):
        take_up(bench=kitted.axle, key="30/left", by=floor.who("tam", "TP"), now=kitted.now)


def test_the_carrier_may_start_beside_the_tubes(floor: Floor, kitted: Builder) -> None:
    assert take_up(bench=kitted.axle, key="200/", by=floor.who("rusk", "GB"), now=kitted.now).state == "in_hand"


def test_a_role_that_does_not_fit_is_refused(floor: Floor, kitted: Builder) -> None:
    with pytest.raises(NotYours, match="Pia Venneker does not hold that role"):
        take_up(bench=kitted.axle, key="200/", by=floor.who("pia"), now=kitted.now)


def test_another_stations_terminal_is_refused(floor: Floor, kitted: Builder) -> None:
    with pytest.raises(NotReady, match="this terminal stands at"):
        take_up(bench=kitted.axle, key="200/", by=floor.who("rusk", "TP"), now=kitted.now)


def test_a_second_pair_of_hands_is_told_who_has_it(floor: Floor, kitted: Builder) -> None:
    take_up(bench=kitted.axle, key="200/", by=floor.who("rusk", "GB"), now=kitted.now)
    with pytest.raises(MovedOn, match="in hand with Rusk Adeholm"):
        take_up(bench=kitted.axle, key="200/", by=floor.who("noor", "GB"), now=kitted.now)


def test_a_short_kit_may_start_up_to_the_operation_that_needs_the_part(floor: Floor) -> None:
    builder = floor.builder(floor.axle())
    builder.now = floor.now + timedelta(days=9)
    builder.do("10/")
    with pytest.raises(NotReady, match="short of"):
        take_up(bench=builder.axle, key="200/", by=floor.who("rusk", "GB"), now=builder.now)


@pytest.mark.parametrize(("minutes", "may"), [(47 * 60 + 50, False), (48 * 60, True)])
def test_the_second_look_waits_forty_eight_hours(
    floor: Floor, before_second_look: Builder, minutes: int, may: bool
) -> None:
    last = max(weld.entered_at for weld in _welds(before_second_look))
    at = last + timedelta(minutes=minutes)
    if may:
        assert take_up(bench=before_second_look.axle, key="165/", by=floor.who("wenzel", "WB"), now=at).number == 1
        return
    with pytest.raises(NotReady, match="10 min are left"):
        take_up(bench=before_second_look.axle, key="165/", by=floor.who("wenzel", "WB"), now=at)


def _welds(builder: Builder) -> list[object]:
    return [weld for visit in Visit.objects.filter(axle=builder.axle) for weld in visit.welds.all()]


def test_an_engineers_signed_reason_shortens_the_wait(floor: Floor, before_second_look: Builder) -> None:
    builder = before_second_look
    engineer = floor.who("wenzel")
    slot = builder.axle.plan.slot("165/")
    grant = Grant(floor.people["wenzel"], None, "released", builder.now + GRANT_LASTS)
    shorten_wait(axle=builder.axle, slot=slot, reason="preheat held 6 h", grant=grant, by=engineer, now=builder.now)
    assert take_up(bench=builder.axle, key="165/", by=floor.who("calla", "WB"), now=builder.now).number == 1


@pytest.mark.parametrize(("length", "kept"), [(300, True), (301, False)])
def test_a_reason_is_kept_whole_or_refused(floor: Floor, before_second_look: Builder, length: int, kept: bool) -> None:
    builder, engineer = before_second_look, floor.who("wenzel")
    grant = Grant(floor.people["wenzel"], None, "released", builder.now + GRANT_LASTS)
    slot, reason = builder.axle.plan.slot("165/"), "x" * length
    if kept:
        row = shorten_wait(axle=builder.axle, slot=slot, reason=reason, grant=grant, by=engineer, now=builder.now)
        assert row.reason == reason
        return
    with pytest.raises(Refusal, match="longer than 300"):
        shorten_wait(axle=builder.axle, slot=slot, reason=reason, grant=grant, by=engineer, now=builder.now)


def test_nobody_else_shortens_it(floor: Floor, before_second_look: Builder) -> None:
    builder = before_second_look
    grant = Grant(floor.people["tam"], None, "released", builder.now + GRANT_LASTS)
    with pytest.raises(NotYours, match="shortened only by engineer"):
        shorten_wait(
            axle=builder.axle, slot=builder.axle.plan.slot("165/"), reason="in a hurry", grant=grant,
            by=floor.who("tam"), now=builder.now,
        )  # fmt: skip


def test_a_lapsed_welder_is_refused_on_the_day(floor: Floor, before_second_look: Builder) -> None:
    axle = before_second_look.axle
    late = before_second_look.now + timedelta(days=220)
    with pytest.raises(NotYours, match="lapsed on"):
        take_up(bench=axle, key="80/left", by=floor.who("bram", "WB"), now=late)


def test_work_on_paper_is_marked_and_renews_no_skill(floor: Floor, kitted: Builder) -> None:
    builder = kitted
    builder.now = floor.now + timedelta(days=6)
    builder.run(until=80)
    builder.now += timedelta(hours=6)
    before = SkillUse.objects.filter(person=floor.people["bram"]).count()
    paper = OnPaper(floor.people["bram"], builder.now - timedelta(hours=5))
    visit = builder.do("80/left", paper=paper)
    weld = visit.welds.get()
    assert (visit.late, weld.late, weld.welder, weld.ended_at) == (True, True, paper.worked_by, paper.worked_at)
    assert SkillUse.objects.filter(person=floor.people["bram"]).count() == before


def test_paper_from_the_future_is_refused(floor: Floor, kitted: Builder) -> None:
    paper = OnPaper(floor.people["rusk"], kitted.now + timedelta(hours=1))
    with pytest.raises(Refusal, match="still to come"):
        take_up(bench=kitted.axle, key="200/", by=floor.who("rusk", "GB"), paper=paper, now=kitted.now)


def test_a_weld_pass_may_not_be_set_down(floor: Floor, before_second_look: Builder) -> None:
    builder = floor.builder(floor.axle())
    builder.now = before_second_look.now + timedelta(hours=1)
    builder.kit()
    builder.run(until=80)
    visit = builder.begin("80/left")
    with pytest.raises(NotReady, match="may not be set down: The joint must not fall below preheat"):
        set_down(visit=visit, note="lunch", by=floor.who("isolde", "WB"), now=builder.now)


def test_a_further_pass_is_the_same_piece_and_takes_no_number(floor: Floor) -> None:
    """Begun early in another shift than the other tests' axles, whatever the hour is now. The control is the first
    pass of the next axle."""
    first, second = floor.builder(floor.axle()), floor.builder(floor.axle())
    first.now = datetime.combine((first.now + timedelta(days=12)).date(), time(7), shop_zone())
    first.kit()
    second.kit()
    first.do("10/")
    assert first.do("200/").piece == 1
    reopen_for_cause(bench=first.axle, cause="differential", reason="ticks", by=floor.who("rusk"), now=first.now)
    again = first.begin("200/")
    assert (again.number, again.piece) == (2, 1)
    second.now = first.now
    second.do("10/")
    other = second.begin("200/")
    assert (other.number, other.piece) == (1, 2)


@pytest.mark.parametrize("rescan", [False, True])
def test_a_repair_weld_has_the_wire_on_record_or_the_spool_scanned_anew(
    floor: Floor, before_second_look: Builder, rescan: bool
) -> None:
    builder = before_second_look
    first = Weld.objects.get(visit__axle=builder.axle, visit__operation__number=80, item__unit__side="left")
    assert first.wire is not None
    with act("work.reopened", subject=builder.axle.subject, by=floor.who("calla"), now=builder.now) as a:
        reopen(a, builder.axle, {"80/left": []}, cause="test", reason="bead ground out")
    visit = builder.begin("80/left")
    if rescan:
        need = next(need for need in needs_of(builder.axle, [slot_of(visit)]) if need.role == "weld_wire")
        scan = builder.shop.find_part(builder.axle, need, builder.now)
        row = fit_part(visit=visit, scan=scan, role="weld_wire", by=floor.who("isolde", "WB"), now=builder.now)
        assert row.visit == visit
    builder.fill(visit)
    repair = builder.sign(visit).welds.get()
    assert (repair.repairs, repair.wire) == (first, row.part if rescan else first.wire)
