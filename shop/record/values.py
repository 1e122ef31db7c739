"""How a row's values stand in the record: exact text, one way to write them and one way to read them back.

Whole numbers and decimals are plain decimal text, times are RFC 3339 in UTC with microseconds, dates are ISO
8601, identifiers are UUID text, bytes are base64, structured values are JSON without floats, null is null.
Text is NFC-normalised before it is stored, so that the same word is the same bytes. Foreign keys stand as the
raw key.
"""

from __future__ import annotations

import base64
import uuid
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from functools import cache
from typing import Any
from unicodedata import is_normalized, normalize

from django.db import models
from django.utils.duration import duration_iso_string

from shop.errors import Refusal
from shop.record.chain import NotCanonical

Json = Any


#: Marks that turn the direction of what follows: a serial would read as another one than it is.
_TURNS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def clean(value: Any) -> Any:
    """NFC text, inside lists and dictionaries too; a character that no database can keep or no page can show is
    refused."""
    if isinstance(value, str):
        if not value.isprintable():
            _require_text(value)
        return value if value.isascii() or is_normalized("NFC", value) else normalize("NFC", value)
    if isinstance(value, dict):
        return {clean(key): clean(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [clean(inner) for inner in value]
    return value


def _require_text(value: str) -> None:
    for letter in value:
        if letter == "\x00" or "\ud800" <= letter <= "\udfff":
            raise Refusal("The text holds a character that cannot be stored. Type it again.")
        control = letter < " " or "\x7f" <= letter <= "\x9f"
        if (control and letter not in "\t\n\r") or letter in _TURNS:
            raise Refusal("The text holds a character that cannot be printed. Type it again.")


def instant(value: datetime) -> str:
    """RFC 3339 in UTC with microseconds; a naive time is refused."""
    if value.tzinfo is None:
        raise NotCanonical("a time without a zone cannot be recorded")
    return value.astimezone(UTC).isoformat(timespec="microseconds")[:-6] + "Z"


def text(value: Any) -> Json:
    """A value as the record writes it. True, false and null stay; everything else is text or JSON of text."""
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return str(value)
    if isinstance(value, int):
        return str(int(value))
    if isinstance(value, Decimal):
        if not value.is_finite():
            raise NotCanonical(f"{value} is not a number that can be recorded")
        return format(value, "f")
    if isinstance(value, datetime):
        return instant(value)
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, uuid.UUID):
        return str(value)
    if isinstance(value, bytes | bytearray | memoryview):
        return base64.b64encode(bytes(value)).decode("ascii")
    if isinstance(value, timedelta):
        return duration_iso_string(value)
    raise NotCanonical(f"a {type(value).__name__} cannot be recorded")


def plain(value: Any) -> Json:
    """Structured facts: dictionaries and lists of what :func:`text` takes; whole numbers stay numbers."""
    if isinstance(value, dict):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [plain(inner) for inner in value]
    if type(value) is int and abs(value) < 2**53:
        return value
    return text(value)


@cache
def recorded_fields(model: type[models.Model]) -> tuple[models.Field[Any, Any], ...]:
    """The columns of a model that stand in the record, in a fixed order; ``unrecorded`` names those left
    out."""
    if model._meta.parents:
        raise TypeError(f"{model.__name__} is spread over two tables; the record keeps one row per table")
    left_out = set(getattr(model, "unrecorded", ()))
    return tuple(field for field in model._meta.concrete_fields if field.name not in left_out)


def is_recorded(model: type[models.Model]) -> bool:
    """Whether a model's rows may only be written through an act (``recorded = False`` on the class says
    no)."""
    return bool(getattr(model, "recorded", True)) and model._meta.managed and not model._meta.proxy


def write(field: models.Field[Any, Any], value: Any) -> Json:
    """One column's value as the record writes it."""
    return plain(value) if isinstance(field, models.JSONField) else text(value)


def read(field: models.Field[Any, Any], value: Json) -> Any:
    """One column's value from the record: the inverse of :func:`write`."""
    if value is None or isinstance(field, models.JSONField):
        return value
    target = field.target_field if isinstance(field, models.ForeignKey) else field
    if isinstance(target, models.BinaryField):
        return base64.b64decode(value, validate=True)
    if isinstance(target, models.DateTimeField):
        return datetime.fromisoformat(value)
    return target.to_python(value)
