"""Work to be done after the answer: the row is the truth, whatever engine runs it."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q


class Job(models.Model):
    """One piece of background work, written in the transaction of the act that asked for it."""

    recorded = False

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        RUNNING = "running", "running"
        DONE = "done", "done"
        GIVEN_UP = "given up", "given up"

    kind = models.CharField(max_length=80)
    argument: models.JSONField[Any, Any] = models.JSONField(default=dict)
    key = models.CharField(max_length=200, unique=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    attempts = models.PositiveIntegerField(default=0)
    not_before = models.DateTimeField()
    lease_until = models.DateTimeField(null=True)
    lease_by = models.CharField(max_length=80, default="")
    error = models.TextField(default="")
    created = models.DateTimeField()
    finished = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state="running", lease_until__isnull=False) & ~Q(lease_by="")
                | ~Q(state="running") & Q(lease_until__isnull=True, lease_by=""),
                name="job_lease_while_running",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["done", "given up"], finished__isnull=False)
                | Q(state__in=["waiting", "running"], finished__isnull=True),
                name="job_finished_when_over",
            ),
        ]
        indexes = [
            models.Index(fields=["not_before"], condition=Q(state="waiting"), name="job_waiting"),
            models.Index(fields=["lease_until"], condition=Q(state="running"), name="job_running"),
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.state}"
