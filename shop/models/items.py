"""Everything with an identity of its own, and the one place where it is."""

from __future__ import annotations

from datetime import date, timedelta
from typing import ClassVar

from django.db import models
from django.db.models import Q

from shop.clock import shop_day
from shop.models.fields import ExactField
from shop.models.partners import Supplier
from shop.models.people import Person


class ItemKind(models.TextChoices):
    AXLE = "axle", "axle"
    UNIT = "unit", "unit"
    PART = "part", "part"
    PIECE = "piece", "piece"
    HEAT = "heat", "heat"
    LOT = "lot", "lot"
    DRUM = "drum", "drum"
    GAUGE = "gauge", "gauge"
    BATCH = "batch", "batch"
    DELIVERY = "delivery", "delivery"


class Item(models.Model):
    """Identity only: kind, sort, maker, mark. One bottom table lets axle, part and gauge share tree and tags.

    `sort` is the part kind of a part: makers number each kind by itself, and ring and pinion of one set may
    carry one number.
    """

    kind = models.CharField(max_length=10, choices=ItemKind)
    sort = models.CharField(max_length=40, blank=True, default="")
    maker = models.CharField(max_length=40, blank=True, default="")
    mark = models.CharField(max_length=40)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["kind", "sort", "maker", "mark"], name="item_unique_mark"),
            models.CheckConstraint(condition=~Q(mark=""), name="item_has_a_mark"),
        ]
        indexes: ClassVar[list[models.Index]] = [models.Index(fields=["mark"], name="item_mark")]

    def __str__(self) -> str:
        return self.mark

    @property
    def subject(self) -> str:
        """The name of this item's chain in the record."""
        return f"{self.kind}:" + "/".join(word for word in (self.sort, self.maker, self.mark) if word)


class Where(models.TextChoices):
    STOCK = "stock", "in stock"
    QUARANTINE = "quarantine", "in quarantine"
    KIT = "kit", "in a kit"
    FITTED = "fitted", "fitted"
    FLOOR = "floor", "on the floor"
    RED_TAG = "red_tag", "on the red-tag shelf"
    SCRAP = "scrap", "in the scrap bin"
    SUPPLIER = "supplier", "back at the supplier"
    CUT_UP = "cut_up", "cut up, nothing is left of it"
    SHIPPED = "shipped", "shipped"


class Place(models.Model):
    """Where an item is now. The item is the primary key, so it is in one place only."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, primary_key=True, related_name="place")
    where = models.CharField(max_length=12, choices=Where)
    host = models.ForeignKey(Item, on_delete=models.PROTECT, null=True, blank=True, related_name="holds")
    note = models.CharField(max_length=120, blank=True, default="")
    since = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(
                condition=Q(where__in=["kit", "fitted"], host__isnull=False)
                | (~Q(where__in=["kit", "fitted"]) & Q(host__isnull=True)),
                name="place_host_where_hosted",
            )
        ]


class Tracking(models.TextChoices):
    SERIAL = "serial", "by serial"
    LOT = "lot", "by lot"
    BULK = "bulk", "by open drum"
    HEAT = "heat", "by heat"
    PIECE = "piece", "by piece"


class PartKind(models.Model):
    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    tracking = models.CharField(max_length=8, choices=Tracking)

    class Meta:
        ordering: ClassVar[list[str]] = ["name"]

    def __str__(self) -> str:
        return self.name


class HeatStatus(models.TextChoices):
    HELD = "held", "held for the inspector's first look"
    FREE = "free", "free for use"
    REFUSED = "refused", "refused"


class Heat(models.Model):
    """A steel melt. Its first use is held, shop-wide, until one inspector frees it."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, primary_key=True, related_name="heat")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True)
    material = models.CharField(max_length=60)
    certificate = models.CharField(max_length=80, blank=True, default="")
    certificate_type = models.CharField(max_length=20, blank=True, default="")
    status = models.CharField(max_length=8, choices=HeatStatus, default=HeatStatus.HELD)
    freed_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True)
    freed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(
                condition=Q(freed_by__isnull=True, freed_at__isnull=True)
                | Q(freed_by__isnull=False, freed_at__isnull=False),
                name="heat_freed_by_and_at",
            )
        ]


class Part(models.Model):
    """A part with a serial of its own. A gear set is two parts with one set mark of one maker: two makers may well
    number their sets alike."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, primary_key=True, related_name="part")
    kind = models.ForeignKey(PartKind, on_delete=models.PROTECT)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True)
    heat = models.ForeignKey(Heat, on_delete=models.PROTECT, null=True, blank=True)
    set_mark = models.CharField(max_length=40, blank=True, default="")
    facts = models.JSONField(default=dict, blank=True)

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(
                fields=["kind", "supplier", "set_mark"],
                condition=~Q(set_mark=""),
                name="part_one_of_a_kind_in_a_makers_set",
            )
        ]


class Lot(models.Model):
    item = models.OneToOneField(Item, on_delete=models.PROTECT, primary_key=True, related_name="lot")
    kind = models.ForeignKey(PartKind, on_delete=models.PROTECT)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True)
    received_on = models.DateField()
    received = models.PositiveIntegerField(default=0)
    expires_on = models.DateField(null=True, blank=True)
    use_within_days = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering: ClassVar[list[str]] = ["received_on"]


class Drum(models.Model):
    """An opened container of a bulk good, in use over a span of time."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, primary_key=True, related_name="drum")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="drums")
    opened_at = models.DateTimeField()
    shut_at = models.DateTimeField(null=True, blank=True)

    @property
    def last_day(self) -> date | None:
        """The last day on which it may be used: the lot's, or so many days after the day it was opened, whichever
        comes first. The day of opening is not counted (common practice, no source)."""
        days = self.lot.use_within_days
        ends = [self.lot.expires_on, shop_day(self.opened_at) + timedelta(days=days) if days is not None else None]
        return min((end for end in ends if end is not None), default=None)


class Piece(models.Model):
    """A length of steel: a bar as it came, or one cut from it. Without a heat it is not determinable."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, primary_key=True, related_name="piece")
    kind = models.ForeignKey(PartKind, on_delete=models.PROTECT)
    heat = models.ForeignKey(Heat, on_delete=models.PROTECT, null=True, blank=True, related_name="pieces")
    parent = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="cut")
    length = ExactField(null=True, blank=True)
    length_unit = models.CharField(max_length=4, default="in")
    mark_readable = models.BooleanField(default=True)
