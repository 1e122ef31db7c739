"""The kit of every real card can be picked and fitted by scan: nothing here knows a model."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from builds.actions.fitting import fit_part
from builds.actions.judging_heats import steel_values
from builds.actions.kitting import kit_part
from builds.actions.receiving import (
    NewBar,
    NewLot,
    NewPart,
    open_drum,
    take_in_bar,
    take_in_lot,
    take_in_part,
)
from builds.actions.receiving_heats import NewHeat, free_heat, take_in_heat
from builds.definitions.words import Tracking
from builds.models import Axle, Revision, Visit, VisitSheet
from builds.reports.kit import NeedState, kit_state, needs_of
from measurements.models import Sheet
from shop.models import Heat, Item, Role
from tests.builds.floor import axle, grant, kind, person, released, supplier

pytestmark = pytest.mark.django_db

CARDS = ["builds/definitions/shipped/sorrel_960.toml", "builds/definitions/shipped/teasel_680.toml"]
CARDS += ["tests/builds/definitions/third_model.toml"]


def mark_for(need: NeedState, revision: Revision) -> str:
    """Take in what this need asks for, once, and give the mark to scan."""
    code = need.planned.need.part_kind
    mark = f"M{kind(code).pk}" + ("L" if need.tracking is Tracking.LOT else "")
    if need.tracking is Tracking.SERIAL:
        mark = f"{mark}-{need.role.replace(' ', '-')}-{need.slot.side}"[:40].upper().rstrip("-")
    if Item.objects.filter(mark=mark).exists():
        return mark
    receiver = person(Role.RECEIVER)
    if need.tracking is Tracking.SERIAL:
        take_in_part(part=NewPart(mark, kind(code), supplier(), set_mark=need.planned.need.matched_set), by=receiver)
    elif need.tracking in (Tracking.LOT, Tracking.BULK):
        lot = NewLot(
            mark if need.tracking is Tracking.LOT else f"{mark}L",
            kind(code),
            supplier(),
            date(2025, 1, 2),
            900,
        )
        found = take_in_lot(lot=lot, by=receiver)
        if need.tracking is Tracking.BULK:
            open_drum(lot=found, mark=mark, by=receiver)
    elif need.tracking is Tracking.HEAT:
        steel(revision, code, mark)
    else:
        heat = _looked_at(need) or steel(revision, code, f"{mark}H")
        take_in_bar(bar=NewBar(mark, kind(code), heat), by=receiver)
    return mark


def _looked_at(need: NeedState) -> Heat | None:
    """The heat that the card has looked at for this need, where it names a look."""
    role = need.planned.need.heat_from
    return Heat.objects.filter(item__fitted_in__role__startswith=role).first() if role else None


def steel(revision: Revision, code: str, mark: str) -> Heat:
    values = {}
    for found in steel_values(revision.card, code):
        low, high = found.low if found.low is not None else found.high, found.high or found.low
        assert low is not None
        assert high is not None
        values[found.code] = str((low + high) / 2)
    new = NewHeat(mark, supplier(), kind(code), "C-1", "3.1", values)
    inspector = person(Role.INSPECTOR)
    row = take_in_heat(heat=new, revision=revision, by=person(Role.RECEIVER))
    return free_heat(heat=row, grant=grant(inspector), by=inspector)


def visits(of: Axle) -> dict[str, Visit]:
    units = {(unit.role, unit.side): unit.item for unit in of.units.select_related("item")}
    doer = person(*Role).person
    operations = {row.number: row for row in of.revision.operations.all()}
    found = {
        slot.key: Visit.objects.create(
            item=units.get((slot.unit, slot.side), of.item),
            axle=of,
            operation=operations[slot.operation.number],
            claimed_by=doer,
            claimed_at=of.booked_at,
        )
        for slot in of.plan.slots
    }
    for visit in found.values():
        sheet = Sheet.objects.create(item=visit.item, opened_at=of.booked_at)
        VisitSheet.objects.create(visit=visit, sheet=sheet)
    return found


@pytest.mark.parametrize("path", CARDS)
def test_every_need_of_the_card_can_be_kitted_and_fitted(path: str) -> None:
    revision = released(Path(path).read_text())
    made, everybody = axle(revision), person(*Role)
    while short := kit_state(made).short:
        kit_part(axle=made, scan=mark_for(short[0], revision), role=short[0].role, by=everybody)
    made.refresh_from_db()
    assert made.phase == "kitted"
    open_visits = visits(made)
    for need in needs_of(made):
        if not any(now.to_fit for now in needs_of(made, [need.slot]) if now.role == need.role):
            continue  # what is in already stands in the same role of another operation
        if need.planned.need.heat_from:  # the look is signed before the saw starts
            before = [open_visits[key].pk for key in made.plan.before(need.slot.key)]
            Visit.objects.filter(pk__in=before).update(state="done", done_at=made.booked_at)
        mark = need.aside[0].part.mark if need.aside else mark_for(need, revision)
        for _ in range(int(need.quantity) if need.tracking in (Tracking.SERIAL, Tracking.PIECE) else 1):
            fit_part(visit=open_visits[need.slot.key], scan=mark, role=need.role, by=everybody)
    assert [need.words for need in needs_of(made) if need.to_fit] == []
