"""Axles and their units (sub-assemblies)."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from builds.definitions.plan import BuildPlan
from builds.models.card import Revision
from builds.models.order import Line
from shop.models import Item, Person, Where


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

    @property
    def card_revision(self) -> Revision:
        return self.revision

    @property
    def as_axle(self) -> Axle:
        """Of what work is done at: the axle that it is."""
        return self


def role_and_side(role: str, side: str) -> str:
    """Role and side of a unit: "tube left"."""
    return f"{role} {side}".replace("_", " ").strip()


class UnitQuerySet(models.QuerySet["Unit"]):
    def in_hand(self) -> UnitQuerySet:
        """Those in no axle that are being built: on the floor, and not yet put in stock."""
        return self.filter(axle=None, item__place__where=Where.FLOOR)


class Unit(models.Model):
    """A sub-assembly. It may exist before it joins an axle; it gets its side when it joins.

    `revision`, `options` and `built_side`: what it was built to, written when it is begun for stock or first leaves its
    axle, and kept for ever. Until then its axle says so. The rows of `Joined` and `Parted` tell where it was.
    `begun_at`, `begun_by`: of one that was begun for stock. While it is in no axle, work is done at it as at an axle:
    it answers `serial`, `subject`, `plan`.
    """

    item = models.OneToOneField(Item, on_delete=models.PROTECT, primary_key=True, related_name="unit")
    role = models.CharField(max_length=20)
    side = models.CharField(max_length=12, blank=True, default="")
    axle = models.ForeignKey(
        Axle, on_delete=models.PROTECT, null=True, blank=True, related_name="units", db_index=False
    )
    joined_at = models.DateTimeField(null=True, blank=True)
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, null=True, blank=True, related_name="units")
    options = models.JSONField(default=dict, blank=True)
    built_side = models.CharField(max_length=12, blank=True, default="")
    begun_at = models.DateTimeField(null=True, blank=True)
    begun_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    #: A unit by itself has no record that closes, and leaves by its place.
    closed_at = None
    scrapped_at = None

    objects = UnitQuerySet.as_manager()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["axle", "role", "side"], name="unit_one_per_role_and_side"),
            models.CheckConstraint(
                condition=Q(begun_at__isnull=True, begun_by__isnull=True)
                | Q(begun_at__isnull=False, begun_by__isnull=False, revision__isnull=False),
                name="unit_begun_by_and_to",
            ),
        ]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["item"], name="unit_in_no_axle", condition=Q(axle=None))
        ]

    def __str__(self) -> str:
        return self.item.mark

    @property
    def words(self) -> str:
        """Role and side: "tube left"."""
        return role_and_side(self.role, self.side or self.built_side)

    @property
    def serial(self) -> str:
        """What it is called where an axle is called by its serial: its mark."""
        return self.item.mark

    @property
    def subject(self) -> str:
        return self.item.subject

    @property
    def card_revision(self) -> Revision:
        """What it was built to, while it is in no axle."""
        assert self.revision is not None, "a unit that was booked with its axle follows that axle's card"
        return self.revision

    @property
    def plan(self) -> BuildPlan:
        """Its own operations, as they are while it is in no axle."""
        return self.card_revision.plan_of_unit(self.options, self.role, self.built_side)

    @property
    def as_axle(self) -> None:
        """Of what work is done at: no axle."""
        return None


#: What work is done at: an axle, or a unit that is in none.
Bench = Axle | Unit


def of_bench(bench: Bench, path: str = "") -> Q:
    """The condition that a visit or a red tag stands under it. `path`: the way there, as "visit__"."""
    if bench.as_axle is not None:
        return Q(**{f"{path}axle": bench.pk})
    return Q(**{f"{path}axle": None, f"{path}item": bench.pk})
