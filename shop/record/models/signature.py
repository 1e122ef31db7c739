"""A person's signature, with what it means."""

from __future__ import annotations

from django.conf import settings
from django.db import models


class Signature(models.Model):
    """Who signed, where, when and in which sense. Written only through an act, and never changed."""

    class Meaning(models.TextChoices):
        DID = "did", "did the work"
        CHECKED = "checked", "checked it"
        RELEASED = "released", "released it"
        AGREED = "agreed", "agreed to it"

    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="signatures")
    terminal = models.ForeignKey("shop.Terminal", models.PROTECT, null=True, related_name="+", db_index=False)
    meaning = models.CharField(max_length=12, choices=Meaning.choices)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(meaning__in=["did", "checked", "released", "agreed"]),
                name="signature_has_meaning",
            )
        ]

    def __str__(self) -> str:
        return f"{self.person_id} {self.meaning} {self.at:%Y-%m-%d %H:%M}"
