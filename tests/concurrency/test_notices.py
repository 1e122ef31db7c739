"""A bearing is fitted while a notice about its lot is put on record: its axle is on the list and stopped.

A lot has no lock of its own when it is fitted, so the notice holds every axle in the house still. The control leaves
that out, and the axle is on no list and goes on with the bearing in it.
"""

from __future__ import annotations

import threading
from typing import Any

import pytest

from builds.actions import fitting, noticing
from builds.actions.fitting import fit_part
from builds.actions.noticing import Says, put_on_record
from builds.errors import NotFree
from builds.models import Fitted, NoticeLine, RedTag
from builds.reports.reach.question import Typed
from shop.models import Role
from shop.record.verify import verify
from tests.builds.floor import axle, lot, person, released, visit
from tests.concurrency.threads import LIMIT_S, together

pytestmark = pytest.mark.django_db(transaction=True)
SAYS = Says("One lot of bearings is too soft.", "Please call us.")


def at_once(monkeypatch: pytest.MonkeyPatch, held_s: float) -> list[Any]:
    """The bench has looked at the lot and found it good; before it saves, the notice begins."""
    built = axle(released())
    lot("bearing", "PB-1")
    worker, quality = person(Role.ASSEMBLER), person(Role.QUALITY)
    work = visit(built, 30, by=worker)
    looked, listed, real = threading.Event(), threading.Event(), fitting.require_usable

    def slow(*facts: Any, **more: Any) -> None:
        real(*facts, **more)
        looked.set()
        listed.wait(held_s)

    def notice() -> Any:
        looked.wait(LIMIT_S)
        try:
            return put_on_record(typed=Typed("PB-1"), says=SAYS, by=quality)
        finally:
            listed.set()

    monkeypatch.setattr(fitting, "require_usable", slow)
    return together(lambda: fit_part(visit=work, scan="PB-1", by=worker), notice)


def on_the_list() -> bool:
    fitted = Fitted.objects.get()
    return NoticeLine.objects.filter(axle=fitted.axle).exists() and RedTag.objects.filter(axle=fitted.axle).exists()


def test_what_is_being_fitted_is_waited_for_and_stands_on_the_list(monkeypatch: pytest.MonkeyPatch) -> None:
    outcomes = at_once(monkeypatch, 1)
    assert [type(outcome).__name__ for outcome in outcomes] == ["Fitted", "Notice"]
    assert on_the_list()
    assert verify().findings == []


@pytest.mark.postgresql
def test_control_with_no_axle_held_still_it_is_on_no_list(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(noticing, "_axles_in_the_house", list)
    outcomes = at_once(monkeypatch, LIMIT_S)
    assert [type(outcome).__name__ for outcome in outcomes] == ["Fitted", "Notice"]
    assert not on_the_list()


def test_whoever_fits_it_afterwards_meets_the_red_tag() -> None:
    built = axle(released())
    lot("bearing", "PB-1")
    worker = person(Role.ASSEMBLER)
    work = visit(built, 30, by=worker)
    put_on_record(typed=Typed("PB-1"), says=SAYS, by=person(Role.QUALITY))
    with pytest.raises(NotFree, match="Notice 1: One lot of bearings is too soft"):
        fit_part(visit=work, scan="PB-1", by=worker)
