"""Counts, quarantine and the day a thing came (builds.actions.counting), as the bench and the drawer meet them."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from django.utils import timezone

from builds.actions.counting import count_again, quarantine, used_of
from builds.actions.fitting import fit_part, take_out
from builds.actions.papers import NewDelivery, take_delivery
from builds.actions.receiving import NewLot, NewPart, take_in_lot, take_in_part
from builds.errors import NotFree, WrongKind
from builds.models import Axle, Fitted, LotCount, Revision
from builds.reports.stock import drawer
from shop.clock import shop_zone
from shop.errors import Refusal
from shop.models import Drum, Item, Lot, Place, Role
from tests.builds.floor import axle, bar, drum, heat, kind, lot, person, released, supplier, visit
from tests.builds.pages import Browser, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def card() -> None:
    released()


@pytest.fixture
def made() -> Axle:
    return axle(Revision.objects.get())


def need_of(made: Axle, code: str) -> int:
    """The operation that takes such a part, with its side left out."""
    return next(o.number for o in made.revision.card.operations for n in o.needs if n.part_kind == code)


def fit(made: Axle, scan: str, code: str, **more: object) -> None:
    by = person(Role.ASSEMBLER, Role.RECEIVER)
    number = need_of(made, code)
    slot = next(slot for slot in made.plan.slots if slot.operation.number == number)
    at = visit(made, number, slot.side, by)
    for name, value in more.items():
        setattr(at, name, value)
    at.save()
    fit_part(visit=at, scan=scan, by=by)


def test_more_of_a_lot_than_came_is_refused(made: Axle) -> None:
    few = lot()
    Lot.objects.filter(pk=few.pk).update(received=1)
    with pytest.raises(NotFree, match=r"Lot PB-1 has 1 left of 1 that came; .* are wanted"):
        fit(made, "PB-1", "bearing")
    count_again(lot=few, received=20, reason="two boxes", by=person(Role.RECEIVER))
    made.visits.all().delete()
    fit(made, "PB-1", "bearing")
    assert used_of(few) > 1
    assert [row.received for row in LotCount.objects.all()] == [20]
    with pytest.raises(Refusal, match="cannot have come"):
        count_again(lot=few, received=1, reason="x", by=person(Role.RECEIVER))


@pytest.mark.parametrize(("to", "left"), [("scrap", 0), ("red_tag", 0), ("supplier", 0), ("stock", 4)])
def test_what_came_out_to_the_scrap_bin_is_not_on_the_shelf_again(made: Axle, to: str, left: int) -> None:
    few = lot()
    Lot.objects.filter(pk=few.pk).update(received=4)
    fit(made, "PB-1", "bearing")
    out = Fitted.objects.select_related("axle__item", "host").get(part=few.item)
    take_out(fitted=out, reason="pitted", to=to, by=person(Role.ASSEMBLER))
    assert 4 - used_of(few) == left
    assert [row.left for row in drawer("", timezone.localdate()).lots] == [f"{left}"]
    if left:
        fit(axle(Revision.objects.get()), "PB-1", "bearing")
    else:
        with pytest.raises(NotFree, match="has 0 left of 4 that came"):
            fit(axle(Revision.objects.get()), "PB-1", "bearing")


def test_a_lot_without_a_count_is_not_counted(made: Axle) -> None:
    Lot.objects.filter(pk=lot().pk).update(received=0)
    fit(made, "PB-1", "bearing")


def test_an_expired_lot_is_refused_at_the_bench(made: Axle) -> None:
    Lot.objects.filter(pk=lot().pk).update(expires_on=date(2025, 1, 31))
    with pytest.raises(NotFree, match="Lot PB-1 expired on 31 Jan 2025"):
        fit(made, "PB-1", "bearing")


@pytest.mark.parametrize(
    ("keeps", "opened", "refused"), [(30, 31, True), (30, 30, False), (0, 1, True), (0, 0, False), (None, 300, False)]
)
def test_an_opened_drum_keeps_for_so_many_days(made: Axle, keeps: int | None, opened: int, refused: bool) -> None:
    """The last day counts, the day of opening does not."""
    can = drum()
    Lot.objects.filter(pk=can.lot_id).update(use_within_days=keeps)
    Drum.objects.filter(pk=can.pk).update(opened_at=timezone.now() - timedelta(days=opened))
    if refused:
        with pytest.raises(NotFree, match=r"GR-1-A was opened on .+ and could be used to the end of"):
            fit(made, "GR-1-A", "grease")
    else:
        fit(made, "GR-1-A", "grease")


def test_the_lots_own_last_day_comes_first_where_it_is_the_earlier(made: Axle) -> None:
    can = drum()
    Lot.objects.filter(pk=can.lot_id).update(use_within_days=90, expires_on=date(2025, 2, 28))
    opened = datetime(2025, 1, 5, 12, tzinfo=shop_zone())
    Drum.objects.filter(pk=can.pk).update(opened_at=opened)
    assert Drum.objects.get().last_day == date(2025, 2, 28)
    Lot.objects.filter(pk=can.lot_id).update(use_within_days=14)
    assert Drum.objects.get().last_day == date(2025, 1, 19)
    with pytest.raises(NotFree, match="expired on 28 Feb 2025"):
        fit(made, "GR-1-A", "grease")


def test_days_after_opening_are_for_what_is_opened() -> None:
    by = person(Role.RECEIVER)
    with pytest.raises(Refusal, match="is not opened"):
        take_in_lot(lot=NewLot("L-9", kind("bearing"), supplier(), date(2025, 1, 2), use_within_days=9), by=by)
    with pytest.raises(Refusal, match="from 0 to 3650"):
        take_in_lot(lot=NewLot("L-9", kind("grease"), supplier(), date(2025, 1, 2), use_within_days=4000), by=by)
    kept = take_in_lot(lot=NewLot("L-9", kind("grease"), supplier(), date(2025, 1, 2), use_within_days=9), by=by)
    assert kept.use_within_days == 9


@pytest.mark.parametrize(("days", "refused"), [(3, True), (0, False)])
def test_a_part_fitted_before_it_came_is_refused(made: Axle, days: int, refused: bool) -> None:
    today = timezone.localdate()
    slip = NewDelivery("PS-9", supplier(), today)
    came = take_delivery(delivery=slip, by=person(Role.RECEIVER))
    take_in_part(part=NewPart("S-1", kind("shaft"), supplier(), delivery=came), by=person(Role.RECEIVER))
    worked = timezone.now() - timedelta(days=days)
    if refused:
        with pytest.raises(NotFree, match="one of them is wrong"):
            fit(made, "S-1", "shaft", worked_at=worked, late=True)
    else:
        fit(made, "S-1", "shaft", worked_at=worked, late=True)


def where(item: Item) -> str:
    return Place.objects.get(pk=item.pk).where


def test_quarantine_is_a_place_that_only_an_inspector_opens(made: Axle) -> None:
    one = lot().item
    quarantine(item=one, inside=True, reason="no certificate yet", by=person(Role.RECEIVER))
    assert where(one) == "quarantine"
    with pytest.raises(NotFree, match=r"in quarantine .no certificate yet. and cannot be used"):
        fit(made, "PB-1", "bearing")
    with pytest.raises(Refusal, match="inspector"):
        quarantine(item=one, inside=False, reason="here now", by=person(Role.RECEIVER))
    quarantine(item=one, inside=False, reason="here now", by=person(Role.INSPECTOR))
    assert where(one) == "stock"


def test_a_drum_of_a_lot_in_quarantine_is_stopped_too(made: Axle) -> None:
    one = drum()
    quarantine(item=one.lot.item, inside=True, reason="recalled", by=person(Role.RECEIVER))
    with pytest.raises(NotFree, match="in quarantine"):
        fit(made, "GR-1-A", "grease")


def test_what_must_stay_in_quarantine_stays(made: Axle) -> None:
    inspector = person(Role.INSPECTOR)
    with pytest.raises(Refusal, match="not determinable, and stays so"):
        quarantine(item=bar().item, inside=False, reason="looks like ours", by=inspector)
    with pytest.raises(WrongKind, match="Stop it by a red tag"):
        quarantine(item=heat("Q1").item, inside=True, reason="x", by=inspector)
    with pytest.raises(Refusal, match="Say why"):
        quarantine(item=lot().item, inside=True, reason=" ", by=inspector)


def test_count_and_quarantine_by_page() -> None:
    one = lot()
    receiver = Browser(person(Role.RECEIVER))
    page = f"/stock/items/{one.pk}/"
    assert "Count it again" in text_of(receiver.get(page))
    assert receiver.send(f"{page}count/", received="0", reason="x").status_code == 422
    assert receiver.send(f"{page}count/", received="40", reason="second box").status_code == 303
    assert receiver.send(f"{page}quarantine/", to="quarantine", reason="wet box").status_code == 303
    assert receiver.send(f"{page}quarantine/", to="stock", reason="dry").status_code == 422
    assert "in quarantine wet box" in text_of(receiver.get(page))
    assert Browser(person(Role.INSPECTOR)).send(f"{page}quarantine/", to="stock", reason="dry").status_code == 303
    assert Lot.objects.get().received == 40
