"""Signing: nothing is signed around a blank, and a hold is signed by somebody who did none of the work."""

from __future__ import annotations

from datetime import timedelta

import pytest

from builds.actions.finishing import finish, sign_second
from builds.actions.receiving_heats import free_heat
from builds.errors import MovedOn, NotSignable, NotYours
from builds.models import Done, Hold, Span, Visit
from builds.permissions import doers_of
from builds.scenario.driver import Builder
from shop.actions.people import give_role, issue_badge, revoke_badge
from shop.clock import shop_day
from shop.models import Heat, Role
from shop.record.who import SYSTEM, Who
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def pattern(floor: Floor) -> tuple[Builder, Visit]:
    """The contact pattern is read and signed by its doer, and waits for its hold."""
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=270)
    visit = builder.begin("270/")
    builder.fill(visit)
    return builder, builder.sign_doer(visit)


def sign_hold(floor: Floor, pattern: tuple[Builder, Visit], code: str) -> Visit:
    builder, visit = pattern
    builder.now += timedelta(minutes=5)
    by = floor.who(code)
    return sign_second(visit=visit, part="hold", grant=builder.grant(by, "checked"), by=by, now=builder.now)


def test_the_doers_signature_leaves_it_waiting(pattern: tuple[Builder, Visit]) -> None:
    assert pattern[1].state == "wait_sign"
    assert not Hold.objects.filter(visit=pattern[1]).exists()


@pytest.mark.parametrize("code", ["ingrith", "calla"])
def test_a_hold_is_signed_by_one_who_may(floor: Floor, pattern: tuple[Builder, Visit], code: str) -> None:
    assert sign_hold(floor, pattern, code).state == "done"


def test_a_role_that_may_not_is_refused(floor: Floor, pattern: tuple[Builder, Visit]) -> None:
    with pytest.raises(NotYours, match="is signed by lead builder or inspector"):
        sign_hold(floor, pattern, "noor")


def test_the_doer_is_refused_even_with_the_role_and_a_second_badge(
    floor: Floor, pattern: tuple[Builder, Visit]
) -> None:
    rusk = floor.people["rusk"]
    now = pattern[0].now
    give_role(person=rusk, role=Role.INSPECTOR, valid_from=shop_day(now) - timedelta(days=1), by=SYSTEM, now=now)
    revoke_badge(person=rusk, reason="lost", by=SYSTEM, now=now)
    issue_badge(person=rusk, code="TB-RUSK-SECOND", by=SYSTEM, now=now)
    with pytest.raises(NotYours, match="did some of the work that this signature looks at"):
        sign_hold(floor, pattern, "rusk")


def test_a_blank_is_named(floor: Floor, pattern: tuple[Builder, Visit]) -> None:
    builder, visit = pattern
    sign_hold(floor, pattern, "calla")
    visit = builder.begin("280/")
    by = floor.who("rusk", "AX")
    with pytest.raises(NotSignable) as refused:
        finish(visit=visit, grant=builder.grant(by, "did"), by=by, now=builder.now)
    assert any(said.startswith("280.1 ") and said.endswith("no reading.") for said in refused.value.missing)
    assert any("pinion" in said and "not scanned in" in said for said in refused.value.missing)


def bought_off_by(floor: Floor, pattern: tuple[Builder, Visit], code: str) -> Visit:
    builder, _ = pattern
    sign_hold(floor, pattern, "calla")
    builder.run(until=420)
    visit = builder.begin("420/")
    builder.fill(visit)
    by = floor.who(code, "FT")
    return finish(visit=visit, grant=builder.grant(by, "did"), by=by, now=builder.now)


def test_inspecting_is_not_doing(floor: Floor, pattern: tuple[Builder, Visit]) -> None:
    """House rule, "Inspecting is not doing": looks at 90, 160 and 165 were his only part in this axle. Until now this
    test pinned the opposite, which took every inspector who had looked at a weld for one of its doers."""
    axle, wenzel = pattern[0].axle, floor.people["wenzel"]
    looks = Visit.objects.filter(axle=axle, operation__number__in=(90, 160, 165))
    assert set(looks.values_list("hold__signature__person", flat=True)) == {wenzel.pk}
    assert wenzel.pk not in doers_of(axle, (90, 160, 165))
    assert bought_off_by(floor, pattern, "wenzel").state == "done"


