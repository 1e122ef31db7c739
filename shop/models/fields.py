"""Exact decimals in every database.

SQLite keeps a decimal as a binary float, and .0082 - .0062 then misses its limit; an integer never does.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.db import models

SCALE = 9
LARGEST = Decimal(9_200_000_000)

if TYPE_CHECKING:
    WholeColumn = models.BigIntegerField[Decimal | int | str | None, Decimal | None]
else:
    WholeColumn = models.BigIntegerField  # takes no type arguments when it runs


class ExactField(WholeColumn):
    """A decimal with nine places, stored as an integer number of billionths (range +-9.2e9).

    Raises ValidationError for a value finer than a billionth or out of range: nothing is rounded here.
    """

    description = "exact decimal, nine places"

    def to_python(self, value: Any) -> Any:
        if value is None or isinstance(value, Decimal):
            return value
        if isinstance(value, float):
            raise ValidationError("A binary float cannot be stored as an exact value.")
        return Decimal(str(value))

    def from_db_value(self, value: int | None, expression: Any, connection: Any) -> Decimal | None:
        return None if value is None else Decimal(value).scaleb(-SCALE)

    def get_prep_value(self, value: Any) -> int | None:
        number = self.to_python(value)
        if number is None:
            return None
        if not number.is_finite() or abs(number) > LARGEST:
            raise ValidationError(f"{number} is outside what a reading can hold.")
        scaled = number.scaleb(SCALE)
        if scaled != scaled.to_integral_value():
            raise ValidationError(f"{number} has more than {SCALE} decimal places.")
        return int(scaled)

    def value_to_string(self, obj: models.Model) -> str:
        value = self.value_from_object(obj)
        return "" if value is None else format(value, "f")
