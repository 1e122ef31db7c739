"""The reach list's page: what is typed, what is refused in words and kept, page, CSV and PDF, its statements."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.reports.reach.cause import Between, Cause, CauseKind, Question, Together
from builds.reports.reach.found import reach
from builds.reports.reach.statements import edges
from builds.reports.reach.work import seeds
from shop.clock import shop_day
from tests.builds.reach.test_brute import every_cause
from tests.builds.reach.world import World, small
from tests.factories import signed_in_client
from tests.shopfloor import open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def client(once_per_module: None) -> Client:
    floor = open_shop()
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=40)
    return signed_in_client(floor.people["calla"])


def page(client: Client, **typed: str) -> str:
    answer = client.get(reverse("reach"), typed)
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_a_heat_by_scan_leads_to_its_axle(client: Client) -> None:
    text = page(client, cause="~H:Q7714")
    assert "Heat Q7714" in text
    assert "<b>1 axle.</b>" in text
    assert "a person decides" in text
    # The control: a heat that went nowhere.
    assert "0 axles" in page(client, cause="~H:R7120")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"cause": " "}, "Nothing was scanned or typed"),
        ({"cause": "Q9999"}, "Nothing here is called Q9999"),
        ({"cause": "Q7714", "day_from": "2025-02-10", "day_to": "2025-02-01"}, "before it begins"),
        ({"cause": "Q7714", "day_from": "2925-02-10"}, "lies ahead"),
        ({"cause": "Q7714", "day_from": "yesterday"}, "Write the day as year-month-day"),
        ({"cause": "Q7714", "other": "nobody-here"}, "Nothing here is called nobody-here"),
        ({"cause": "~B:TB-RUSK-25"}, "is no cause"),
        ({"cause": "GB", "kind": "shift"}, "needs its day"),
        ({"cause": "GB", "kind": "shift", "day_from": "2025-01-01", "day_to": "2025-12-01"}, "at most 62"),
        ({"cause": "x" * 500}, "at most 80"),
    ],
)
def test_bad_input_is_said_plainly_and_kept(client: Client, typed: dict[str, str], said: str) -> None:
    text = page(client, **typed)
    assert said in text
    assert "axles.</b>" not in text
    if typed["cause"].strip():
        assert f'value="{typed["cause"]}"' in text


def test_nothing_found_says_what_was_searched(client: Client) -> None:
    today = str(shop_day(timezone.now()))
    text = page(client, cause="bram", kind="person", day_from=today)
    assert "Person Bram Ottelow" in text
    assert "Nothing on record was touched" in text


def test_the_list_as_csv_and_pdf(client: Client) -> None:
    lines = page(client, cause="~H:Q7714", **{"as": "csv"}).splitlines()
    assert lines[0].startswith("place,what,mark,axle")
    assert sum(line.startswith("on the floor,axle") for line in lines) == 1
    answer = client.get(reverse("reach"), {"cause": "~H:Q7714", "as": "pdf"})
    assert (answer["Content-Type"], answer.content[:5]) == ("application/pdf", b"%PDF-")


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
