"""PostgreSQL keeps the plans of statements that are always the same; elsewhere the cursor is the ordinary one."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from shop.connecting import PLANS
from shop.models.hot_cursor import every_row, hot_cursor
from shop.record.models import Event

pytestmark = pytest.mark.django_db
AT = datetime(2025, 11, 20, 8, 15, 30, 123456, tzinfo=UTC)
KEPT = "SELECT COUNT(*) FROM pg_prepared_statements WHERE statement LIKE %s"


def test_it_answers_as_the_ordinary_cursor_does() -> None:
    with connection.cursor() as plain, hot_cursor(connection) as hot:
        for values in ([1, "a"], [2**40, "Zoë"], [3, ""]):
            asked = "SELECT subject FROM record_head WHERE sequence = %s AND subject = %s"
            plain.execute(asked, values)
            hot.execute(asked, values)
            assert plain.fetchall() == hot.fetchall() == []


@pytest.mark.postgresql
def test_values_of_every_type_come_back_as_they_went() -> None:
    values = [7, 2**40, "Zoë %s", Decimal("0.00010"), date(2025, 11, 20), AT, True, None, b"\x00\xff", uuid.uuid4()]
    typed = ["bigint", "bigint", "text", "numeric", "date", "timestamptz", "boolean", "text", "bytea", "uuid"]
    sql = f"SELECT {', '.join(f'%s::{name}' for name in typed)}"
    for _ in range(3):
        with hot_cursor(connection) as hot:
            hot.execute(sql, values)
            assert list(hot.fetchone()) == values


@pytest.mark.postgresql
@pytest.mark.parametrize(("threshold", "plans"), [(5, 1), (None, 0)])
def test_one_plan_for_whole_numbers_of_every_size_unless_it_may_not_keep_any(
    threshold: int | None, plans: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(connection.settings_dict["OPTIONS"], "prepare_threshold", threshold)
    mark = f"kept {plans}"
    for number in (1, 40_000, 2**40):
        with hot_cursor(connection) as hot:
            hot.execute(f"SELECT '{mark}' FROM record_head WHERE sequence = %s", [number])
    with connection.cursor() as cursor:
        cursor.execute(KEPT, [f"SELECT '{mark}'%"])
        assert cursor.fetchone() == (plans,)


@pytest.mark.postgresql
@pytest.mark.parametrize("most", [PLANS, 100])
def test_more_plans_are_kept_than_the_driver_would(most: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """A statement for each of 150 pages: the plan of the first is still there; of the driver's hundred it was not."""
    connection.ensure_connection()
    assert connection.connection.prepared_max == PLANS
    monkeypatch.setattr(connection.connection, "prepared_max", most)
    for number in range(150):
        with hot_cursor(connection) as hot:
            hot.execute(f"SELECT 'page {number} of {most}'")
    with connection.cursor() as cursor:
        cursor.execute(KEPT, [f"SELECT 'page 0 of {most}'"])
        assert cursor.fetchone() == (1 if most == PLANS else 0,)


def test_its_statements_are_told_to_who_counts_them() -> None:
    with CaptureQueriesContext(connection) as caught:
        for _ in range(3):
            with hot_cursor(connection) as hot:
                hot.execute("SELECT subject FROM record_head WHERE sequence = %s", [1])
    assert [query["sql"][:14] for query in caught.captured_queries] == ["SELECT subject"] * 3


@pytest.mark.postgresql
def test_times_come_in_the_zone_that_django_sets() -> None:
    with timezone.override("America/Denver"), hot_cursor(connection) as hot:
        hot.execute("SELECT %s::timestamptz", [AT])
        assert hot.fetchone()[0].utcoffset() == UTC.utcoffset(None)


@pytest.mark.postgresql
@pytest.mark.django_db(transaction=True)
def test_a_connection_that_died_between_two_requests_is_made_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(connection.settings_dict, "CONN_HEALTH_CHECKS", True)
    connection.close()
    with hot_cursor(connection) as hot:
        hot.execute("SELECT pg_backend_pid()")
        (backend,) = hot.fetchone()
    other = connection.copy()
    with other.cursor() as cursor:
        cursor.execute("SELECT pg_terminate_backend(%s)", [backend])
    other.close()
    connection.close_if_unusable_or_obsolete()  # what the end of one request and the begin of the next do
    with hot_cursor(connection) as hot:
        hot.execute("SELECT pg_backend_pid()")
        assert hot.fetchone() != (backend,)


EVENTS = ("subject", "sequence", "act", "at", "person_id", "content", "hash")


def some_events(count: int) -> None:
    Event.objects.bulk_create(
        Event(subject=f"axle:{number}", sequence=2**33 + number, act=uuid.UUID(int=number), kind="reading.entered",
              at=AT + timedelta(microseconds=number), content=bytes([number, 0, 255]) * 400, hash=bytes(32))
        for number in range(count)
    )  # fmt: skip


@pytest.mark.parametrize("size", [1, 2, 5, 100])
@pytest.mark.django_db(transaction=True)
def test_every_row_is_what_the_queryset_gives(size: int) -> None:
    """In a transaction and outside one, and two walks at a time."""
    some_events(5)
    rows = Event.objects.order_by("subject").values_list(*EVENTS)
    assert list(every_row(rows, size)) == list(rows)
    with transaction.atomic():
        assert list(every_row(rows, size)) == list(rows)
    assert list(zip(every_row(rows, size), every_row(rows, size), strict=True)) == list(zip(rows, rows, strict=True))
    assert list(every_row(rows.filter(sequence=7, kind="nothing %s"), size)) == []


def test_a_walk_that_is_left_early_leaves_the_transaction_whole() -> None:
    some_events(3)
    rows = Event.objects.order_by("subject").values_list("sequence")
    walk = every_row(rows, 1)
    assert next(walk) == (2**33,)
    walk.close()  # type: ignore[attr-defined]
    assert Event.objects.count() == 3
