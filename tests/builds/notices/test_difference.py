"""A list drawn again: what came, went and moved agrees with a brute-force walk before and after, in random shops."""

from __future__ import annotations

from datetime import timedelta

import pytest

from builds.models import Axle, Fitted, Phase, Removal
from builds.reports.notices.difference import Difference, difference
from builds.reports.notices.frozen import FrozenRow, rows_now
from builds.reports.notices.touched import touched_of
from builds.reports.reach.cause import Between, Cause, Question
from builds.reports.reach.found import reach
from shop.models import Place, Where
from tests.builds.reach.brute import DOUBT, FORMER, NOW, afresh, axles_touched
from tests.builds.reach.test_brute import every_cause
from tests.builds.reach.world import World, fit, small

SEEDS = range(3)
#: What stands on the page for each of the walk's words.
SURE = {"floor", "closed", "shipped", "back"}


def drawn(cause: Cause) -> list[FrozenRow]:
    return rows_now(touched_of(reach(Question([cause]))))


def days_later(world: World) -> None:
    """Something is taken out, something goes in, two axles move on."""
    chance = world.chance
    fitted = list(Fitted.objects.now().exclude(axle=None).select_related("axle", "part", "host", "visit"))
    for row in chance.sample(fitted, min(4, len(fitted))):
        Removal.objects.create(
            fitted=row, reason="test", to="scrap", person=world.people[0], at=world.day(90) + timedelta(hours=row.pk)
        )
        Place.objects.filter(item=row.part, where=Where.FITTED).update(where=Where.SCRAP, host=None)
    for row in chance.sample(fitted, 3):
        assert row.axle is not None
        assert row.visit is not None
        fit(world, chance.choice([*world.lots, *world.drums]), row.axle.item, row.axle, row.visit, out=False)
    Axle.objects.filter(phase=Phase.KITTED).update(phase=Phase.FLOOR)
    Axle.objects.filter(phase=Phase.GONE).update(phase=Phase.BACK)


def words(rows: list[FrozenRow]) -> dict[str, str]:
    """Serial: now, former or doubt, as the places of these rows say."""
    found = {row.axle: FORMER for row in rows if row.spot == "formerly" and row.axle}
    found |= {row.axle: DOUBT for row in rows if row.spot == "unknown" and row.is_axle and row.axle not in found}
    return found | {row.axle: NOW for row in rows if row.spot in SURE}


def taken_on(before: list[FrozenRow], changed: Difference) -> list[FrozenRow]:
    """The old list with the difference taken on."""
    gone, moved = {row.key for row in changed.gone}, {row.key: row for _, row in changed.moved}
    return [*(moved.get(row.key, row) for row in before if row.key not in gone), *changed.added]


@pytest.mark.django_db
@pytest.mark.parametrize("seed", SEEDS)
def test_the_difference_leads_from_the_old_walk_to_the_new(seed: int) -> None:
    afresh()
    world = small(seed)
    causes = every_cause(world, Between())
    before = [drawn(cause) for cause in causes]
    walked = [axles_touched(cause) for cause in causes]
    days_later(world)
    afresh()
    changes = 0
    for cause, rows, was in zip(causes, before, walked, strict=True):
        changed = difference(rows, drawn(cause))
        assert words(rows) == was, f"seed {seed}: {cause}"
        assert words(taken_on(rows, changed)) == axles_touched(cause), f"seed {seed}: {cause}"
        assert difference(rows, rows) == Difference((), (), ())
        changes += bool(changed)
    assert changes  # the days brought something, or nothing was tried


def row(key: str, spot: str = "stock", where: str = "in stock", consignee: str = "") -> FrozenRow:
    return FrozenRow(key, spot, "lot", key, "", where, "", consignee, "", "", (), inside=True, is_axle=False)


def test_each_kind_of_change_is_told_apart() -> None:
    before = [row("a"), row("b"), row("c"), row("d"), row("e")]
    now = [row("a"), row("c", spot="gone"), row("d", where="on the red-tag shelf"), row("e", consignee="X"), row("f")]
    found = difference(before, now)
    assert [one.key for one in found.added] == ["f"]
    assert [one.key for one in found.gone] == ["b"]
    assert [one.key for one, _ in found.moved] == ["c", "e"]  # the shelf is where the notice's own stop put d
