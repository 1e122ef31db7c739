"""Materials: what a certificate has to state, as the engineer loaded it, and by what each heat was judged."""

from __future__ import annotations

from functools import lru_cache
from typing import ClassVar

from django.db import models

from builds.definitions.material import MaterialDefinition, read_material
from builds.models.card import Revision
from measurements.models import Sheet
from shop.models import Heat, Person


class Material(models.Model):
    """One revision of a material definition. Append-only; the newest of a code judges what comes in."""

    code = models.CharField(max_length=40)
    revision = models.CharField(max_length=8)
    name = models.CharField(max_length=60)
    text = models.TextField()
    sha256 = models.CharField(max_length=64)
    loaded_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    loaded_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar[list[str]] = ["code", "pk"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["code", "revision"], name="material_unique_revision")
        ]

    def __str__(self) -> str:
        return f"{self.name}, definition {self.code} rev {self.revision}"

    @property
    def definition(self) -> MaterialDefinition:
        return _parsed(self.text)

    @property
    def key(self) -> str:
        """What its characteristics carry as card key."""
        return f"material:{self.code}/{self.revision}"


@lru_cache(maxsize=32)
def _parsed(text: str) -> MaterialDefinition:
    return read_material(text.encode(), "material.toml")


class HeatJudged(models.Model):
    """By which card, which material and which rule a heat's values are judged, and the sheet they stand on."""

    heat = models.OneToOneField(Heat, on_delete=models.PROTECT, primary_key=True, related_name="judged")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="+")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    rounding = models.CharField(max_length=8)
    sheet = models.OneToOneField(Sheet, on_delete=models.PROTECT, related_name="+")
