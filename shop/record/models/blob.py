"""Bytes kept under their own fingerprint."""

from __future__ import annotations

from django.db import models


class Blob(models.Model):
    """A file as bytes. The key is the SHA-256 of the bytes (lower-case hexadecimal), so equal bytes are
    stored once."""

    recorded = False

    sha256 = models.CharField(max_length=64, primary_key=True)
    content = models.BinaryField()
    content_type = models.CharField(max_length=100)
    size = models.PositiveBigIntegerField()

    def __str__(self) -> str:
        return f"{self.sha256[:12]} {self.content_type} {self.size} bytes"
