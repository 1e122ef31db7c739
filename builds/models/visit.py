"""Visits: numbered passes of one operation on one item; who did them, who signed them, what re-opened them."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from builds.models.axle import Axle, Bench
from builds.models.card import Operation
from measurements.models import Sheet
from shop.models import Item, Person, Terminal
from shop.record.models import Signature


class VisitState(models.TextChoices):
    IN_HAND = "in_hand", "in hand"
    SET_DOWN = "set_down", "set down"
    WAIT_SIGN = "wait_sign", "waiting for sign"
    DONE = "done", "done"
    REDO = "redo", "to redo"
    EXCUSED = "excused", "excused by change"


OPEN_STATES = (VisitState.IN_HAND, VisitState.SET_DOWN, VisitState.WAIT_SIGN)


class VisitQuerySet(models.QuerySet["Visit"]):
    def open(self) -> VisitQuerySet:
        return self.filter(state__in=OPEN_STATES)

    def standing(self) -> VisitQuerySet:
        """Those that count: not re-opened."""
        return self.exclude(state=VisitState.REDO)


class Visit(models.Model):
    """One pass of one operation on one item.

    `piece` is its running number per station, shift and model (samples and first pieces count by it).
    `only`: codes asked again in an operation that otherwise stays done. `late` with `worked_by` and `worked_at`:
    work done on paper and entered afterwards, marked so for ever.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="visits", db_index=False)
    axle = models.ForeignKey(
        Axle, on_delete=models.PROTECT, null=True, blank=True, related_name="visits", db_index=False
    )
    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="visits")
    number = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=10, choices=VisitState, default=VisitState.IN_HAND)
    claimed_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    terminal = models.ForeignKey(
        Terminal, on_delete=models.PROTECT, null=True, blank=True, related_name="+", db_index=False
    )
    claimed_at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True)
    set_down_note = models.CharField(max_length=300, blank=True, default="")
    set_down_position = models.CharField(max_length=60, blank=True, default="")
    piece = models.PositiveSmallIntegerField(default=1)
    only = models.JSONField(default=list)
    late = models.BooleanField(default=False)
    worked_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    worked_at = models.DateTimeField(null=True, blank=True)

    objects = VisitQuerySet.as_manager()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["item", "operation", "number"], name="visit_unique_number"),
            models.UniqueConstraint(
                fields=["item", "operation"],
                condition=Q(state__in=("in_hand", "set_down", "wait_sign")),
                name="visit_one_open",
            ),
            models.CheckConstraint(condition=~Q(state="done") | Q(done_at__isnull=False), name="visit_done_has_a_time"),
        ]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["axle", "operation"], name="visit_axle_operation"),
            models.Index(
                fields=["operation"],
                name="visit_open",
                condition=Q(state__in=("in_hand", "set_down", "wait_sign")),
            ),
            models.Index(fields=["terminal", "claimed_at"], name="visit_terminal_claimed"),
            models.Index(fields=["worked_at"], name="visit_worked_at", condition=Q(worked_at__isnull=False)),
            # What the floor counts, week by week: the passes done, and the first passes by their beginning.
            models.Index(
                fields=["done_at"],
                include=["id", "operation", "claimed_at"],
                name="visit_done_at",
                condition=Q(state="done"),
            ),
            models.Index(fields=["claimed_at"], name="visit_first_begun", condition=Q(number=1)),
        ]

    @property
    def bench(self) -> Bench:
        """What the work is done at: the axle, or the unit while it is in none."""
        return self.axle if self.axle is not None else self.item.unit

    @property
    def subject(self) -> str:
        return self.axle.subject if self.axle is not None else self.item.subject


class VisitSheet(models.Model):
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="sheet_links", db_index=False)
    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="visit_links")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["visit", "sheet"], name="visit_sheet_once")
        ]


class Photo(models.Model):
    """A photo the operation asks for, kept by the hash of its bytes. A better one is a new row."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="photos")
    name = models.CharField(max_length=60)
    sha256 = models.CharField(max_length=64)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class Span(models.Model):
    """A stretch of touch time: a person at a visit. Set down ends it; taking up again begins another."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="spans")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+", db_index=False)
    begun_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["person", "begun_at"], name="span_person_begun"),
            models.Index(fields=["begun_at", "ended_at"], name="span_begun_ended"),
        ]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["visit"], condition=Q(ended_at=None), name="span_one_running")
        ]


class Done(models.Model):
    """A doer's signature under a visit; a second doer's where the card asks for one beside.

    `without`: the ticks that were left out when it was signed, one sentence a line; on the pages the signer is asked
    about each.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="done_signatures", db_index=False)
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")
    part = models.CharField(max_length=12, default="doer")
    without = models.TextField(blank=True, default="", db_default="")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["visit", "part"], name="done_one_signature_a_part")
        ]


class Hold(models.Model):
    """The signature that lets work go on past a hold, by somebody who is none of the doers."""

    visit = models.OneToOneField(Visit, on_delete=models.PROTECT, related_name="hold")
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True, default="")


class Reopening(models.Model):
    """Why a visit no longer counts. `only`: codes to ask again, or none for all; a further row of the same visit asks
    for more than those before it."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="reopenings")
    cause = models.CharField(max_length=40)
    reason = models.CharField(max_length=300)
    only = models.JSONField(default=list)
    at = models.DateTimeField()


class ShorterWait(models.Model):
    """An engineer's signed reason for starting before a wait is over."""

    axle = models.ForeignKey(Axle, on_delete=models.PROTECT, related_name="shorter_waits")
    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300)
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~Q(reason=""), name="shorter_wait_has_reason")
        ]
