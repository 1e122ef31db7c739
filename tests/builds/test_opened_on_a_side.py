"""A side that was opened again keeps its own operations from being signed, near and far, and not the other side's."""

from __future__ import annotations

import pytest

from builds.actions.deciding import Decided, decide
from builds.actions.tagging import report_wrong
from builds.errors import NotSignable
from builds.models import Visit
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


def test_the_side_counts_and_so_does_what_is_far_back(floor: Floor) -> None:
    """The left tube is opened again: operation 60 of the right one is signed, and of the left one is not."""
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=60)
    visits = {side: builder.begin(f"60/{side}") for side in ("left", "right")}
    for visit in visits.values():
        builder.fill(visit)
    builder.now = builder.now.replace(microsecond=0)
    bore = Visit.objects.get(axle=builder.axle, operation__number=30, item__unit__side="left")
    by = floor.who("wenzel")
    tag = report_wrong(visit=bore, cause="a dent", by=floor.who(str(bore.claimed_by.code)), now=builder.now)
    decide(tag=tag, decided=Decided("rework", "turn it"), grant=builder.grant(by, "released"), by=by, now=builder.now)
    builder.sign_doer(visits["right"])
    with pytest.raises(NotSignable, match=r"Operation 30 [^.]*, left comes before this one and is to do again\."):
        builder.sign_doer(visits["left"])
