"""A reach list over nothing, over everything, and over steel that would have come of itself."""

from __future__ import annotations

import pytest
from django.db import DatabaseError, transaction

from builds.models import Axle, Fitted
from builds.reports.reach.answer import Spot
from builds.reports.reach.backwards import contents
from builds.reports.reach.cause import Cause, CauseKind, Question, Together
from builds.reports.reach.found import reach
from shop.clock import shop_day
from shop.models import Item, Piece
from tests.builds.reach.world import small, thing

pytestmark = pytest.mark.django_db


def test_over_everything_every_axle_is_told_once() -> None:
    world = small(1)
    causes = [Cause(CauseKind.REVISION, (revision.pk,), f"revision {revision.letter}") for revision in world.revisions]
    found = reach(Question(causes, Together.EITHER))
    assert found.axles == sorted(item.mark for item in world.axles)
    assert len([row for row in found.rows if row.is_axle]) == len(world.axles)
    assert reach(Question(causes, Together.BOTH)).axles == []  # the control: no axle has two revisions


def test_over_nothing_every_place_is_empty() -> None:
    small(1)
    lot = thing("lot", "NOBODY-USED-IT", "seal")
    found = reach(Question([Cause(CauseKind.ITEM, (lot.pk,), "lot")]))
    assert found.axles == []
    assert [spot for spot, rows in found.spots if rows] == [Spot.STOCK]  # the lot itself


def test_a_bar_can_never_come_of_its_own_piece() -> None:
    """The database keeps of which bar a piece is; so no circle is ever closed."""
    world = small(1)
    bar, rest = world.bars[0], world.bars[3]
    assert Piece.objects.get(pk=rest.pk).parent_id == bar.pk
    with pytest.raises(DatabaseError, match="keeps its heat, its bar"), transaction.atomic():
        Piece.objects.filter(pk=bar.pk).update(parent=rest.pk)


def test_a_circle_in_bare_rows_ends_the_walk_all_the_same() -> None:
    """No action fits a part into what is in it. Were such rows there, every page would still answer."""
    world = small(1)
    axle = Axle.objects.select_related("item").get(pk=world.axles[0].pk)
    one, other = (thing("part", f"LOOP{number}", "gear", "floor") for number in (1, 2))
    last = Fitted.objects.order_by("pk").last()
    assert last is not None
    for part, host in ((one, other), (other, one), (one, axle.item)):
        Fitted.objects.create(part=part, host=host, axle=axle, role="gear", person=last.person, at=world.day(1))
    found = reach(Question([Cause(CauseKind.ITEM, (other.pk,), "part")]))
    assert found.axles == [axle.serial]
    inside = contents(axle, shop_day(world.day(40)))
    assert {one.pk, other.pk} <= {line.item for line in inside.lines}
    assert Item.objects.filter(mark__startswith="LOOP").count() == 2
