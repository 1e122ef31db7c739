"""How the reach list asks the database: so many statements, and no big table read from end to end."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from builds.reports.reach.cause import Between, Cause, CauseKind, Question, Together
from builds.reports.reach.found import reach
from builds.reports.reach.statements import edges
from builds.reports.reach.work import seeds
from tests.builds.reach.test_brute import every_cause
from tests.builds.reach.world import World, small

pytestmark = pytest.mark.django_db


def test_every_cause_takes_so_many_statements_whatever_it_touches() -> None:
    world = small(2)
    for cause in every_cause(world, Between()):
        with CaptureQueriesContext(
            connection,
        ) as asked:
            reach(Question([cause]))
        assert len(asked) <= 10, cause
    causes = every_cause(world, Between())
    with CaptureQueriesContext(connection) as asked:
        reach(Question([causes[0], causes[-4]], Together.SAME_WORK))
    assert len(asked) <= 15


def test_no_statement_scans_a_whole_table(small_world: World) -> None:
    """Explained on both databases: readings, fittings and welds are met by an index only."""
    world = small_world
    narrow = Between(world.day(0), world.day(0) + timedelta(days=3))
    for cause in every_cause(world, narrow):
        statements = [edges(list(cause.ids), cause.between)]
        if not cause.is_thing:
            statements.append(seeds(cause))
        for sql, values in statements:
            assert not whole_scans(sql, values), cause


def test_a_whole_scan_would_be_found(small_world: World) -> None:
    assert whole_scans("SELECT r.id FROM measurements_reading r WHERE r.verdict = %s", ["in"])


@pytest.fixture
def small_world() -> World:
    return small(3)


def whole_scans(sql: str, values: list[object]) -> list[str]:
    """The big tables that a plan reads from end to end."""
    big = ("measurements_reading", "builds_fitted", "builds_weld", "builds_visit ", "builds_span", "shop_piece")
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(f"EXPLAIN QUERY PLAN {sql}", values)
            plan = [row[3] for row in cursor.fetchall()]
            aliases = [line for line in plan if line.startswith("SCAN ") and "INDEX" not in line]
            return [line for line in aliases if line.split()[1] in ("r", "e", "f", "w", "p", "v")]
        cursor.execute("SET LOCAL enable_seqscan = off")
        cursor.execute(f"EXPLAIN {sql}", values)
        plan = [row[0] for row in cursor.fetchall()]
        cursor.execute("SET LOCAL enable_seqscan = on")
    return [line for line in plan if "Seq Scan on" in line and any(table.strip() in line for table in big)]


def test_a_lot_alone_is_no_person() -> None:
    """The control: a cause that touched nothing lists nothing."""
    small(4)
    assert reach(Question([Cause(CauseKind.PERSON, (987654,), "nobody")])).rows == ()
