"""What the database refuses once a card is released or an axle is closed, and what still goes on."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from builds.models import (
    Axle,
    Closing,
    Fitted,
    Operation,
    Photo,
    RedTag,
    Removal,
    Reopening,
    ShorterWait,
    Visit,
    VisitSheet,
)
from measurements.models import Characteristic, Reading, Sheet, Voiding
from shop.models import Person, Role
from shop.record import triggers
from shop.record.models import Signature
from tests.builds import floor

pytestmark = pytest.mark.django_db


class Closed:
    """An axle with one visit, one reading and one part in it; closed or not."""

    def __init__(self, *, closed: bool) -> None:
        self.by = floor.person(Role.ASSEMBLER)
        assert self.by.person is not None
        self.person: Person = self.by.person
        self.axle: Axle = floor.axle()
        number = Operation.objects.filter(revision=self.axle.revision, per="axle").values_list("number", flat=True)[0]
        self.visit: Visit = floor.visit(self.axle, number, by=self.by)
        self.sheet = Sheet.objects.create(item=self.axle.item, opened_at=timezone.now())
        VisitSheet.objects.create(visit=self.visit, sheet=self.sheet)
        self.part = floor.part("pinion", "P-1")
        self.fitted = self.fit()
        self.read()
        if closed:
            now = timezone.now()
            Closing.objects.create(axle=self.axle, sha256="0" * 64, closed_at=now, closed_by=self.person)
            Axle.objects.filter(pk=self.axle.pk).update(phase="certified", closed_at=now)

    def read(self, position: str = "") -> Reading:
        now = timezone.now()
        return Reading.objects.create(
            sheet=self.sheet, item=self.axle.item, characteristic=Characteristic.objects.all()[0],
            position=position, verdict="in", entered_at=now, happened_at=now, person=self.person,
        )  # fmt: skip

    def fit(self, *, late: bool = False) -> Fitted:
        return Fitted.objects.create(
            host=self.axle.item, part=self.part.item, axle=self.axle, role="pinion", person=self.person,
            at=timezone.now(), after_closing=late,
        )  # fmt: skip

    def take_out(self, *, late: bool) -> Removal:
        return Removal.objects.create(
            fitted=self.fitted,
            reason="worn",
            to="stock",
            person=self.person,
            at=timezone.now(),
            after_closing=late,
        )

    def tag(self, *, late: bool) -> RedTag:
        return RedTag.objects.create(
            number=900, item=self.axle.item, axle=self.axle, cause="noise", opened_by=self.person,
            opened_at=timezone.now(), after_closing=late,
        )  # fmt: skip

    def photograph(self) -> Photo:
        return Photo.objects.create(
            visit=self.visit, name="plate", sha256="0" * 64, person=self.person, at=timezone.now()
        )

    def declare_void(self) -> Voiding:
        reading = Reading.objects.filter(sheet=self.sheet)[0]
        return Voiding.objects.create(reading=reading, reason="other axle", person=self.person, at=timezone.now())

    def reopen(self) -> Reopening:
        return Reopening.objects.create(visit=self.visit, cause="bore", reason="bored again", at=timezone.now())

    def shorten(self) -> ShorterWait:
        signed = Signature.objects.create(person=self.person, meaning="released", at=timezone.now())
        return ShorterWait.objects.create(
            axle=self.axle, operation=self.visit.operation, reason="held warm", signature=signed
        )

    def visit_again(self, claimed_after: timedelta) -> Visit:
        return Visit.objects.create(
            item=self.axle.item, axle=self.axle, operation=self.visit.operation, number=2, state="done",
            claimed_by=self.person, claimed_at=timezone.now() + claimed_after, done_at=timezone.now(),
        )  # fmt: skip


WHAT = {
    "a reading is added": lambda it: it.read("left 2"),
    "a reading is declared void": lambda it: it.declare_void(),
    "a pass is opened again": lambda it: it.reopen(),
    "a wait is shortened": lambda it: it.shorten(),
    "a photo is added": lambda it: it.photograph(),
    "a part is fitted, not marked": lambda it: it.fit(),
    "a part is taken out, not marked": lambda it: it.take_out(late=False),
    "a tag is hung, not marked": lambda it: it.tag(late=False),
    "a visit is changed": lambda it: Visit.objects.filter(pk=it.visit.pk).update(state="redo"),
    "a visit is taken out": lambda it: Visit.objects.filter(pk=it.visit.pk)._raw_delete("default"),
    "a visit is dated back": lambda it: it.visit_again(timedelta(hours=-1)),
    "the options are changed": lambda it: Axle.objects.filter(pk=it.axle.pk).update(options={"x": "y"}),
}
APPENDED = {
    "a reading is changed": lambda it: Reading.objects.update(verdict="above"),
    "a fit is moved": lambda it: Fitted.objects.update(role="elsewhere"),
    "a fit is taken out": lambda it: Fitted.objects.all()._raw_delete("default"),
}
GOES_ON = {
    "a part is fitted, marked": lambda it: it.fit(late=True),
    "a part is taken out, marked": lambda it: it.take_out(late=True),
    "a tag is hung, marked": lambda it: it.tag(late=True),
    "it is packed afterwards": lambda it: it.visit_again(timedelta(seconds=1)),
    "it goes out of the house": lambda it: Axle.objects.filter(pk=it.axle.pk).update(phase="gone"),
}


def tried(do: Any, it: Closed) -> None:
    with transaction.atomic():
        do(it)


@pytest.mark.parametrize("what", WHAT)
def test_a_closed_axle_stays_as_it_is(what: str) -> None:
    with pytest.raises(IntegrityError, match="closed"):
        tried(WHAT[what], Closed(closed=True))


@pytest.mark.parametrize("what", sorted(set(WHAT) - {"a visit is taken out"}))
def test_control_on_an_open_axle_the_same_goes_through(what: str) -> None:
    tried(WHAT[what], Closed(closed=False))


@pytest.mark.parametrize("what", GOES_ON)
def test_what_comes_after_the_closing_is_a_marked_row(what: str) -> None:
    tried(GOES_ON[what], Closed(closed=True))


@pytest.mark.parametrize("closed", [False, True])
@pytest.mark.parametrize("what", APPENDED)
def test_history_is_append_only_open_or_closed(what: str, closed: bool) -> None:
    with pytest.raises(IntegrityError, match="append-only"):
        tried(APPENDED[what], Closed(closed=closed))


def test_a_released_card_never_changes() -> None:
    revision = floor.released()
    first = Operation.objects.filter(revision=revision)[0]
    for do in (
        lambda _: type(revision).objects.update(text="other"),
        lambda _: Operation.objects.filter(pk=first.pk).update(name="other"),
        lambda _: Operation.objects.create(
            revision=revision, number=999, name="late", station=first.station, per=first.per
        ),
    ):
        with pytest.raises(IntegrityError, match="released build card never changes"):
            tried(do, None)  # type: ignore[arg-type]


def test_every_guard_of_the_shop_lies_in_the_database() -> None:
    assert triggers.findings("default") == []
