"""The ledger: one row per act and subject, append-only by trigger."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.conf import settings
from django.db import models

from shop.record import chain


class Event(models.Model):
    """One act as one subject saw it. ``content`` holds the exact bytes that were hashed, who and when
    included; the other columns repeat parts of it so that the database can search, and ``verify`` compares
    the two."""

    recorded = False

    subject = models.CharField(max_length=120)
    sequence = models.PositiveBigIntegerField()
    act = models.UUIDField()
    kind = models.CharField(max_length=80)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    terminal = models.ForeignKey("shop.Terminal", models.PROTECT, null=True, related_name="+", db_index=False)
    content = models.BinaryField()
    previous = models.BinaryField(max_length=32)
    hash = models.BinaryField(max_length=32)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["subject", "sequence"], name="event_once_in_chain"),
            models.CheckConstraint(condition=models.Q(sequence__gte=1), name="event_sequence_from_one"),
        ]
        indexes = [models.Index(fields=["act"], name="event_act")]

    def __str__(self) -> str:
        return f"{self.subject} #{self.sequence} {self.kind}"

    @cached_property
    def facts(self) -> dict[str, Any]:
        """The event as written: subject, sequence, act, kind, at, person, terminal, notes, and the write-set
        if any."""
        return chain.parse(bytes(self.content))

    @property
    def notes(self) -> dict[str, Any]:
        """The plain facts left for the reader of the record."""
        found: dict[str, Any] = self.facts.get("notes", {})
        return found


class Head(models.Model):
    """The end of one subject's chain, and the lock of that subject: whoever holds this row decides alone."""

    recorded = False

    subject = models.CharField(max_length=120, primary_key=True)
    sequence = models.PositiveBigIntegerField(default=0)
    hash = models.BinaryField(max_length=32)
    at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.subject} at {self.sequence}"
