"""Part in, part out: the edges of the parts tree. Both append-only."""

from __future__ import annotations

from decimal import Decimal
from typing import ClassVar

from django.db import models
from django.db.models import Q

from builds.models.axle import Axle
from builds.models.visit import Visit
from shop.models import Item, Person, Where
from shop.models.fields import ExactField


class KitLine(models.Model):
    """One part set aside for one need of one axle."""

    axle = models.ForeignKey(Axle, on_delete=models.PROTECT, related_name="kit")
    host = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    role = models.CharField(max_length=40)
    part = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="kitted_for")
    kitted_at = models.DateTimeField()
    returned_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(
                fields=["host", "role", "part"], condition=Q(returned_at=None), name="kit_line_once"
            )
        ]


class FittedQuerySet(models.QuerySet["Fitted"]):
    def now(self) -> FittedQuerySet:
        return self.filter(removal=None)

    def used_up(self) -> FittedQuerySet:
        """What is in something now, and what came out to anywhere but the stock: of a lot it is not on the shelf."""
        return self.filter(Q(removal=None) | Q(removal__to__in=set(Where) - {Where.STOCK}))


class Fitted(models.Model):
    """A part went into a host (a unit or the axle) in a role, at a visit."""

    host = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="parts_in", db_index=False)
    part = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="fitted_in", db_index=False)
    axle = models.ForeignKey(
        Axle, on_delete=models.PROTECT, null=True, blank=True, related_name="fitted", db_index=False
    )
    role = models.CharField(max_length=40)
    quantity = ExactField(default=Decimal(1))
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="fitted")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+", db_index=False)
    at = models.DateTimeField()
    after_closing = models.BooleanField(default=False)

    objects = FittedQuerySet.as_manager()

    class Meta:
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["part", "host"], include=["axle"], name="fitted_part"),
            models.Index(fields=["axle"], name="fitted_axle"),
            models.Index(fields=["host", "part"], name="fitted_host_part"),
            models.Index(fields=["person", "at"], name="fitted_person_at"),
        ]


class Removal(models.Model):
    """A fitted part came out: why, and where it went."""

    fitted = models.OneToOneField(Fitted, on_delete=models.PROTECT, related_name="removal")
    reason = models.CharField(max_length=300)
    to = models.CharField(max_length=12, choices=Where.choices)
    note = models.CharField(max_length=120, blank=True, default="")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    after_closing = models.BooleanField(default=False)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~Q(reason=""), name="removal_has_reason")
        ]
