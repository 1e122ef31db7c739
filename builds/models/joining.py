"""Which unit was in which axle, from when to when, and why. Both tables are append-only.

A unit that was booked with its axle has no row for that: `Unit.joined_at` says it. What is there now stands in `Unit`.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from builds.models.axle import Axle, Unit
from shop.models import Person, Where


class Joined(models.Model):
    """A unit came into an axle. `instead_of`: the untouched one that was given up for it, or the one it replaces."""

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="joined")
    axle = models.ForeignKey(Axle, on_delete=models.PROTECT, related_name="joined")
    side = models.CharField(max_length=12, blank=True, default="")
    instead_of = models.ForeignKey(Unit, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    reason = models.CharField(max_length=300)
    rule = models.CharField(max_length=300, blank=True, default="")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    after_closing = models.BooleanField(default=False)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~Q(reason=""), name="joined_has_reason")
        ]


class Parted(models.Model):
    """A unit left an axle: since when it was in, why it left and where it went.

    `withdrawn`: nothing was ever done on it; it was given up for another one and is no longer used.
    """

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="parted")
    axle = models.ForeignKey(Axle, on_delete=models.PROTECT, related_name="parted")
    side = models.CharField(max_length=12, blank=True, default="")
    since = models.DateTimeField(null=True, blank=True)
    withdrawn = models.BooleanField(default=False)
    reason = models.CharField(max_length=300)
    to = models.CharField(max_length=12, choices=Where.choices, blank=True, default="")
    note = models.CharField(max_length=120, blank=True, default="")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    after_closing = models.BooleanField(default=False)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~Q(reason=""), name="parted_has_reason"),
            models.CheckConstraint(condition=Q(withdrawn=True) | ~Q(to=""), name="parted_has_destination"),
        ]
