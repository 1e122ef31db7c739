"""Red tags, what was decided about them, and concessions."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from builds.models.axle import Axle
from builds.models.card import Operation
from measurements.models import Characteristic, Reading
from shop.models import Item, Person
from shop.models.fields import ExactField
from shop.record.models import Signature


class RedTagQuerySet(models.QuerySet["RedTag"]):
    def open(self) -> RedTagQuerySet:
        return self.filter(disposition=None)


class RedTag(models.Model):
    """Something is wrong with an item: it and all that depends on it waits for a decision."""

    number = models.PositiveIntegerField(unique=True)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="red_tags")
    axle = models.ForeignKey(
        Axle, on_delete=models.PROTECT, null=True, blank=True, related_name="red_tags", db_index=False
    )
    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    reading = models.ForeignKey(Reading, on_delete=models.PROTECT, null=True, blank=True, related_name="red_tags")
    cause = models.CharField(max_length=400)
    stops_axle = models.BooleanField(default=False)
    opened_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    opened_at = models.DateTimeField()
    after_closing = models.BooleanField(default=False)

    objects = RedTagQuerySet.as_manager()

    class Meta:
        ordering: ClassVar[list[str]] = ["number"]
        indexes: ClassVar[list[models.Index]] = [models.Index(fields=["axle"], name="red_tag_axle")]

    def __str__(self) -> str:
        return f"red tag {self.number}"


class Decision(models.TextChoices):
    USE_AS_IS = "use_as_is", "use as is"
    REWORK = "rework", "rework"
    REPAIR = "repair", "repair"
    SCRAP = "scrap", "scrap"
    RETURN = "return", "return to supplier"


class Disposition(models.Model):
    tag = models.OneToOneField(RedTag, on_delete=models.PROTECT, related_name="disposition")
    decision = models.CharField(max_length=12, choices=Decision)
    reason = models.CharField(max_length=400)
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    after_closing = models.BooleanField(default=False)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~Q(reason=""), name="disposition_has_reason")
        ]


class Concession(models.Model):
    """Permission to use what does not conform: one item, one characteristic, one position, one value or one answer."""

    number = models.PositiveIntegerField(unique=True)
    disposition = models.OneToOneField(Disposition, on_delete=models.PROTECT, related_name="concession")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="concessions")
    characteristic = models.ForeignKey(Characteristic, on_delete=models.PROTECT, null=True, blank=True)
    position = models.CharField(max_length=24, blank=True, default="")
    value = ExactField(null=True, blank=True)
    word = models.CharField(max_length=120, blank=True, default="")
    scope = models.CharField(max_length=400)
    agreed_by = models.CharField(max_length=120, blank=True, default="")
    agreed_on = models.DateField(null=True, blank=True)
    agreed_how = models.CharField(max_length=120, blank=True, default="")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(
                condition=Q(agreed_by="", agreed_on__isnull=True, agreed_how="")
                | (~Q(agreed_by="") & Q(agreed_on__isnull=False) & ~Q(agreed_how="")),
                name="concession_agreement_whole_or_none",
            )
        ]