def test_control_straightening_at_the_look_is_doing(floor: Floor, pattern: tuple[Builder, Visit]) -> None:
    """Who was at 160 and did not sign the look straightened there: doing, though the same person may inspect."""
    builder, _ = pattern
    rusk = floor.people["rusk"]
    look = Visit.objects.get(axle=builder.axle, operation__number=160)
    Span.objects.create(visit=look, person=rusk, begun_at=builder.now, ended_at=builder.now)
    assert rusk.pk in doers_of(builder.axle, [160])
    assert floor.people["wenzel"].pk not in doers_of(builder.axle, [160])


@pytest.mark.parametrize(("part", "did"), [("on reject", False), ("beside", True)])
def test_only_a_signature_on_a_rejected_value_is_no_doing(
    floor: Floor, pattern: tuple[Builder, Visit], part: str, *, did: bool
) -> None:
    builder, visit = pattern
    sign_hold(floor, pattern, "ingrith")
    Done.objects.create(visit=visit, signature=Hold.objects.get(visit=visit).signature, part=part)
    assert (floor.people["ingrith"].pk in doers_of(builder.axle, [270])) is did


def test_the_first_use_of_a_heat_waits_for_one_inspector_shop_wide(floor: Floor) -> None:
    now = floor.now + timedelta(days=20)
    heat = Heat.objects.get(item__mark="Q7714")
    Heat.objects.filter(pk=heat.pk).update(status="held", freed_by=None, freed_at=None)
    first, second = floor.axles(2)
    builder = floor.builder(first)
    builder.now = now
    builder.do("10/")
    visit = builder.begin("20/")
    builder.fill(visit)
    assert builder.sign_doer(visit).state == "wait_sign"
    by = floor.who("calla")
    sign_second(visit=visit, part="hold", grant=builder.grant(by, "checked"), by=by, now=builder.now)
    assert Heat.objects.get(pk=heat.pk).status == "free"
    other = floor.builder(second)
    other.now = builder.now
    other.do("10/")
    visit = other.begin("20/")
    other.fill(visit)
    assert other.sign_doer(visit).state == "done"


@pytest.mark.parametrize("where", ["another axle's hold", "the drawer"])
def test_a_pass_that_waits_on_a_heat_freed_elsewhere_is_still_signed(floor: Floor, where: str) -> None:
    """The control is an axle whose doer signs after the heat was freed: it waits for nobody."""
    heat = Heat.objects.select_related("item").get(item__mark="Q7714")
    Heat.objects.filter(pk=heat.pk).update(status="held", freed_by=None, freed_at=None)
    first, second, third = (floor.builder(axle) for axle in floor.axles(3))
    waiting = [to_the_hold(builder, floor) for builder in (first, second)]
    by = floor.who("calla")
    if where == "the drawer":
        free_heat(heat=heat, grant=first.grant(by, "released"), by=by, now=second.now)
    else:
        assert hold_signed(waiting[0], floor, second) == "done"
    assert Heat.objects.get(pk=heat.pk).status == "free"
    assert hold_signed(waiting[1], floor, second) == "done"
    third.now = second.now + timedelta(hours=1)
    assert to_the_hold(third, floor).state == "done"


def to_the_hold(builder: Builder, floor: Floor) -> Visit:
    builder.now = max(builder.now, floor.now + timedelta(days=20))
    builder.do("10/")
    visit = builder.begin("20/")
    builder.fill(visit)
    return builder.sign_doer(visit)


def hold_signed(visit: Visit, floor: Floor, builder: Builder) -> str:
    by = floor.who("calla")
    return sign_second(visit=visit, part="hold", grant=builder.grant(by, "checked"), by=by, now=builder.now).state


def test_a_pass_read_before_the_lock_is_looked_at_again(floor: Floor) -> None:
    """Two hold the same pass as in hand; what the first one's signature changed is seen under the lock."""
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.do("10/")
    visit = builder.begin("200/")
    builder.fill(visit)
    read_before = Visit.objects.select_related(
        "operation__station", "item__unit", "axle__item", "axle__revision__model"
    ).get(pk=visit.pk)
    builder.sign(visit)
    by = Who(builder.doer)
    with pytest.raises(MovedOn, match="no longer in hand"):
        finish(visit=read_before, grant=builder.grant(by, "did"), by=by, now=builder.now)
    assert Done.objects.filter(visit=visit, part="doer").count() == 1
