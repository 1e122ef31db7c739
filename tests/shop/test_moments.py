"""Moments read quickly are the moments that the driver reads; what is not plainly written goes the driver's way."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from django.db import DataError, connection

from shop.moments import _MOMENT, _quick

pytestmark = [pytest.mark.django_db, pytest.mark.postgresql]
WRITTEN = ("2025-11-20 08:15:30.123456+00", "2025-11-20 08:15:30.5+00", "2025-11-20 08:15:30+00", "0987-01-02 00:00+00",
           "2025-11-20 01:15:30.12-07", "9999-12-31 23:59:59.999999+00")  # fmt: skip


def asked(written: str) -> Any:
    with connection.cursor() as cursor:
        cursor.execute("SELECT %s::timestamptz", [written])
        return cursor.fetchone()[0]


def test_this_connection_reads_them_quickly() -> None:
    loader = connection.connection.adapters.get_loader(_MOMENT, 0)
    assert loader is _quick(loader.usual)


@pytest.mark.parametrize("written", WRITTEN)
def test_it_is_what_the_driver_reads(written: str, monkeypatch: pytest.MonkeyPatch) -> None:
    quick = asked(written)
    loader = connection.connection.adapters.get_loader(_MOMENT, 0)
    monkeypatch.setattr(loader, "load", loader.usual.load)
    usual = asked(written)
    assert quick == usual
    assert quick.tzinfo is usual.tzinfo is UTC


def test_a_connection_in_another_zone_is_left_to_the_driver() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL TIME ZONE 'America/Denver'")
    found = asked("2025-11-20 08:15:30.5+00")
    assert found.replace(tzinfo=None) == datetime(2025, 11, 20, 1, 15, 30, 500000)  # noqa: DTZ001


@pytest.mark.parametrize("written", ["infinity", "0044-03-15 12:00+00 BC"])
def test_what_no_moment_here_can_be_is_refused_as_before(written: str) -> None:
    with pytest.raises(DataError):
        asked(written)
