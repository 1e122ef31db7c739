"""Weld procedures and the record of each weld."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from django.db import models

from builds.models.visit import Visit
from shop.models import Item, Person


class WeldProcedure(models.Model):
    """A qualified instruction at one revision. The program holds its name and process, not its substance."""

    code = models.CharField(max_length=14)
    revision = models.CharField(max_length=8)
    process = models.CharField(max_length=40)
    title = models.CharField(max_length=120)
    released_on = models.DateField()
    withdrawn_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering: ClassVar[list[str]] = ["code", "revision"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["code", "revision"], name="weld_procedure_unique_revision")
        ]

    def __str__(self) -> str:
        return f"{self.code} rev {self.revision}"

    def in_force(self, day: date) -> bool:
        """From the day of its release up to, not including, the day on which it is withdrawn."""
        return self.released_on <= day and (self.withdrawn_on is None or day < self.withdrawn_on)


class Weld(models.Model):
    """One weld at one joint. A repair is a new weld on the old one. Append-only.

    `ended_at` is when the arc ended (as stated, for work on paper); waits count from `entered_at`, the server's time.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="welds")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="welds", db_index=False)
    joint = models.CharField(max_length=40)
    procedure = models.ForeignKey(WeldProcedure, on_delete=models.PROTECT, related_name="welds")
    welder = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="welds", db_index=False)
    wire = models.ForeignKey(Item, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    ended_at = models.DateTimeField()
    entered_at = models.DateTimeField()
    late = models.BooleanField(default=False)
    repairs = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="repaired_by")

    class Meta:
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["item", "ended_at"], name="weld_item_ended"),
            models.Index(fields=["welder", "ended_at"], name="weld_welder_ended"),
        ]
