"""What must never be passed: no concession lets such a value stand, and where the card says that it rejects a part,
that part goes ("ring gear 275 °F: gear rejected"; the shipped cards' 210.1)."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from builds.actions.deciding import Decided, decide
from builds.actions.removing import Out, remove_part
from builds.actions.tagging import report_wrong
from builds.errors import Stopped
from builds.models import Concession, Disposition, Fitted, RedTag, Visit
from builds.scenario.driver import Builder
from shop.errors import Refusal
from tests.factories import signed_in_client
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def hot(floor: Floor) -> tuple[Builder, Visit]:
    """A ring gear read at 276 °F: the limit is 250, never above 275."""
    builder = floor.builder(floor.axle())
    builder.by_slot = {"210/": {"210.1": "276"}}
    builder.kit()
    for key in ("10/", "200/"):
        builder.do(key)
    visit = builder.begin("210/")
    with pytest.raises(Stopped):
        builder.fill(visit)
    return builder, visit


def tag_of(visit: Visit) -> RedTag:
    return RedTag.objects.open().get(reading__sheet__visit_links__visit=visit)


def gear_of(visit: Visit) -> Fitted:
    return Fitted.objects.now().get(host=visit.item, role="ring_gear")


def decided(floor: Floor, builder: Builder, tag: RedTag, what: Decided) -> Disposition:
    builder.now += timedelta(minutes=1)
    by = floor.who("wenzel")
    return decide(tag=tag, decided=what, grant=builder.grant(by, "released"), by=by, now=builder.now)


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("use_as_is", "276 F is beyond what must never be passed: it cannot be used as it is"),
        ("rework", "276 F rejects the ring gear: scrap it, or return it"),
        ("repair", "276 F rejects the ring gear"),
        ("scrap", "The ring gear is rejected. Choose it as the part that comes out"),
        ("return", "The ring gear is rejected. Choose it as the part that comes out"),
    ],
)
def test_no_other_decision_stands(floor: Floor, hot: tuple[Builder, Visit], word: str, says: str) -> None:
    builder, visit = hot
    with pytest.raises(Refusal, match=says):
        decided(floor, builder, tag_of(visit), Decided(word, "it looks well"))
    assert not Disposition.objects.filter(tag=tag_of(visit)).exists()
    assert not Concession.objects.exists()


def test_another_part_is_not_the_one(floor: Floor, hot: tuple[Builder, Visit]) -> None:
    builder, visit = hot
    other = Fitted.objects.now().filter(axle=builder.axle).exclude(role="ring_gear")[0]
    with pytest.raises(Refusal, match="The ring gear is rejected"):
        decided(floor, builder, tag_of(visit), Decided("scrap", "too hot", part=other))


@pytest.mark.parametrize("word", ["scrap", "return"])
def test_the_gear_goes(floor: Floor, hot: tuple[Builder, Visit], word: str) -> None:
    builder, visit = hot
    gear = gear_of(visit)
    decided(floor, builder, tag_of(visit), Decided(word, "too hot", part=gear))
    assert not Fitted.objects.now().filter(pk=gear.pk).exists()


def test_where_the_gear_is_out_the_work_is_done_again(floor: Floor, hot: tuple[Builder, Visit]) -> None:
    """The control of "rework": it is the part in place that is rejected."""
    builder, visit = hot
    tag = tag_of(visit)
    builder.now += timedelta(minutes=1)
    remove_part(fitted=gear_of(visit), out=Out("too hot", "scrap"), by=floor.who("calla"), now=builder.now)
    decided(floor, builder, tag, Decided("rework", "with another set"))
    visit.refresh_from_db()
    assert visit.state == "redo"


def test_what_somebody_saw_at_the_same_operation_may_stand(floor: Floor, hot: tuple[Builder, Visit]) -> None:
    """The control of "use as is": a tag without such a value."""
    builder, visit = hot
    builder.now += timedelta(minutes=1)
    seen = report_wrong(visit=visit, cause="a scratch", by=floor.who("rusk"), now=builder.now)
    assert decided(floor, builder, seen, Decided("use_as_is", "it is shallow")).decision == "use_as_is"


def test_the_page_offers_only_what_is_open(floor: Floor, hot: tuple[Builder, Visit]) -> None:
    tag = tag_of(hot[1])
    page = signed_in_client(floor.people["wenzel"]).get(reverse("red_tag", args=[tag.number])).content.decode()
    assert "276 F rejects the ring gear: scrap it, or return it to its supplier." in page
    offered = [word for word in ("use_as_is", "rework", "repair", "scrap", "return") if f'value="{word}"' in page]
    assert offered == ["scrap", "return"]
