"""Gauges and their calibrations."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import ClassVar

from django.db import models

from shop.models import Item
from shop.models.fields import ExactField


class Gauge(models.Model):
    """A measuring instrument, or the setting ring that one is set on (`setting` holds its size)."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, primary_key=True, related_name="gauge")
    kind = models.CharField(max_length=40)
    name = models.CharField(max_length=80)
    unit = models.CharField(max_length=12)
    step = ExactField(null=True, blank=True)
    low = ExactField(null=True, blank=True)
    high = ExactField(null=True, blank=True)
    setting = ExactField(null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.item.mark

    def covers(self, value: Decimal) -> bool:
        """Whether `value`, in the gauge's own unit, lies in its marked range (bounds included)."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


class CalibrationQuerySet(models.QuerySet["Calibration"]):
    def in_force(self, *, gauge: Gauge, at: date) -> Calibration | None:
        """The newest calibration made on or before that day; it may be overdue: see `Calibration.good_on`."""
        return self.filter(gauge=gauge, made_on__lte=at).order_by("-made_on", "-pk").first()


class Calibration(models.Model):
    """One calibration: good from its day up to, not including, the due day."""

    gauge = models.ForeignKey(Gauge, on_delete=models.PROTECT, related_name="calibrations")
    made_on = models.DateField()
    due_on = models.DateField()
    as_found = ExactField(null=True, blank=True)
    as_left = ExactField(null=True, blank=True)
    certificate = models.CharField(max_length=80)

    objects = CalibrationQuerySet.as_manager()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(
                condition=models.Q(due_on__gt=models.F("made_on")), name="calibration_due_after_made"
            )
        ]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["gauge", "made_on"], name="calibration_gauge_made")
        ]

    def good_on(self, day: date) -> bool:
        return self.made_on <= day < self.due_on
