"""What is to be measured: the characteristics of a build card.

A row is a copy of what the released card says, kept so that readings and reports can point at it; it is frozen
with its revision. `card_key` is text ("SORREL-960/D"), so nothing here points up at a build card.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from shop.models.fields import ExactField


class CharacteristicClass(models.TextChoices):
    SAFETY = "S", "safety"
    FIT = "F", "fit"
    LOOK = "L", "look"


class Characteristic(models.Model):
    card_key = models.CharField(max_length=60)
    code = models.CharField(max_length=12)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=12)
    unit = models.CharField(max_length=12, blank=True, default="")
    low = ExactField(null=True, blank=True)
    high = ExactField(null=True, blank=True)
    never_above = ExactField(null=True, blank=True)
    decimals = models.PositiveSmallIntegerField(default=0)
    gauge_kind = models.CharField(max_length=40, blank=True, default="")
    class_code = models.CharField(max_length=1, choices=CharacteristicClass, blank=True, default="")
    recorded_only = models.BooleanField(default=False)
    event = models.CharField(max_length=20, blank=True, default="")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["card_key", "code"], name="characteristic_unique_on_card")
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"
