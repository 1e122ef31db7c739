"""The tree over all events, its signed checkpoints, the register of keys, and what the nightly check
found."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db import models


class Leaf(models.Model):
    """One event's place in the tree. Laid down in order by the checkpoint job, since events of different
    subjects may be committed out of the order of their numbers."""

    recorded = False

    index = models.PositiveBigIntegerField(primary_key=True)
    event = models.OneToOneField("record.Event", models.PROTECT, related_name="leaf")
    hash = models.BinaryField(max_length=32)

    def __str__(self) -> str:
        return f"leaf {self.index}"


class SigningKey(models.Model):
    """A public key and the time it was in force. Old ones are kept for ever; private keys are never in the
    database."""

    class Purpose(models.TextChoices):
        LEDGER = "ledger", "checkpoints of the ledger (Ed25519)"
        CERTIFICATE = "certificate", "certificates (ECDSA P-256)"

    name = models.CharField(max_length=80, unique=True)
    purpose = models.CharField(max_length=12, choices=Purpose.choices)
    public = models.TextField(unique=True)
    valid_from = models.DateTimeField()
    valid_to = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["purpose"], condition=models.Q(valid_to__isnull=True), name="signing_key_one_in_force"
            ),
            models.CheckConstraint(
                condition=models.Q(valid_to__isnull=True) | models.Q(valid_to__gt=models.F("valid_from")),
                name="signing_key_ends_after_start",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Checkpoint(models.Model):
    """A signed statement of size and root. Two with the same size and different roots must never exist."""

    recorded = False

    size = models.PositiveBigIntegerField(unique=True)
    root = models.BinaryField(max_length=32)
    note = models.TextField()
    key = models.ForeignKey(SigningKey, models.PROTECT, related_name="checkpoints")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"checkpoint {self.size}"


class Inspection(models.Model):
    """One walk over the record: what was walked and what was found. Shown on the page Record."""

    recorded = False

    class Kind(models.TextChoices):
        LEDGER = "ledger", "chains, tree, files and guards"
        REPLAY = "replay", "tables against the ledger"

    kind = models.CharField(max_length=8, choices=Kind.choices)
    at = models.DateTimeField()
    events = models.PositiveBigIntegerField()
    chains = models.PositiveBigIntegerField(default=0)
    seconds = models.DecimalField(max_digits=10, decimal_places=3)
    sound = models.BooleanField()
    findings: models.JSONField[Any, Any] = models.JSONField(default=list)

    #: The walks are nightly; one that is older than this did not happen.
    OVERDUE = timedelta(hours=36)

    def state(self, now: datetime) -> str:
        if not self.sound:
            return "failed"
        return "overdue" if now - self.at > self.OVERDUE else "valid"

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {'sound' if self.sound else 'broken'}"
