"""A tube is sawn from the heat that was looked at for its side, and from no other (`heat_from` of the card)."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.utils import timezone

from builds.actions.fitting import fit_part, take_out
from builds.actions.kitting import kit_part
from builds.actions.removing import Out, remove_part
from builds.errors import NotFree, NotReady
from builds.models import Axle, Fitted, Visit
from builds.scenario.stock import Stock
from shop.models import Item, Role
from shop.record.who import Who
from tests.builds.floor import axle, person, released, supplier, visit
from tests.shopfloor import SORREL, TEASEL

pytestmark = pytest.mark.django_db

LOOKED_AT, OTHER = "Q7714", "R7120"


class Saw:
    """An axle at the saw: two free heats with a bar of each, and for the left side one of them looked at."""

    def __init__(self, text: str, *looked_at: str) -> None:
        revision = released(text)
        supplier("QTM")
        stock = Stock(person(Role.RECEIVER), person(Role.INSPECTOR))
        for mark in (LOOKED_AT, OTHER):
            stock.take_in_tube_heat(mark, revision, timezone.now())
            stock.take_in_bar(mark, f"BAR-{mark}", timezone.now())
        self.by: Who = person(Role.TUBE_PREP, Role.RECEIVER)
        self.axle: Axle = axle(revision)
        self.look: Visit = visit(self.axle, 20, by=self.by)
        for mark in looked_at:
            self.look_at(mark)

    def look_at(self, mark: str, side: str = "left", *, signed: bool = True) -> Fitted:
        """One heat of operation 20; its signature has its own tests, so the pass is written as done."""
        Visit.objects.filter(pk=self.look.pk).update(state="in_hand", done_at=None)
        row = fit_part(visit=self.look, scan=mark, role=f"tube_stock {side}", by=self.by)
        state, at = ("done", timezone.now()) if signed else ("wait_sign", None)
        Visit.objects.filter(pk=self.look.pk).update(state=state, done_at=at)
        return row

    def cut(self, scan: str, side: str = "left") -> Fitted:
        at = Visit.objects.filter(axle=self.axle, operation__number=30, item__unit__side=side).first()
        return fit_part(visit=at or visit(self.axle, 30, side, by=self.by), scan=scan, by=self.by)


@pytest.fixture(params=[SORREL, TEASEL], ids=["sorrel", "teasel"])
def text(request: pytest.FixtureRequest) -> str:
    return Path(request.param).read_text("utf-8")


def test_a_bar_of_the_heat_looked_at_is_sawn(text: str) -> None:
    row = Saw(text, LOOKED_AT).cut(f"BAR-{LOOKED_AT}")
    assert row.part.piece.heat.item.mark == LOOKED_AT


def test_a_bar_of_another_heat_is_refused_and_stays_whole(text: str) -> None:
    saw = Saw(text, LOOKED_AT)
    with pytest.raises(NotFree) as refused:
        saw.cut(f"BAR-{OTHER}")
    assert refused.value.text.endswith(
        f"BAR-{OTHER} is of heat {OTHER}; for the left side heat {LOOKED_AT} was looked at in operation 20. Take steel"
        " of that heat; for another one take the heat of the look out again and do the look anew."
    )
    assert refused.value.field == "scan"
    assert not Item.objects.filter(mark=f"BAR-{OTHER}-1").exists()


def test_control_without_the_rule_the_other_heat_goes_in(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("builds.actions.fitting.require_heat_looked_at", lambda *_: None)
    row = Saw(text, LOOKED_AT).cut(f"BAR-{OTHER}")
    assert row.part.piece.heat.item.mark == OTHER


def test_the_rule_is_the_cards_and_not_the_programs(text: str) -> None:
    free = text.replace('heat_from = "tube_stock"\n', "")
    assert free != text
    assert Saw(free, LOOKED_AT).cut(f"BAR-{OTHER}").part.piece.heat.item.mark == OTHER


def test_each_side_has_its_own_look(text: str) -> None:
    saw = Saw(text, LOOKED_AT)
    saw.look_at(OTHER, "right")
    saw.cut(f"BAR-{LOOKED_AT}", "left")
    with pytest.raises(NotFree, match=f"for the right side heat {OTHER} was looked at"):
        saw.cut(f"BAR-{LOOKED_AT}", "right")
    assert saw.cut(f"BAR-{OTHER}", "right").part.piece.heat.item.mark == OTHER


def test_nothing_is_sawn_before_a_heat_was_looked_at(text: str) -> None:
    with pytest.raises(NotReady, match="No heat was looked at and signed for the left side yet: operation 20"):
        Saw(text).cut(f"BAR-{LOOKED_AT}")


def test_a_look_that_waits_for_its_signature_frees_nothing(text: str) -> None:
    saw = Saw(text)
    saw.look_at(LOOKED_AT, signed=False)
    with pytest.raises(NotReady, match="operation 20 comes first"):
        saw.cut(f"BAR-{LOOKED_AT}")


def test_a_look_taken_out_is_to_do_again_and_the_new_one_counts(text: str) -> None:
    saw = Saw(text)
    row = saw.look_at(LOOKED_AT)
    _, reopened = remove_part(fitted=row, out=Out("no bar of it is left", "stock"), by=person(Role.ENGINEER))
    assert reopened == ["20/"]
    assert Visit.objects.get(pk=saw.look.pk).state == "redo"
    with pytest.raises(NotReady, match="No heat was looked at"):
        saw.cut(f"BAR-{LOOKED_AT}")
    saw.look_at(OTHER)
    assert saw.cut(f"BAR-{OTHER}").part.piece.heat.item.mark == OTHER


def test_a_look_is_not_laid_under_a_piece_of_another_heat(text: str) -> None:
    saw = Saw(text)
    look = saw.look_at(LOOKED_AT)
    saw.cut(f"BAR-{LOOKED_AT}")
    remove_part(fitted=look, out=Out("wrong paper", "stock"), by=person(Role.ENGINEER))
    with pytest.raises(NotFree, match=f"BAR-{LOOKED_AT}-1 is cut already and is not of heat {OTHER}. Take it out"):
        saw.look_at(OTHER)
    saw.look_at(LOOKED_AT)  # the heat the piece is of


def test_a_tube_made_anew_may_be_of_the_heat_looked_at_for_the_other_side(text: str) -> None:
    """The first tube of the left side is scrapped: the new one may come of what this axle's look covers, no other."""
    saw = Saw(text, LOOKED_AT)
    saw.look_at(OTHER, "right")
    with pytest.raises(NotFree):
        saw.cut(f"BAR-{OTHER}")
    take_out(fitted=saw.cut(f"BAR-{LOOKED_AT}"), reason="bored too big", to="scrap", by=person(Role.ENGINEER))
    assert saw.cut(f"BAR-{OTHER}").part.piece.heat.item.mark == OTHER
    with pytest.raises(NotFree):  # the right side had none taken out: its own look stands
        saw.cut(f"BAR-{LOOKED_AT}", "right")


