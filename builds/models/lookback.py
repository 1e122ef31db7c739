"""A look-back: what a gauge read while it was off, judged again beside what was written. Nothing is overwritten."""

from __future__ import annotations

from fractions import Fraction
from typing import ClassVar

from django.db import models
from django.db.models import Q

from builds.models.axle import Axle
from builds.models.redtag import RedTag
from measurements.models import Calibration, Reading, VerdictWord
from shop.models import Person
from shop.models.fields import ExactField
from shop.record.models import Signature


class LookBack(models.Model):
    """The error that a calibration found, and the last good calibration before it."""

    found = models.OneToOneField(Calibration, on_delete=models.PROTECT, related_name="look_back")
    good = models.ForeignKey(Calibration, on_delete=models.PROTECT, related_name="+")
    error = ExactField()
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class JudgedAgain(models.Model):
    """One reading, corrected and judged again by the limits it was judged by. Without a value: a word, which no
    figure corrects."""

    look_back = models.ForeignKey(LookBack, on_delete=models.PROTECT, related_name="readings", db_index=False)
    reading = models.ForeignKey(Reading, on_delete=models.PROTECT, related_name="judged_again")
    value = ExactField(null=True, blank=True)
    verdict = models.CharField(max_length=6, choices=VerdictWord, blank=True, default="")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["look_back", "reading"], name="judged_again_once")
        ]

    @property
    def exact(self) -> Fraction | None:
        return None if self.value is None else Fraction(self.value)


class LookBackAxle(models.Model):
    """An axle with a verdict that changed. One that is still being built is stopped by a red tag."""

    look_back = models.ForeignKey(LookBack, on_delete=models.PROTECT, related_name="axles", db_index=False)
    axle = models.ForeignKey(Axle, on_delete=models.PROTECT, related_name="look_backs")
    tag = models.OneToOneField(RedTag, on_delete=models.PROTECT, null=True, blank=True, related_name="look_back")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["look_back", "axle"], name="look_back_axle_once")
        ]


class Outcome(models.TextChoices):
    AS_IS = "as_is", "use as is"
    STOP = "stop", "bring it back"


class SettledRow(models.Model):
    """What a competent person decided about an axle whose record is closed, signed and never changed."""

    outcome = models.CharField(max_length=8, choices=Outcome)
    reason = models.CharField(max_length=300)
    agreed_by = models.CharField(max_length=120, blank=True, default="")
    agreed_on = models.DateField(null=True, blank=True)
    agreed_how = models.CharField(max_length=120, blank=True, default="")
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        abstract = True


def settled_whole(name: str) -> list[models.BaseConstraint]:
    """There is a reason, and of the customer's agreement all or nothing."""
    agreed = ~Q(agreed_by="") & Q(agreed_on__isnull=False) & ~Q(agreed_how="")
    return [
        models.CheckConstraint(condition=~Q(reason=""), name=f"{name}_decision_has_reason"),
        models.CheckConstraint(
            condition=Q(agreed_by="", agreed_on__isnull=True, agreed_how="") | agreed,
            name=f"{name}_agreement_whole_or_none",
        ),
    ]


class LookBackDecision(SettledRow):
    axle = models.OneToOneField(LookBackAxle, on_delete=models.PROTECT, related_name="decision")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = settled_whole("look_back")
