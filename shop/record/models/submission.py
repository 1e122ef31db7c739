"""Every accepted submission, so that a press repeated gives the same answer and not a second entry."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models


class Submission(models.Model):
    """One accepted act under the key its form was drawn with. Kept for ever; holds no secret."""

    recorded = False

    key = models.UUIDField(primary_key=True)
    fingerprint = models.BinaryField(max_length=32)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+", db_index=False)
    at = models.DateTimeField()
    result: models.JSONField[Any, Any] = models.JSONField(null=True)

    def __str__(self) -> str:
        return str(self.key)
