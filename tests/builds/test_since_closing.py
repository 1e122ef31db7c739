"""What happened to an axle after its record was closed keeps it from being certified and from leaving."""

from __future__ import annotations

import pytest

from builds.actions.adding import shorten_wait
from builds.actions.closing import certify, close_axle
from builds.actions.deciding import Decided, decide
from builds.actions.removing import Out, remove_part
from builds.actions.shipping import Going, ship
from builds.actions.tagging import tag_axle
from builds.errors import NotReady
from builds.models import Axle, Certifying, Closing, Fitted, Phase, Shipment
from shop.errors import Refusal
from shop.models import Role
from shop.record.who import Who
from tests import factories
from tests.builds.bench import Bench, open_bench

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    found = open_bench()
    found.people["sho"] = Who(factories.person("sho", Role.SHIPPER, pin=""))
    return found


@pytest.fixture(scope="module")
def closing(bench: Bench) -> Closing:
    return close_axle(axle=bench.bought_off(bench.axle()), by=bench.people["cy"], now=bench.later(minutes=1))


def certified(bench: Bench, closing: Closing) -> Axle:
    by, grant = bench.people["quinn"], bench.grant("quinn", "released")
    certify(closing=closing, grant=grant, by=by, now=bench.later(seconds=20))
    return Axle.objects.get(pk=closing.axle_id)


def shipped(bench: Bench, axle: Axle) -> Shipment:
    by, grant = bench.people["sho"], bench.grant("sho", "released")
    return ship(axle=axle, going=Going("A Consignee", "A Carrier"), grant=grant, by=by, now=bench.later(seconds=20))


def without_its_shaft(bench: Bench, axle: Axle) -> None:
    fitted = Fitted.objects.select_related("axle__item", "axle__revision__model", "host").get(axle=axle)
    remove_part(fitted=fitted, out=Out("bent", "scrap"), by=bench.people["ada"], now=bench.later(minutes=1))


def test_control_one_to_which_nothing_happened_is_certified_and_leaves(bench: Bench, closing: Closing) -> None:
    assert shipped(bench, certified(bench, closing)).axle.phase == Phase.GONE


def test_it_is_not_certified_under_an_open_red_tag(bench: Bench, closing: Closing) -> None:
    tag = tag_axle(axle=closing.axle, cause="crack", by=bench.people["cy"], now=bench.later(minutes=1))
    with pytest.raises(NotReady, match=f"Red tag {tag.number} is open on .*: crack"):
        certified(bench, closing)
    assert not Certifying.objects.exists()
    by, grant = bench.people["eve"], bench.grant("eve", "released")
    decide(tag=tag, decided=Decided("use_as_is", "paint"), grant=grant, by=by, now=bench.later(seconds=20))
    assert certified(bench, closing).phase == Phase.CERTIFIED


def test_it_is_not_certified_without_a_part_that_its_record_tells_of(bench: Bench, closing: Closing) -> None:
    without_its_shaft(bench, closing.axle)
    with pytest.raises(NotReady, match=r"is not in .* any more"):
        certified(bench, closing)


def test_nor_does_it_leave_without_one(bench: Bench, closing: Closing) -> None:
    axle = certified(bench, closing)
    without_its_shaft(bench, axle)
    with pytest.raises(NotReady, match=r"is not in .* any more"):
        shipped(bench, axle)
    assert not Shipment.objects.exists()


def test_no_wait_of_a_closed_record_is_shortened(bench: Bench, closing: Closing) -> None:
    """The card has no wait at all, so that is what the control hears."""
    for axle, said in ((bench.axle(), "may not be shortened by anybody"), (closing.axle, "is closed. Nothing can be")):
        slot, by, grant = axle.plan.slot("20/"), bench.people["eve"], bench.grant("eve", "released")
        with pytest.raises(Refusal, match=said):
            shorten_wait(axle=axle, slot=slot, reason="soon", grant=grant, by=by, now=bench.later(seconds=20))
