"""Deliveries with their packing slips, what came with each, the makers' papers for it, and lengths of its bars."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from django.db import models

from shop.models import Item, Lot, Person, Piece, Supplier
from shop.models.fields import ExactField


class PaperKind(models.TextChoices):
    """EN 10204:2004 in its own words (from memory): whose results, and whether they are of these goods."""

    DECLARATION = "2.1", "2.1 declaration of compliance with the order"
    REPORT = "2.2", "2.2 test report: results of nonspecific inspection"
    INSPECTION = "3.1", "3.1 inspection certificate: specific inspection, maker's own independent inspection"
    OUTSIDE = "3.2", "3.2 inspection certificate: specific inspection, with an outside inspector"


class Delivery(models.Model):
    """What came at the door on one packing slip. The slip's number is the item's mark, the supplier its maker."""

    item = models.OneToOneField(Item, on_delete=models.PROTECT, primary_key=True, related_name="delivery")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="deliveries")
    came_on = models.DateField()
    note = models.CharField(max_length=200, blank=True, default="")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.item.mark} of {self.supplier}"

    @property
    def day(self) -> date:
        return self.came_on


class Delivered(models.Model):
    """One thing of a delivery: a heat, a bar, a lot or a part. A thing comes once."""

    delivery = models.ForeignKey(Delivery, on_delete=models.PROTECT, related_name="brought")
    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="delivered")


class Paper(models.Model):
    """A maker's certificate. One paper may name several heats, and a heat may have several papers."""

    maker = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="papers", db_index=False)
    number = models.CharField(max_length=80)
    kind = models.CharField(max_length=3, choices=PaperKind)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["maker", "number"], name="paper_unique_number")
        ]

    def __str__(self) -> str:
        return f"{self.number} ({self.kind})"


class PaperFor(models.Model):
    """What a paper covers."""

    paper = models.ForeignKey(Paper, on_delete=models.PROTECT, related_name="covers", db_index=False)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="papers")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["paper", "item"], name="paper_for_item_once")
        ]


class Scan(models.Model):
    """The paper as it was scanned: looked through before it is kept, and named by the SHA-256 of what is kept."""

    paper = models.ForeignKey(Paper, on_delete=models.PROTECT, related_name="scans", db_index=False)
    sha256 = models.CharField(max_length=64)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["paper", "sha256"], name="scan_once_of_a_paper")
        ]


class Measured(models.TextChoices):
    """What was measured of a bar."""

    LENGTH = "length", "the whole bar, as it came"
    REMNANT = "remnant", "what is left of it"
    SCRAP = "scrap", "an end that went to the scrap bin"


class BarMeasure(models.Model):
    """A length of a bar, measured at the saw or on the rack. Append-only: the last one of a sort counts, ends add up.

    `cuts` is how many pieces had been cut from the bar then: a remnant measured before a later cut tells nothing now.
    """

    bar = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="measures")
    what = models.CharField(max_length=8, choices=Measured)
    length = ExactField()
    cuts = models.PositiveSmallIntegerField()
    reason = models.CharField(max_length=200, blank=True, default="")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()


class LotCount(models.Model):
    """A lot counted again: how many of it came, and why the count before was another. Append-only."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="counts")
    received = models.PositiveIntegerField()
    reason = models.CharField(max_length=200)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
