"""The condition `when`: one pure rule for operations, characteristics, parts and refusals."""

import pytest

from builds.definitions.options import ALWAYS, Clause, Option, OptionValue, When, combinations, complete

AXES = (
    Option("ratio", "Ratio", (OptionValue("3", "3"), OptionValue("4", "4")), "3"),
    Option("brake", "Brake", (OptionValue("disc", "disc"), OptionValue("drum", "drum")), "disc"),
)


@pytest.mark.parametrize(
    ("clause", "holds"),
    [
        (Clause("ratio", ("3",)), True),
        (Clause("ratio", ("4", "3")), True),
        (Clause("ratio", ("4",)), False),
        (Clause("ratio", ("4",), negated=True), True),
        (Clause("ratio", ("3",), negated=True), False),
        (Clause("width", ("3",)), False),
        (Clause("width", ("3",), negated=True), False),
    ],
)
def test_one_clause(clause: Clause, holds: bool) -> None:
    assert clause.holds({"ratio": "3"}) is holds


def test_all_clauses_must_hold() -> None:
    both = When((Clause("ratio", ("3",)), Clause("brake", ("drum",))))
    assert both.holds({"ratio": "3", "brake": "drum"})
    assert not both.holds({"ratio": "3", "brake": "disc"})


def test_no_clause_is_always() -> None:
    assert ALWAYS.holds({})


def test_axes_left_out_take_their_default() -> None:
    assert complete(AXES, {"brake": "drum"}) == {"ratio": "3", "brake": "drum"}


def test_combinations_of_some_axes() -> None:
    assert list(combinations(AXES, {"brake"})) == [
        {"ratio": "3", "brake": "disc"},
        {"ratio": "3", "brake": "drum"},
    ]


def test_a_fact_that_is_not_stated_is_none() -> None:
    assert OptionValue("3", "3", (("teeth", 43),)).fact("teeth") == 43
    assert OptionValue("3", "3").fact("teeth") is None
