"""Axle models, the revisions of their build cards, and the rows that other tables point at.

The text of the definition is what an engineer released; the rows are its copy for foreign keys and reports.
A released revision is frozen by trigger, so its parsed card can be kept in memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from typing import ClassVar

from django.db import models
from django.db.models import Q

from builds.definitions.card import Card
from builds.definitions.plan import BuildPlan, for_options
from builds.definitions.reading import read_kept
from builds.definitions.unit_plan import plan_of_unit
from measurements.models import Characteristic
from shop.models import PartKind, Person, Station
from shop.models.fields import ExactField


class AxleModel(models.Model):
    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=80)

    class Meta:
        ordering: ClassVar[list[str]] = ["name"]

    def __str__(self) -> str:
        return self.name


class RevisionState(models.TextChoices):
    DRAFT = "draft", "draft"
    RELEASED = "released", "released"


class Revision(models.Model):
    model = models.ForeignKey(AxleModel, on_delete=models.PROTECT, related_name="revisions", db_index=False)
    letter = models.CharField(max_length=8)
    state = models.CharField(max_length=8, choices=RevisionState, default=RevisionState.DRAFT)
    text = models.TextField()
    sha256 = models.CharField(max_length=64)
    loaded_at = models.DateTimeField()
    loaded_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["model", "letter"], name="revision_unique_letter"),
            models.CheckConstraint(
                condition=Q(state="draft", released_at__isnull=True, released_by__isnull=True)
                | Q(state="released", released_at__isnull=False, released_by__isnull=False),
                name="revision_released_by_and_at",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.model.name} rev {self.letter}"

    @property
    def key(self) -> str:
        return f"{self.model.code}/{self.letter}"

    @property
    def card(self) -> Card:
        return _parsed(self.sha256)

    def plan(self, options: Mapping[str, str]) -> BuildPlan:
        """The operations and characteristics that these options leave. Raises ValueError for refused options."""
        return _planned(self.sha256, tuple(sorted(options.items())))

    def plan_of_unit(self, options: Mapping[str, str], role: str, side: str) -> BuildPlan:
        """The same for a unit that is in no axle."""
        return _planned_unit(self.sha256, tuple(sorted(options.items())), role, side)


@lru_cache(maxsize=64)
def _parsed(sha256: str) -> Card:
    """Kept by the text's own hash, so pages need not fetch a hundred kilobytes to know what they already know."""
    text = Revision.objects.filter(sha256=sha256).values_list("text", flat=True)[0]
    return read_kept(text, f"revision {sha256[:8]}")


@lru_cache(maxsize=256)
def _planned(sha256: str, options: tuple[tuple[str, str], ...]) -> BuildPlan:
    return for_options(_parsed(sha256), dict(options))


@lru_cache(maxsize=64)
def _planned_unit(sha256: str, options: tuple[tuple[str, str], ...], role: str, side: str) -> BuildPlan:
    return plan_of_unit(_planned(sha256, options), role, side)


class Operation(models.Model):
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="operations", db_index=False)
    number = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=120)
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="operations")
    per = models.CharField(max_length=20)

    class Meta:
        ordering: ClassVar[list[str]] = ["revision", "number"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["revision", "number"], name="operation_unique_number")
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"


class OperationCharacteristic(models.Model):
    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="asked", db_index=False)
    characteristic = models.ForeignKey(Characteristic, on_delete=models.PROTECT, related_name="asked_at")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["operation", "characteristic"], name="operation_characteristic_once")
        ]


class Requirement(models.Model):
    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="requirements", db_index=False)
    kind = models.ForeignKey(PartKind, on_delete=models.PROTECT)
    role = models.CharField(max_length=40)
    quantity = ExactField(default=Decimal(1))

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["operation", "role", "kind"], name="requirement_role_once")
        ]


class After(models.Model):
    """The operation may start once the other is done, or so many minutes after an event such as the last arc."""

    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="after", db_index=False)
    other = models.ForeignKey(Operation, on_delete=models.PROTECT, null=True, blank=True, related_name="before")
    event = models.CharField(max_length=20, blank=True, default="")
    minutes = models.PositiveIntegerField(default=0)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["operation", "other", "event"], name="after_once"),
            models.CheckConstraint(
                condition=Q(other__isnull=False, event="") | (Q(other__isnull=True) & ~Q(event="")),
                name="after_operation_or_event",
            ),
        ]


class Invalidates(models.Model):
    """A change with this cause makes the operation's finished work invalid.

    `own_side`: only on the side that changed. `code`: only this characteristic, the rest stays done; empty: all.
    """

    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="invalidated_by", db_index=False)
    cause = models.CharField(max_length=40)
    own_side = models.BooleanField(default=False)
    code = models.CharField(max_length=12, blank=True, default="")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["operation", "cause", "code"], name="invalidates_once")
        ]


class Document(models.Model):
    """A drawing or instruction sheet of an operation at a revision; its bytes are kept by their hash."""

    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="documents", db_index=False)
    name = models.CharField(max_length=120)
    sha256 = models.CharField(max_length=64)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["operation", "name"], name="document_name_once")
        ]
