"""The saw list of a whole shop (builds.reports.planning.cutting) and its page."""

from __future__ import annotations

from copy import deepcopy
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.actions.fitting import fit_part, take_out
from builds.actions.loose import tag_loose
from builds.actions.receiving import NewBar, take_in_bar
from builds.actions.removing import Out, remove_part
from builds.models import Axle, Fitted
from builds.reports.planning.cutting import CuttingPlan, cutting_plan, wanted_tubes
from builds.reports.planning.nesting import Saw
from builds.reports.waiting import house
from builds.scenario.driver import Builder
from shop.models import Heat, PartKind, Piece, Role
from tests.builds.floor import person
from tests.builds.pages import Browser, text_of
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
SAW = Saw(Decimal("0.0625"), Decimal("0.5"))


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def sawyer(floor: Floor) -> Builder:
    """With an axle whose steel is looked at: each side's heat is cited, nothing is sawn."""
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=30)
    return builder


@pytest.fixture
def looked_at(sawyer: Builder) -> Axle:
    return sawyer.axle


def plan_now() -> CuttingPlan:
    return cutting_plan(timezone.now(), SAW)


def bar(floor: Floor, mark: str, length: str, heat: str = "Q7714") -> Piece:
    floor.stock.take_in_bar(heat, mark, floor.now, Decimal(length))
    return Piece.objects.select_related("item").get(item__mark=mark)


def cut_of(plan: CuttingPlan) -> dict[str, list[str]]:
    """The sides cut from each bar."""
    return {bar.cuts.bar.mark: [one.tube.side for one in bar.pieces] for kind in plan.kinds for bar in kind.bars}


def short_of(plan: CuttingPlan) -> list[str]:
    return sorted(tube.side for kind in plan.kinds for tube in kind.short)


def left_out(plan: CuttingPlan) -> dict[str, str]:
    return {one.mark: one.why for one in plan.left_out}


def test_each_side_is_cut_to_the_middle_of_its_limits(looked_at: Axle) -> None:
    """30.1: 24.80 to 24.92 in; 30.2: 29.18 to 29.30 in (the invented drawing)."""
    tubes = [tube for kind in plan_now().kinds for tube in kind.short]
    assert {tube.side: (str(tube.length), tube.axle) for tube in tubes} == {
        "left": ("24.86", looked_at), "right": ("29.24", looked_at),
    }  # fmt: skip


def test_a_piece_comes_from_the_heat_that_was_looked_at(floor: Floor, looked_at: Axle) -> None:
    """The looked-at heat is Q7714; a bar of R7120 would do by its length (the control: of Q7714 it does)."""
    assert set(Fitted.objects.filter(axle=looked_at, role__startswith="tube_stock").values_list("part__mark")) == {
        ("Q7714",)
    }
    bar(floor, "OTHER", "240", "R7120")
    assert (cut_of(plan_now()), short_of(plan_now())) == ({}, ["left", "right"])
    bar(floor, "OWN", "240")
    assert cut_of(plan_now()) == {"OWN": ["right", "left"]}


def made_anew(floor: Floor, sawyer: Builder) -> tuple[Builder, Fitted]:
    """The left tube was sawn of Q7714 and is scrapped; the look at its heat stands. Gives the look's row too."""
    builder = deepcopy(sawyer)
    visit = builder.begin("30/left")
    by = floor.who("tam", "TP")
    fitted = fit_part(visit=visit, scan="OWN", role="tube", by=by, now=builder.now)
    builder.enter_code(visit, "30.1", "24.86")
    take_out(fitted=fitted, reason="bored too big", to="scrap", by=by, now=builder.now)
    return builder, Fitted.objects.get(axle=builder.axle, role="tube_stock left")


def test_a_tube_made_anew_is_of_the_heat_that_the_look_names_now(floor: Floor, sawyer: Builder) -> None:
    """The look is taken out and done again with another heat: that one is asked for, and the old one no more."""
    bar(floor, "OWN", "240")
    builder, look = made_anew(floor, sawyer)
    assert {tube.side: tube.heats for tube in wanted_tubes(house(builder.now))} == {
        "left": ("Q7714",), "right": ("Q7714",),
    }, "the control: while the look stands, its heat"  # fmt: skip
    assert cut_of(plan_now())["OWN"] == ["right", "left"]
    engineer = floor.who("wenzel")
    remove_part(fitted=look, out=Out("no more of it", "stock"), by=engineer, now=builder.now)
    (tube,) = (one for one in wanted_tubes(house(builder.now)) if one.side == "left")
    assert (tube.heats, tube.look_first) == (("Q7714",), False), "of what the other side's look covers"
    again = builder.begin("20/")
    fit_part(visit=again, scan="R7120", role="tube_stock left", by=floor.who("jory", "KR"), now=builder.now)
    (tube,) = (one for one in wanted_tubes(house(builder.now)) if one.side == "left")
    assert tube.heats[0] == "R7120"
    bar(floor, "OTHER", "240", "R7120")
    assert cut_of(plan_now()) == {"OWN": ["right"], "OTHER": ["left"]}


