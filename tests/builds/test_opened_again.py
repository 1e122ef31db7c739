"""What opens a sealed axle repeats the test of the seal, whatever re-opened it; nothing else does."""

from __future__ import annotations

import pytest

from builds.actions.removing import Out, remove_part
from builds.actions.reopening import reopen_for_cause
from builds.models import Fitted, Reopening
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import BENCH_CARD

pytestmark = pytest.mark.django_db

_TABLE = """
[[invalidates]]
cause = "bolts"
name = "bolts loosened"
operations = [20]

[[invalidates]]
cause = "bore"
name = "bored again"
operations = [10]

[[invalidates]]
cause = "opened"
name = "opened after the test"
operations = [30]
"""
#: The card of the bench with a table in which operation 30 tests the seal; first without a word on what opens it.
UNNAMED = BENCH_CARD[: BENCH_CARD.index("[[invalidates]]")] + _TABLE
NAMED = UNNAMED + "opened_by = [20]\n"


def reopened(bench: Bench, cause: str, *, tested: bool = True) -> list[str]:
    axle = bench.axle()
    if tested:
        axle = bench.bought_off(axle)
    else:
        bench.held(bench.sign(bench.tightened(axle)))
    return reopen_for_cause(bench=axle, cause=cause, reason="loose", by=bench.people["eve"], now=bench.later(minutes=1))


def taken_out(bench: Bench) -> list[str]:
    axle = bench.bought_off(bench.axle())
    shaft = Fitted.objects.select_related("axle__item", "axle__revision__model").get(axle=axle)
    _, found = remove_part(fitted=shaft, out=Out("worn", "stock"), by=bench.people["ada"], now=bench.later(minutes=1))
    return found


def test_re_opening_what_opens_it_repeats_the_test_and_says_why() -> None:
    assert reopened(open_bench(NAMED), "bolts") == ["20/", "30/"]
    causes = Reopening.objects.order_by("visit__operation__number").values_list("visit__operation__number", "cause")
    assert list(causes) == [(20, "bolts"), (30, "opened")]


def test_control_a_card_that_names_nothing_repeats_nothing() -> None:
    assert reopened(open_bench(UNNAMED), "bolts") == ["20/"]


def test_work_that_does_not_open_it_leaves_the_test_standing() -> None:
    assert reopened(open_bench(NAMED), "bore") == ["10/"]


def test_a_test_that_is_not_done_is_not_re_opened() -> None:
    assert reopened(open_bench(NAMED), "bolts", tested=False) == ["20/"]


def test_a_part_taken_out_of_what_was_sealed_repeats_the_test() -> None:
    assert taken_out(open_bench(NAMED)) == ["30/"]


def test_control_the_same_part_where_nothing_is_named_repeats_nothing() -> None:
    assert taken_out(open_bench(UNNAMED)) == []