def test_a_piece_that_was_cut_for_another_axle_is_asked_as_a_bar_is(text: str) -> None:
    """It was sawn, taken out again and lies in stock: its heat is that of its bar, and it fits only where that is."""
    saw = Saw(text, LOOKED_AT)
    engineer = person(Role.ENGINEER)
    take_out(fitted=saw.cut(f"BAR-{LOOKED_AT}"), reason="not needed here", to="stock", by=engineer)
    saw.look_at(OTHER, "right")
    with pytest.raises(NotFree, match=f"is of heat {LOOKED_AT}; for the right side heat {OTHER}"):
        saw.cut(f"BAR-{LOOKED_AT}-1", "right")
    saw.cut(f"BAR-{LOOKED_AT}", "left")  # now only the right side is open
    with pytest.raises(NotFree, match=f"is of heat {LOOKED_AT}; for the right side heat {OTHER}"):
        kit_part(axle=saw.axle, scan=f"BAR-{LOOKED_AT}-1", by=saw.by)


def test_a_piece_may_be_set_aside_while_the_look_is_still_to_come(text: str) -> None:
    saw = Saw(text, LOOKED_AT)
    other = saw.cut(f"BAR-{LOOKED_AT}")
    take_out(fitted=other, reason="not needed here", to="stock", by=person(Role.ENGINEER))
    later = axle(saw.axle.revision)
    lines = kit_part(axle=later, scan=other.part.mark, by=saw.by)
    assert [line.role for line in lines] == ["tube"]
