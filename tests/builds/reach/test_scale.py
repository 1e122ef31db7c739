"""The generated shop at a small size: it is as it says, the reach list finds what was planted, and no big table is read
from end to end for it. The planner has counted the rows, and nothing is switched off."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import connection

from builds.models import Axle, Fitted, Visit
from builds.reports.reach.answer import Spot
from builds.reports.reach.backwards import contents
from builds.reports.reach.found import reach
from measurements.models import Reading
from shop.models import Piece
from shop.record import triggers
from shop.record.models import Event
from shop.record.verify import verify
from tests.benchmarks.scale.shop import Scale
from tests.benchmarks.scale.tables import bare, emptied
from tests.shopfloor import open_shop

pytestmark = [pytest.mark.django_db, pytest.mark.long(40)]
AXLES, OLDER = 2200, 200
SURE = (Spot.FLOOR, Spot.CLOSED, Spot.SHIPPED, Spot.BACK)
QUESTIONS = (
    "heat of 40", "heat of 4,000", "lot of 40", "lot of 4,000", "gauge of 40 in a range", "person of 40 in a range",
    "gauge of 4,000 in a range", "person of 4,000 in a range", "lot and person at the same work", "lot and gauge, both",
)  # fmt: skip
FEW = ("heat of 40", "lot of 40", "gauge of 40 in a range", "person of 40 in a range")
#: Big at this size already; of units and axles there are so few that reading them all is quicker.
BIG = (
    "measurements_reading", "builds_fitted", "builds_visit", "builds_visitsheet", "builds_span", "builds_weld",
    "builds_done", "record_signature", "shop_item", "shop_place", "shop_piece",
)  # fmt: skip


@pytest.fixture(scope="module")
def scale(committed_per_module: None) -> Iterator[Scale]:
    """In two goes, so that what is older is added to a shop that stands."""
    made = Scale(open_shop())
    made.grow_to(AXLES - OLDER)
    made.grow_to(AXLES)
    yield made
    emptied()


def test_an_axle_has_what_is_said_of_it(scale: Scale) -> None:
    whole = Axle.objects.get(pk=scale.axle(AXLES - 100))
    visits = Visit.objects.filter(axle=whole)
    assert visits.count() == 25
    assert Reading.objects.filter(sheet__visit_links__visit__axle=whole).count() == 120
    assert 35 <= Fitted.objects.filter(axle=whole, removal=None).count() <= 45
    assert Axle.objects.count() == AXLES + 1  # and the one that the card's plan was read from
    assert Reading.objects.filter(late=True).exists()
    cut = Piece.objects.filter(item__fitted_in__isnull=False)
    assert cut.filter(parent__parent__parent__isnull=False).exists()  # of a remnant of a remnant of a bar


@pytest.mark.parametrize("name", QUESTIONS)
def test_what_was_planted_is_found(scale: Scale, name: str) -> None:
    answer = reach(scale.questions()[name])
    sure = {row.axle for spot in SURE for row in answer.at_spot(spot)}
    assert sure == {scale.mark(number) for number in scale.planted.answers()[name]}
    assert sure
    doubt = {row.axle for row in answer.at_spot(Spot.UNKNOWN) if row.is_axle}
    assert doubt == ({scale.mark(number) for number in scale.planted.unknown} if "heat" in name else set())


def test_the_guards_lie_and_the_chains_are_whole(scale: Scale) -> None:
    assert triggers.findings("default") == []
    assert Event.objects.filter(kind="axle.loaded").count() == AXLES
    assert [line for line in verify().findings if "axle:SC-" in line] == []


def test_a_table_that_is_not_as_it_was_is_noticed(scale: Scale) -> None:
    """The control of the looking through."""
    with pytest.raises(AssertionError, match="Not as it was"), bare(["shop_drum"]), connection.cursor() as cursor:
        cursor.execute("ALTER TABLE shop_drum ADD COLUMN one_too_many integer CHECK (one_too_many > 0)")


@pytest.mark.parametrize("name", FEW)
def test_no_big_table_is_read_from_end_to_end(scale: Scale, name: str) -> None:
    question = scale.questions()[name]
    assert scans(lambda: reach(question)) == []


@pytest.mark.parametrize("name", QUESTIONS[:4])
def test_nor_the_passes_for_the_ways_to_what_was_found(scale: Scale, name: str) -> None:
    """Of thousands too: the work in hand on each axle was once joined to all passes. Items and places are so few here
    that for thousands all of them are read."""
    answer = reach(scale.questions()[name])
    read = scans(lambda: [row.ways for row in answer.rows])
    assert [line for line in read if "builds_visit" in line] == []


def test_nor_for_what_is_in_one_axle(scale: Scale) -> None:
    axle = Axle.objects.select_related("item").get(pk=scale.axle(1500))
    assert scans(lambda: contents(axle, scale.day(0))) == []


def test_a_plain_join_would_be_found_out(scale: Scale) -> None:
    """The control: who asks by the day alone meets no index."""
    by_day = Reading.objects.filter(happened_at__lt=scale.newest, verdict="in")
    assert scans(lambda: list(by_day.values_list("pk")[:5])) != []


def scans(do: Callable[[], object]) -> list[str]:
    """Lines of the plans of everything that was asked that read a big table from end to end."""
    asked: list[tuple[str, Any]] = []

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        asked.append((sql, params))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        do()
    assert asked
    return [line for sql, params in asked for line in plan(sql, params) if _is_scan(line, sql)]


def plan(sql: str, params: Any) -> list[str]:
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(f"EXPLAIN QUERY PLAN {sql}", params)
            return [row[3] for row in cursor.fetchall()]
        cursor.execute(f"EXPLAIN {sql}", params)
        return [row[0] for row in cursor.fetchall()]


def _is_scan(line: str, sql: str) -> bool:
    """SQLite names the table by its alias."""
    if connection.vendor == "postgresql":
        return "Seq Scan on" in line and line.split("Seq Scan on ")[1].split()[0] in BIG
    if not line.startswith("SCAN "):
        return False
    alias = line.split()[1]
    return alias in BIG or any(re.search(rf"\b{table}\"? {alias}\b", sql) for table in BIG)
