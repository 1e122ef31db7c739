"""Interchange rules at work: in the kit, at the bench, and when a unit joins; each refusal names its rule."""

from __future__ import annotations

import pytest
from django.utils import timezone

from builds.actions.booking import book_axles
from builds.actions.fitting import fit_part
from builds.actions.joining import Spot, join_unit, own_unit
from builds.actions.kitting import kit_part
from builds.actions.parting import UnitOut, part_unit, whole
from builds.actions.removing import causes_of
from builds.errors import OtherSet, WrongKind
from builds.models import Axle, Joined, Reopening, Revision, Unit, Visit
from builds.reports.facts import standing
from shop.models import Role
from shop.record.who import Who
from tests.builds.cards import SMALL_CARD
from tests.builds.definitions.test_interchange import HEAVY, KINDS, SETS, UNIT
from tests.builds.floor import axle, line, lot, part, person, released, visit

pytestmark = pytest.mark.django_db
RULES = KINDS + SETS + HEAVY


@pytest.fixture
def ruled() -> Revision:
    return released(SMALL_CARD + RULES)


def of_ratio(revision: Revision, ratio: str) -> Axle:
    office = person(Role.OFFICE)
    return book_axles(line=line(revision, by=office, ratio=ratio), count=1, by=office)[0]


def test_what_the_rule_takes_is_set_aside_and_fitted(ruled: Revision) -> None:
    high = of_ratio(ruled, "high")
    lot("bearing_hd", "HD-1")
    (row,) = kit_part(axle=high, scan="HD-1", by=person(Role.RECEIVER))
    assert row.role == "bearings"
    work = visit(high, 30)
    assert fit_part(visit=work, scan="HD-1", by=Who(work.claimed_by)).role == "bearings"


def test_where_the_rule_does_not_hold_it_is_refused(ruled: Revision) -> None:
    lot("bearing_hd", "HD-1")
    with pytest.raises(WrongKind, match="is not what is needed"):
        kit_part(axle=of_ratio(ruled, "low"), scan="HD-1", by=person(Role.RECEIVER))


def test_ring_and_pinion_stand_in_together_or_not_at_all(ruled: Revision) -> None:
    one, receiver = axle(ruled), person(Role.RECEIVER)
    part("ring_late", "R-9", set_mark="S9")
    part("pinion", "P-9", set_mark="S9")
    part("pinion_late", "PL-9", set_mark="S9")
    kit_part(axle=one, scan="R-9", by=receiver)
    with pytest.raises(OtherSet, match="by the rule “later gear sets” all of its parts stand in, or none"):
        kit_part(axle=one, scan="P-9", by=receiver)
    kit_part(axle=one, scan="PL-9", by=receiver)
    work = visit(one, 30)
    row = fit_part(visit=work, scan="R-9", by=Who(work.claimed_by))
    assert causes_of(one, row) == ["gear_set"]  # as the ring that it stands in for


def test_at_the_bench_too(ruled: Revision) -> None:
    one = axle(ruled)
    part("ring_late", "R-9", set_mark="S9")
    part("pinion", "P-9", set_mark="S9")
    work = visit(one, 30)
    fit_part(visit=work, scan="R-9", by=Who(work.claimed_by))
    with pytest.raises(OtherSet, match="later gear sets"):
        fit_part(visit=work, scan="P-9", by=Who(work.claimed_by))


def old_carrier(revision: Revision, ratio: str = "low") -> Unit:
    """A carrier of the first revision, its one operation done, on the shelf."""
    donor = of_ratio(revision, ratio)
    work = visit(donor, 30)
    Visit.objects.filter(pk=work.pk).update(state="done", done_at=timezone.now())
    unit = own_unit(Spot(donor), "carrier")
    part_unit(unit=unit, out=UnitOut("wanted", "stock", "used"), by=person(Role.ASSEMBLER))
    return whole(unit.pk)


def later(*rules: str) -> Revision:
    return released(SMALL_CARD.replace('revision = "A"', 'revision = "B"', 1) + KINDS + "".join(rules))


def test_a_unit_of_another_revision_joins_by_a_rule_only() -> None:
    unit = old_carrier(released())
    with pytest.raises(WrongKind, match="this card has none for small_axle/A"):
        join_unit(unit=unit, spot=Spot(axle(later())), reason="wanted", by=person(Role.ASSEMBLER))


def test_by_the_rule_it_joins_keeps_its_revision_and_does_again_what_the_rule_says() -> None:
    first = released()
    unit, taker = old_carrier(first), axle(later(UNIT))
    row = join_unit(unit=unit, spot=Spot(taker), reason="wanted", by=person(Role.ASSEMBLER))
    assert row.rule == "carriers of A"
    kept = whole(unit.pk)
    assert (kept.axle, kept.revision) == (taker, first)
    assert standing(taker, timezone.now()).slots["30/"].visit is not None
    assert Visit.objects.get(item=unit.item).state == "redo"
    assert Reopening.objects.get().reason == "carriers of A"


def test_without_redo_its_work_counts() -> None:
    unit, taker = old_carrier(released()), axle(later(UNIT.replace("redo = [30]", "")))
    join_unit(unit=unit, spot=Spot(taker), reason="wanted", by=person(Role.ASSEMBLER))
    assert standing(taker, timezone.now()).slots["30/"].finished


def test_other_options_are_refused_by_the_rules_name() -> None:
    unit = old_carrier(released(), "high")
    with pytest.raises(WrongKind, match=r"By the rule “carriers of A” it may not: .* Ratio high, not low"):
        join_unit(unit=unit, spot=Spot(axle(later(UNIT))), reason="wanted", by=person(Role.ASSEMBLER))
    assert not Joined.objects.exists()
