"""A notice: a reach list frozen on a day, what was stopped for it, and what was done about each touched thing."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from builds.models.axle import Axle
from builds.models.redtag import RedTag
from shop.models import Customer, Item, Person
from shop.record.models import Signature


class Notice(models.Model):
    """`asked`: the question as it was typed, so that it can be asked again; `words`: the same for a reader.

    `found` and `ask` go to consignees and customers: what was found and what they are asked to do, in plain words.
    """

    number = models.PositiveIntegerField(unique=True)
    asked = models.JSONField()
    words = models.CharField(max_length=400)
    found = models.CharField(max_length=300)
    ask = models.CharField(max_length=600)
    opened_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    opened_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar[list[str]] = ["number"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~Q(found="") & ~Q(ask=""), name="notice_says_what_and_asks")
        ]

    def __str__(self) -> str:
        return f"notice {self.number}"

    @property
    def subject(self) -> str:
        return f"notice:{self.number}"


class NoticeRevision(models.Model):
    """The list as it was drawn at one moment: canonical JSON, kept by its SHA-256."""

    notice = models.ForeignKey(Notice, on_delete=models.PROTECT, related_name="revisions", db_index=False)
    number = models.PositiveSmallIntegerField()
    sha256 = models.CharField(max_length=64)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar[list[str]] = ["number"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["notice", "number"], name="notice_revision_once")
        ]


class NoticeLine(models.Model):
    """One touched thing, as it stood when it first came on the list; it is followed until it is closed.

    `key` tells the same thing on a list drawn anew. `spot`: the key of its place. An axle that is touched itself, and
    not only was once, has `is_axle`.
    """

    notice = models.ForeignKey(Notice, on_delete=models.PROTECT, related_name="lines", db_index=False)
    revision = models.ForeignKey(NoticeRevision, on_delete=models.PROTECT, related_name="lines")
    key = models.CharField(max_length=80)
    spot = models.CharField(max_length=12)
    what = models.CharField(max_length=80)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="notice_lines")
    axle = models.ForeignKey(Axle, on_delete=models.PROTECT, null=True, blank=True, related_name="notice_lines")
    is_axle = models.BooleanField(default=False)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    consignee = models.CharField(max_length=120, blank=True, default="")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["notice", "key"], name="notice_line_once")
        ]


class NoticeStop(models.Model):
    """The red tag that stopped a touched thing in the house."""

    line = models.ForeignKey(NoticeLine, on_delete=models.PROTECT, related_name="stops")
    tag = models.OneToOneField(RedTag, on_delete=models.PROTECT, related_name="notice_stop")


class StepKind(models.TextChoices):
    TOLD = "told", "told"
    ANSWERED = "answered", "answered"
    INSPECTED = "inspected", "inspected"
    EXCHANGED = "exchanged", "exchanged"
    CLOSED = "closed", "closed"


class NoticeStep(models.Model):
    """Something was done about one touched thing: on which day, what, and who put it on record."""

    line = models.ForeignKey(NoticeLine, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=10, choices=StepKind)
    on = models.DateField()
    note = models.CharField(max_length=300, blank=True, default="")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["line"], condition=Q(kind="closed"), name="notice_line_closed_once"),
            models.CheckConstraint(condition=~Q(kind="closed") | ~Q(note=""), name="notice_closed_says_how"),
        ]


class NoticeClosing(models.Model):
    """Every touched thing is closed: a competent person signs for it."""

    notice = models.OneToOneField(Notice, on_delete=models.PROTECT, related_name="closing")
    reason = models.CharField(max_length=300)
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~Q(reason=""), name="notice_closing_has_reason")
        ]
