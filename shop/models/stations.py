"""Stations, the terminals bound to them, and the shifts of the day."""

from __future__ import annotations

from datetime import datetime, time, timedelta, tzinfo
from typing import ClassVar

from django.db import models


class Station(models.Model):
    code = models.CharField(max_length=8, unique=True)
    name = models.CharField(max_length=60)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering: ClassVar[list[str]] = ["order", "code"]

    def __str__(self) -> str:
        return self.name


class Terminal(models.Model):
    """A shared screen, bound to one station by a key of which only the hash is kept."""

    code = models.CharField(max_length=20, unique=True)
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="terminals")
    key_hash = models.CharField(max_length=64, unique=True)
    registered_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.code


class Shift(models.Model):
    """A named stretch of the shop's day. One that passes midnight belongs to the day on which it began."""

    name = models.CharField(max_length=20, unique=True)
    starts = models.TimeField()
    ends = models.TimeField()

    class Meta:
        ordering: ClassVar[list[str]] = ["starts"]

    def holds(self, clock: time) -> bool:
        if self.starts < self.ends:
            return self.starts <= clock < self.ends
        return clock >= self.starts or clock < self.ends


def shift_start(shifts: list[Shift], at: datetime, zone: tzinfo) -> datetime:
    """When the shift in which `at` falls began; the start of the shop's day where no shift covers it."""
    local = at.astimezone(zone)
    for shift in shifts:
        if shift.holds(local.time()):
            begun = local.replace(hour=shift.starts.hour, minute=shift.starts.minute, second=0, microsecond=0)
            return begun if begun <= local else begun - timedelta(days=1)
    return local.replace(hour=0, minute=0, second=0, microsecond=0)
