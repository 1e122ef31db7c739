"""The shop's own day: records are kept in UTC, days and shifts are counted where the shop stands."""

from __future__ import annotations

from datetime import date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from django.conf import settings


@lru_cache(maxsize=4)
def _zone(name: str) -> ZoneInfo:
    return ZoneInfo(name)


def shop_zone() -> ZoneInfo:
    return _zone(settings.SHOP_TIME_ZONE)


def shop_day(at: datetime) -> date:
    """The calendar day in the shop at this moment."""
    return at.astimezone(shop_zone()).date()
