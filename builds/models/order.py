"""Orders and their lines."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from builds.models.card import Revision
from shop.models import Customer, Paper


class Order(models.Model):
    number = models.CharField(max_length=14, unique=True)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="orders")
    customer_reference = models.CharField(max_length=60, blank=True, default="")
    placed_on = models.DateField()
    paper = models.CharField(max_length=8, choices=Paper.choices, default=Paper.A4)

    class Meta:
        ordering: ClassVar[list[str]] = ["number"]

    def __str__(self) -> str:
        return self.number


class Line(models.Model):
    """So many axles of one model with one set of options, promised within a range of days."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="lines", db_index=False)
    number = models.PositiveSmallIntegerField()
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="lines")
    options = models.JSONField(default=dict)
    quantity = models.PositiveSmallIntegerField()
    promised_from = models.DateField()
    promised_to = models.DateField()
    rush = models.BooleanField(default=False)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["order", "number"], name="line_unique_number"),
            models.CheckConstraint(condition=Q(quantity__gte=1), name="line_at_least_one"),
            models.CheckConstraint(
                condition=Q(promised_to__gte=models.F("promised_from")), name="line_promise_in_order"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order.number} line {self.number}"
