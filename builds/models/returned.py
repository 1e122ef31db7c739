"""What came back from the field, and what was found. Both append-only."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from builds.models.axle import Axle
from shop.models import Person


class Returned(models.Model):
    """Somebody reported a fault of an axle that had left. `role`: of the part that is said to have failed; empty for
    the axle as a whole."""

    number = models.PositiveIntegerField(unique=True)
    axle = models.ForeignKey(Axle, on_delete=models.PROTECT, related_name="returns")
    role = models.CharField(max_length=40, blank=True, default="")
    words = models.CharField(max_length=400)
    use = models.CharField(max_length=120, blank=True, default="")
    came_on = models.DateField()
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~Q(words=""), name="returned_has_words")
        ]


class SharedValue(models.Model):
    """A value that axles which left have in common, as it is counted: see `Value.counted_as`. Outside the ledger: it is
    worked out of the record, and may be thrown away."""

    kind = models.CharField(max_length=20)
    typed = models.CharField(max_length=200)
    day = models.CharField(max_length=10, blank=True, default="")
    shift = models.CharField(max_length=80, blank=True, default="")
    words = models.CharField(max_length=200, blank=True, default="")
    recorded = False

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["typed", "kind", "day", "shift", "words"], name="shared_value_once")
        ]


class Exposed(models.Model):
    """The values of one axle that left, looked through once. Outside the ledger.

    `numbers`: keys of `SharedValue`, four bytes each, the lowest first. `stamp`: how long the chains were that may
    change them, and `rules`: by which rules they were found; where either differs, the axle is looked through anew.
    """

    axle = models.OneToOneField(Axle, on_delete=models.CASCADE, primary_key=True, related_name="+")
    numbers = models.BinaryField()
    stamp = models.BigIntegerField()
    rules = models.CharField(max_length=16)
    recorded = False


class ReturnPhoto(models.Model):
    """A picture of what came back, kept by the hash of its bytes. `name`: what it shows."""

    returned = models.ForeignKey(Returned, on_delete=models.PROTECT, related_name="photos")
    name = models.CharField(max_length=60)
    sha256 = models.CharField(max_length=64)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~Q(name=""), name="return_photo_has_a_name")
        ]


class FindingWord(models.TextChoices):
    FAULT = "fault", "a fault of the axle"
    OTHER = "other", "not a fault of the axle"
    UNKNOWN = "unknown", "not known"


class Finding(models.Model):
    """What somebody found on looking at it. A later one counts, the earlier stay."""

    returned = models.ForeignKey(Returned, on_delete=models.PROTECT, related_name="findings")
    says = models.CharField(max_length=8, choices=FindingWord)
    words = models.CharField(max_length=400)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~Q(words=""), name="finding_has_words")
        ]
