"""A look-back over a lapse: what a person did by a process on days when the skill for it was not valid."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from builds.models.axle import Axle
from builds.models.lookback import SettledRow, settled_whole
from builds.models.redtag import RedTag
from builds.models.visit import Visit
from shop.models import Person


class LapseLookBack(models.Model):
    """The work of one person by one process, as far as it was known that day. Work entered later gets another."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="lapse_look_backs")
    process = models.CharField(max_length=40)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class LapsedVisit(models.Model):
    """One pass that was done, or looked at, without a valid skill: on which day of work, and whether it was entered
    late from paper."""

    look_back = models.ForeignKey(LapseLookBack, on_delete=models.PROTECT, related_name="visits", db_index=False)
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="lapsed")
    on = models.DateField()
    late = models.BooleanField(default=False)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["look_back", "visit"], name="lapsed_visit_once")
        ]


class LapsedAxle(models.Model):
    """An axle that was worked on so. One that is still being built is stopped by a red tag."""

    look_back = models.ForeignKey(LapseLookBack, on_delete=models.PROTECT, related_name="axles", db_index=False)
    axle = models.ForeignKey(Axle, on_delete=models.PROTECT, related_name="lapses")
    tag = models.OneToOneField(RedTag, on_delete=models.PROTECT, null=True, blank=True, related_name="lapse")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["look_back", "axle"], name="lapsed_axle_once")
        ]


class LapsedDecision(SettledRow):
    axle = models.OneToOneField(LapsedAxle, on_delete=models.PROTECT, related_name="decision")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = settled_whole("lapsed")
