"""Gauges and their calibrations."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import ClassVar

from django.db import models

from measurements.engineering.limits import plain
from shop.models import Item, Person
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
    """One calibration: good from its day up to, not including, the due day, and for `due_after` uses where it wears
    by use, whichever comes first.

    `as_found` and `as_left` are errors, shown minus true: in the gauge's unit, or with `in_percent` in per cent of
    the true value. On its own day it counts from `entered_at` on: what was measured earlier that day was measured
    under the one before.
    """

    gauge = models.ForeignKey(Gauge, on_delete=models.PROTECT, related_name="calibrations", db_index=False)
    made_on = models.DateField()
    due_on = models.DateField()
    due_after = models.PositiveIntegerField(null=True, blank=True)
    as_found = ExactField(null=True, blank=True)
    as_left = ExactField(null=True, blank=True)
    in_percent = models.BooleanField(default=False)
    certificate = models.CharField(max_length=80)
    entered_at = models.DateTimeField(null=True, blank=True)

    objects = CalibrationQuerySet.as_manager()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(
                condition=models.Q(due_on__gt=models.F("made_on")), name="calibration_due_after_made"
            ),
            models.CheckConstraint(
                condition=models.Q(due_after=None) | models.Q(due_after__gt=0), name="calibration_due_after_some_uses"
            ),
        ]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["gauge", "made_on"], name="calibration_gauge_made")
        ]

    def good_on(self, day: date) -> bool:
        return self.made_on <= day < self.due_on

    @property
    def found_words(self) -> str:
        return self._said(self.as_found)

    @property
    def left_words(self) -> str:
        return self._said(self.as_left)

    def _said(self, error: Decimal | None) -> str:
        return "" if error is None else f"{plain(error)} {self.error_unit}"

    @property
    def error_unit(self) -> str:
        """What the errors are stated in."""
        return "%" if self.in_percent else self.gauge.unit


class GaugeUse(models.Model):
    """Uses of a gauge that left no reading: bolts tightened for another shop, a trial. They wear it all the same."""

    calibration = models.ForeignKey(Calibration, on_delete=models.PROTECT, related_name="uses_by_hand")
    uses = models.PositiveIntegerField()
    reason = models.CharField(max_length=200)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=models.Q(uses__gt=0), name="gauge_use_some"),
            models.CheckConstraint(condition=~models.Q(reason=""), name="gauge_use_has_reason"),
        ]


class GaugeRecall(models.Model):
    """A gauge called out of use, from that moment until a calibration that was made since is on record."""

    gauge = models.ForeignKey(Gauge, on_delete=models.PROTECT, related_name="recalls")
    reason = models.CharField(max_length=200)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    day = models.DateField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~models.Q(reason=""), name="gauge_recall_has_reason")
        ]