def test_a_tube_made_anew_may_come_of_the_other_sides_heat_when_its_own_is_gone(floor: Floor, sawyer: Builder) -> None:
    """As the saw takes it; the right side, of which nothing came out, keeps to its own."""
    bar(floor, "OWN", "50")
    builder, look = made_anew(floor, sawyer)
    remove_part(fitted=look, out=Out("wrong paper", "stock"), by=floor.who("wenzel"), now=builder.now)
    again = builder.begin("20/")
    fit_part(visit=again, scan="R7120", role="tube_stock left", by=floor.who("jory", "KR"), now=builder.now)
    bar(floor, "MORE", "240")
    left, right = sorted(wanted_tubes(house(builder.now)), key=lambda one: one.side)
    assert (left.heats, right.heats) == (("R7120", "Q7714"), ("Q7714",))
    assert cut_of(plan_now())["MORE"] == ["right", "left"]


def test_before_a_look_any_heat_is_planned_and_the_look_is_asked_for(floor: Floor) -> None:
    axle = floor.axle()
    bar(floor, "ANY", "240", "R7120")
    mine = [one for one in wanted_tubes(house(timezone.now())) if one.axle == axle]
    assert [(one.heats, one.look_first) for one in mine] == [((), True), ((), True)]
    page = text_of(Browser(person(Role.TUBE_PREP)).get(reverse("cutting")))
    assert f"{axle.serial} look at heat R7120 first" in page


def test_the_remnant_goes_first_and_the_marks_are_those_of_the_saw(floor: Floor, sawyer: Builder) -> None:
    bar(floor, "WHOLE", "240")
    bar(floor, "REST", "56")
    plan = plan_now().kinds[0]
    assert [one.mark for one in plan.bars[0].pieces] == ["REST-1", "REST-2"]
    # 56 - .5 - 29.24 - .0625 - 24.86 - .0625 (calculated)
    assert plan.bars[0].remnant == Decimal("1.275")
    assert (plan.used, plan.at_most_better) == (Decimal(56), Decimal(0))
    builder = deepcopy(sawyer)
    visit = builder.begin("30/right")
    fitted = fit_part(visit=visit, scan="REST", role="tube", by=floor.who("tam", "TP"), now=builder.now)
    assert fitted.part.mark == "REST-1"


def test_a_bar_is_shorter_by_what_was_sawn_from_it(floor: Floor, sawyer: Builder) -> None:
    """Until the sawn length is read nobody knows what is left of the bar."""
    bar(floor, "CUT", "56")
    builder = deepcopy(sawyer)
    visit = builder.begin("30/right")
    fit_part(visit=visit, scan="CUT", role="tube", by=floor.who("tam", "TP"), now=builder.now)
    plan = plan_now()
    assert (cut_of(plan), short_of(plan), left_out(plan)) == (
        {}, ["left"], {"CUT": "the sawn length of CUT-1 is not read yet"},
    )  # fmt: skip
    builder.enter_code(visit, "30.2", "29.20")
    plan = plan_now()
    assert (cut_of(plan), left_out(plan)) == ({"CUT": ["left"]}, {})
    # 56 - (29.20 + .0625) is left on the rack; less the trimmed end, 24.86 and its kerf (calculated)
    assert plan.kinds[0].bars[0].length == Decimal("26.7375")
    assert plan.kinds[0].bars[0].pieces[0].mark == "CUT-2"


def test_what_may_not_be_used_is_named(floor: Floor, looked_at: Axle) -> None:
    kind = PartKind.objects.get(code="tube_piece")
    take_in_bar(bar=NewBar("BLANK", kind, None, Decimal(240), mark_readable=False), by=floor.who("jory"), now=floor.now)
    take_in_bar(
        bar=NewBar("LONG", kind, Heat.objects.get(item__mark="Q7714"), None), by=floor.who("jory"), now=floor.now
    )
    tagged = bar(floor, "BENT", "240")
    tag = tag_loose(item=tagged.item, cause="bent", by=floor.who("calla"), now=floor.now)
    plan = plan_now()
    assert left_out(plan) == {
        "BLANK": "its heat is not determinable",
        "LONG": "its length was not recorded when it was taken in",
        "BENT": f"red tag {tag.number} is open",
    }
    assert (cut_of(plan), short_of(plan)) == ({}, ["left", "right"])


def test_the_queries_do_not_grow(floor: Floor, looked_at: Axle) -> None:
    bar(floor, "ONE", "240")
    with CaptureQueriesContext(connection) as few:
        assert len(cut_of(plan_now())) == 1
    for number in range(3):
        bar(floor, f"MORE-{number}", "60")
    floor.axles(2)
    with CaptureQueriesContext(connection) as many:
        assert len(cut_of(plan_now())) > 1
    assert len(many) == len(few) <= 14


def test_the_page_draws_the_list_and_keeps_what_was_typed(floor: Floor, looked_at: Axle) -> None:
    bar(floor, "REST", "56")
    page = Browser(person(Role.TUBE_PREP))
    said = text_of(page.get(reverse("cutting")))
    assert "54.1 in of pieces out of 1 bar, 56 in long together" in said
    assert "Remnant: 1.275 in. It keeps heat Q7714" in said
    wide = text_of(page.get(reverse("cutting"), {"kerf": "1", "trim": "2"}))
    assert "No bar at hand gives" in wide
    answer = page.get(reverse("cutting"), {"kerf": "0,06", "trim": "99"})
    assert answer.status_code == 200
    assert 'value="0,06"' in answer.content.decode()
    assert "has a comma" in text_of(answer)
    assert "from 0 to 12 in, not 99" in text_of(answer)
    assert "Blank is not zero; type 0 for none" in text_of(page.get(reverse("cutting"), {"kerf": "", "trim": "0"}))
