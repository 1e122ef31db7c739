"""Who buys and who supplies."""

from __future__ import annotations

from typing import ClassVar

from django.db import models


class Paper(models.TextChoices):
    A4 = "A4", "A4"
    LETTER = "Letter", "Letter"


class Customer(models.Model):
    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120, unique=True)
    address = models.TextField(blank=True, default="")
    paper = models.CharField(max_length=8, choices=Paper, default=Paper.A4)

    class Meta:
        ordering: ClassVar[list[str]] = ["name"]

    def __str__(self) -> str:
        return self.name


class Supplier(models.Model):
    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120, unique=True)

    class Meta:
        ordering: ClassVar[list[str]] = ["name"]

    def __str__(self) -> str:
        return self.name
