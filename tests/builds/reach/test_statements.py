"""How the reach list asks the database: so many statements, and no big table read from end to end."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from builds.models import Fitted, Unit, Visit
from builds.reports.reach.asked import asked
from builds.reports.reach.cause import Between, Cause, CauseKind, Question, Together
from builds.reports.reach.explained import walk_of
from builds.reports.reach.found import reach
from builds.reports.reach.listing import statement
from builds.reports.reach.statements import edges, rows
from builds.reports.reach.touching import FORMER, NOW, touched
from builds.reports.reach.work import seeds
from tests.builds.reach.test_brute import every_cause
from tests.builds.reach.world import World, fit, small, thing

pytestmark = pytest.mark.django_db


def test_every_cause_takes_so_many_statements_whatever_it_touches() -> None:
    world = small(2)
    for cause in every_cause(world, Between()):
        with CaptureQueriesContext(connection) as taken:
            found = reach(Question([cause]))
        assert len(taken) == 1, cause
        with CaptureQueriesContext(connection) as taken:
            assert found.trees is not None
            assert all(row.ways for row in found.rows)
        assert len(taken) <= 8, cause
    causes = every_cause(world, Between())
    for together in Together:
        with CaptureQueriesContext(connection) as taken:
            found = reach(Question([causes[0], causes[-4]], together))
        assert len(taken) == 1
        with CaptureQueriesContext(connection) as taken:
            assert all(row.ways for row in found.rows)
        assert len(taken) <= 13


@pytest.mark.parametrize("seed", range(6))
def test_both_walks_touch_the_same_as_surely(seed: int) -> None:
    """Everything, and not the axles only: the database's walk, and the one along single edges that tells the ways."""
    world = small(seed)
    named_for(world)
    kinds = set()
    for between in (Between(), Between(world.day(1), world.day(3.3))):
        for cause in every_cause(world, between):
            best = {item: int(held) for item, held in walk_of(cause).best.items()}
            assert by_database(cause) == best, f"seed {seed}: {cause}"
            kinds |= {(cause.kind, held) for held in best.values()}
    assert {(CauseKind.ITEM, 0), (CauseKind.ITEM, 1), (CauseKind.ITEM, 2)} <= kinds


def test_a_kept_text_asks_what_one_put_together_anew_asks() -> None:
    """Text and values alike, of every kind of cause, alone and in pairs, whichever ends of the range are given. The
    control: two questions of one shape share the text and not the values."""
    world = small(1)
    day, later = world.day(1), world.day(3.3)
    for between in (Between(), Between(day), Between(None, later), Between(day, later)):
        causes = [replace(cause, parts_of=("bearing", "seal")[: number % 3])
                  for number, cause in enumerate(every_cause(world, between))]  # fmt: skip
        pairs = [*zip(causes, reversed(causes), strict=True), *pairwise(causes)]
        for each in [[cause] for cause in causes] + [list(pair) for pair in pairs]:
            for together in Together:
                question = Question(each, together)
                assert asked(question) == statement(question), (each, together)
    for one, other in ((world.lots[0].pk, world.lots[1].pk), (world.heats[0].pk, world.heats[1].pk)):
        texts, values = zip(
            *(asked(Question([Cause(CauseKind.ITEM, (pk,), "", Between(day))])) for pk in (one, other)), strict=True
        )
        assert texts[0] is texts[1]
        assert values[0] != values[1]


def by_database(cause: Cause) -> dict[int, int]:
    parts = touched(cause, "0")
    named = ", ".join(f"{head} AS MATERIALIZED ({sql})" for head, sql, _ in parts)
    return dict(
        rows((f"WITH RECURSIVE {named} SELECT item, held FROM b0", [one for *_, more in parts for one in more]))
    )


def named_for(world: World) -> None:
    """Each melt is named for the first unit of some axles before anything is cut, for some of another melt than what
    then went in."""
    for number, axle in enumerate(world.axles[:4]):
        unit = Unit.objects.filter(axle=axle.pk).order_by("pk").first()
        if unit is not None:
            first = Visit.objects.filter(item=unit.item_id).order_by("claimed_at")[0]
            fit(world, world.heats[number % 3], unit.item, axle.axle, first, out=number == 3)


def test_a_name_lapses_where_a_piece_went_in_since() -> None:
    """The piece is out again: so the unit had of the melt, whatever it was named for. The control: where nothing of the
    melt was ever, the name stands."""
    world = small(1)
    out = next(
        row for row in Fitted.objects.exclude(removal=None).filter(part__piece__heat__isnull=False)
        if not Fitted.objects.now().filter(host=row.host, part__piece__heat=row.part.piece.heat).exists()
    )  # fmt: skip
    heat = out.part.piece.heat.item
    other = thing("unit", "EMPTY", where="floor")
    Unit.objects.create(item=other, role="tube")
    assert out.visit is not None
    for host in (out.host, other):
        fit(world, heat, host, None, out.visit, out=False)
    cause = Cause(CauseKind.ITEM, (heat.pk,), "heat", steel=True)
    assert (by_database(cause)[out.host_id], by_database(cause)[other.pk]) == (FORMER, NOW)
    assert by_database(cause) == {item: int(held) for item, held in walk_of(cause).best.items()}


def test_no_statement_scans_a_whole_table(small_world: World) -> None:
    """Explained on both databases: readings, fittings and welds are met by an index only."""
    world = small_world
    narrow = Between(world.day(0), world.day(0) + timedelta(days=3))
    for cause in every_cause(world, narrow):
        statements = [edges(list(cause.ids), cause.between), statement(Question([cause]))]
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
            lines = [line for line in plan if line.startswith("SCAN ") and "INDEX" not in line]
            named = {line: rf"\b({'|'.join(map(str.strip, big))}) {line.split()[1]}\b" for line in lines}
            return [line for line, table in named.items() if re.search(table, sql)]
        cursor.execute("SET LOCAL enable_seqscan = off")
        cursor.execute(f"EXPLAIN {sql}", values)
        plan = [row[0] for row in cursor.fetchall()]
        cursor.execute("SET LOCAL enable_seqscan = on")
    return [line for line in plan if "Seq Scan on" in line and any(table.strip() in line for table in big)]


def test_a_lot_alone_is_no_person() -> None:
    """The control: a cause that touched nothing lists nothing."""
    small(4)
    assert reach(Question([Cause(CauseKind.PERSON, (987654,), "nobody")])).rows == ()
