"""Closing, certificates, shipping, the customer's link, printed labels."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from builds.models.axle import Axle
from builds.models.order import Order
from shop.models import Item, Paper, Person
from shop.record.models import Signature


class Closing(models.Model):
    """The frozen record of one axle, as canonical JSON kept by its SHA-256."""

    axle = models.OneToOneField(Axle, on_delete=models.PROTECT, related_name="closing")
    sha256 = models.CharField(max_length=64)
    closed_at = models.DateTimeField()
    closed_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")


class Certifying(models.Model):
    """The quality signature under the frozen record."""

    closing = models.OneToOneField(Closing, on_delete=models.PROTECT, related_name="certifying")
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")


class Certificate(models.Model):
    """One issue of the build certificate: bytes made once from the frozen record and never again."""

    closing = models.ForeignKey(Closing, on_delete=models.PROTECT, related_name="certificates")
    axle = models.ForeignKey(Axle, on_delete=models.PROTECT, related_name="certificates", db_index=False)
    issue = models.PositiveSmallIntegerField(default=1)
    paper = models.CharField(max_length=8, choices=Paper.choices)
    sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    reason = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["axle", "issue"], name="certificate_unique_issue"),
            models.CheckConstraint(
                condition=models.Q(issue=1, replaces__isnull=True) | models.Q(issue__gt=1, replaces__isnull=False),
                name="certificate_later_issue_names_the_old",
            ),
        ]


class Shipment(models.Model):
    axle = models.ForeignKey(Axle, on_delete=models.PROTECT, related_name="shipments")
    consignee = models.CharField(max_length=120)
    address = models.TextField(blank=True, default="")
    carrier = models.CharField(max_length=80)
    control_numbers = models.CharField(max_length=120, blank=True, default="")
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="+")
    shipped_at = models.DateTimeField()


class CustomerLink(models.Model):
    """The way in for the customer of one order. Only the token's hash is kept."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="links")
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)


class LinkView(models.Model):
    """Somebody looked through a customer's link. Outside the ledger."""

    link = models.ForeignKey(CustomerLink, on_delete=models.CASCADE, related_name="views")
    at = models.DateTimeField()
    path = models.CharField(max_length=120)
    recorded = False


class LabelPrint(models.Model):
    """A label was printed; a second time is a reprint, with the reason."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="labels", db_index=False)
    kind = models.CharField(max_length=20)
    number = models.PositiveSmallIntegerField(default=1)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    reason = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["item", "kind", "number"], name="label_print_number_once"),
            models.CheckConstraint(
                condition=models.Q(number=1) | ~models.Q(reason=""), name="label_reprint_has_reason"
            ),
        ]
