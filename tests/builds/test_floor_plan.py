"""How the floor's history is met: by an index, so that it costs the last weeks and not the years before."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection

from builds.models import Visit
from builds.reports.flow import WEEKS, first_time_right, flow
from builds.reports.flow_statements import Statement, flow_statement, right_statement
from tests.history import History
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
RECENT, OLD = 2, 80


@pytest.fixture(scope="module")
def now() -> datetime:
    return datetime.now(UTC)


@pytest.fixture(scope="module")
def years(once_per_module: None, now: datetime) -> Floor:
    """A few axles of the last weeks behind many of the years before."""
    floor = open_shop()
    history = History(floor, floor.axle(), readings=0)
    history.add(OLD, now - timedelta(days=3 * 365), now - timedelta(weeks=WEEKS + 2))
    history.add(RECENT, now - timedelta(weeks=WEEKS - 1), now - timedelta(days=10))
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    return floor


def statements(now: datetime) -> dict[str, Statement]:
    """By the index that it is met by."""
    since = now - timedelta(weeks=WEEKS)
    return {
        "visit_done_at": flow_statement([since + timedelta(weeks=week) for week in range(WEEKS)]),
        "visit_first_begun": right_statement(since),
    }


def plan(statement: Statement) -> list[str]:
    sql, values = statement
    how = "EXPLAIN QUERY PLAN" if connection.vendor == "sqlite" else "EXPLAIN"
    with connection.cursor() as cursor:
        cursor.execute(f"{how} {sql}", values)
        return [str(row[-1]) for row in cursor.fetchall()]


def whole_reads(lines: list[str]) -> list[str]:
    """Where the passes are read from end to end, or all of them in the order of some index."""
    return [line for line in lines if "Seq Scan on builds_visit " in line or f"{line} ".startswith("SCAN v ")]


@pytest.mark.parametrize("index", ["visit_done_at", "visit_first_begun"])
def test_passes_are_met_by_their_index(years: Floor, now: datetime, index: str) -> None:
    lines = plan(statements(now)[index])
    assert any(index in line for line in lines), lines
    assert whole_reads(lines) == []


@pytest.mark.sqlite
@pytest.mark.parametrize("index", ["visit_done_at", "visit_first_begun"])
def test_also_where_nobody_ever_counted_the_rows(years: Floor, now: datetime, index: str) -> None:
    """A shop on SQLite has no statistics unless somebody asks for them."""
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM sqlite_stat1")
        cursor.execute("ANALYZE sqlite_schema")
    test_passes_are_met_by_their_index(years, now, index)


@pytest.mark.postgresql
@pytest.mark.parametrize("index", ["visit_done_at", "visit_first_begun"])
def test_without_the_index_every_pass_is_read(years: Floor, now: datetime, index: str) -> None:
    """The control: the check above would find it. SQLite skips along some other index instead."""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP INDEX {index}")
    assert len(whole_reads(plan(statements(now)[index]))) == 1


def test_the_figures_are_of_the_last_weeks_alone(years: Floor, now: datetime) -> None:
    recent = Visit.objects.filter(done_at__gte=now - timedelta(weeks=WEEKS)).count()
    assert 0 < recent < Visit.objects.count() / 20
    assert sum(count for _, count in flow(now).weeks) == sum(row.count for row in flow(now).stations) == recent
    assert sum(row.count for row in first_time_right(now)) == recent
