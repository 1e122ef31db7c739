"""A look-back over a lapse: what a person did by a process on days when the skill for it was not valid."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from builds.models.axle import Axle
from builds.models.lookback import Outcome
from builds.models.redtag import RedTag
from builds.models.visit import Visit
from shop.models import Person
from shop.record.models import Signature


class LapseLookBack(models.Model):
    """The work of one person by one process, as far as it was known that day. Work entered later gets another."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="lapse_look_backs")
    process = models.CharField(max_length=40)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class LapsedVisit(models.Model):
    """One pass that was done, or looked at, without a valid skill: on which day of work, and whether it was entered
    late from paper."""

    look_back = models.ForeignKey(LapseLookBack, on_delete=models.PROTECT, related_name="visits")
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="lapsed")
    on = models.DateField()
    late = models.BooleanField(default=False)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["look_back", "visit"], name="lapsed_visit_once")
        ]


class LapsedAxle(models.Model):
    """An axle that was worked on so. One that is still being built is stopped by a red tag."""

    look_back = models.ForeignKey(LapseLookBack, on_delete=models.PROTECT, related_name="axles")
    axle = models.ForeignKey(Axle, on_delete=models.PROTECT, related_name="lapses")
    tag = models.OneToOneField(RedTag, on_delete=models.PROTECT, null=True, blank=True, related_name="lapse")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["look_back", "axle"], name="lapsed_axle_once")
        ]


class LapsedDecision(models.Model):
    """What a competent person decided about an axle whose record is closed, signed and never changed."""

    axle = models.OneToOneField(LapsedAxle, on_delete=models.PROTECT, related_name="decision")
    outcome = models.CharField(max_length=8, choices=Outcome)
    reason = models.CharField(max_length=300)
    agreed_by = models.CharField(max_length=120, blank=True, default="")
    agreed_on = models.DateField(null=True, blank=True)
    agreed_how = models.CharField(max_length=120, blank=True, default="")
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~Q(reason=""), name="lapsed_decision_has_reason"),
            models.CheckConstraint(
                condition=Q(agreed_by="", agreed_on__isnull=True, agreed_how="")
                | (~Q(agreed_by="") & Q(agreed_on__isnull=False) & ~Q(agreed_how="")),
                name="lapsed_agreement_whole_or_none",
            ),
        ]
