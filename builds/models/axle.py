"""Axles and their units (sub-assemblies)."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from builds.definitions.plan import BuildPlan
from builds.models.card import Revision
from builds.models.order import Line
from shop.models import Item


class Phase(models.TextChoices):
    BOOKED = "booked", "booked"
    KITTED = "kitted", "kitted"
    FLOOR = "floor", "on the floor"
    BOUGHT_OFF = "bought_off", "bought off"
    CERTIFIED = "certified", "certified"
    GONE = "gone", "gone"
    BACK = "back", "back"
    RETIRED = "retired", "retired"


OPEN_PHASES = (Phase.BOOKED, Phase.KITTED, Phase.FLOOR, Phase.BOUGHT_OFF, Phase.CERTIFIED)
CLOSED_PHASES = (Phase.CERTIFIED, Phase.GONE, Phase.BACK)


class AxleQuerySet(models.QuerySet["Axle"]):
    def in_the_house(self) -> AxleQuerySet:
        return self.filter(phase__in=OPEN_PHASES)

    def being_built(self) -> AxleQuerySet:
        return self.filter(phase__in=(Phase.BOOKED, Phase.KITTED, Phase.FLOOR))


class Axle(models.Model):
    """One serial. It keeps the revision it started on. "Stopped" is not a phase: an open red tag says it."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, primary_key=True, related_name="axle")
    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="axles")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="axles")
    options = models.JSONField(default=dict)
    phase = models.CharField(max_length=12, choices=Phase, default=Phase.BOOKED)
    booked_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)
    scrapped_at = models.DateTimeField(null=True, blank=True)
    takes_place_of = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by"
    )

    objects = AxleQuerySet.as_manager()

    class Meta:
        indexes: ClassVar[list[models.Index]] = [
            models.Index(
                fields=["booked_at"],
                name="axle_in_the_house",
                condition=Q(phase__in=("booked", "kitted", "floor", "bought_off", "certified")),
            )
        ]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(
                condition=~Q(phase__in=("certified", "gone", "back")) | Q(closed_at__isnull=False),
                name="axle_certified_only_when_closed",
            )
        ]

    def __str__(self) -> str:
        return self.serial

    @property
    def serial(self) -> str:
        return self.item.mark

    @property
    def subject(self) -> str:
        return self.item.subject

    @property
    def plan(self) -> BuildPlan:
        """The operations and characteristics that this axle's options leave (kept in memory per choice)."""
        return self.revision.plan(self.options)


class Unit(models.Model):
    """A sub-assembly. It may exist before it joins an axle; it gets its side when it joins.

    `revision`, `options` and `built_side`: what it was built to, written when it first leaves its axle and kept for
    ever. Until then its axle says so. The rows of `Joined` and `Parted` tell where it was.
    """

    item = models.OneToOneField(Item, on_delete=models.PROTECT, primary_key=True, related_name="unit")
    role = models.CharField(max_length=20)
    side = models.CharField(max_length=12, blank=True, default="")
    axle = models.ForeignKey(Axle, on_delete=models.PROTECT, null=True, blank=True, related_name="units")
    joined_at = models.DateTimeField(null=True, blank=True)
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, null=True, blank=True, related_name="units")
    options = models.JSONField(default=dict, blank=True)
    built_side = models.CharField(max_length=12, blank=True, default="")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["axle", "role", "side"], name="unit_one_per_role_and_side")
        ]

    def __str__(self) -> str:
        return self.item.mark

    @property
    def words(self) -> str:
        """Role and side: "tube left"."""
        return f"{self.role} {self.side or self.built_side}".replace("_", " ").strip()
