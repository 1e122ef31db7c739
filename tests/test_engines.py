"""The rule that leaves a test to one engine: nothing that can reach a database may be left out."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

import pytest
from django.db import connections as all_connections

from shop.models import Person
from tests import engines
from tests.engines import LEFT_TO_THE_FIRST, leave_to_the_first, reaches_around, shut_off, touches_database
from tests.run import LIMIT_S, PART_S, limit_of, told


@pytest.fixture
def asks_by_another(db: None) -> None:
    """A fixture that asks for the database by way of another."""


@pytest.fixture(scope="module")
def opened(django_db_setup: None, django_db_blocker: object) -> None:
    """What a module's shop asks for."""


def test_a_test_that_asks_for_nothing_is_left_to_one_engine(request: pytest.FixtureRequest) -> None:
    assert not touches_database(request.node)


@pytest.mark.parametrize("name", ["bearing", "seal"])
def test_so_is_one_with_parameters_and_plain_fixtures(
    request: pytest.FixtureRequest, tmp_path: Path, name: str
) -> None:
    assert not touches_database(request.node)


@pytest.mark.django_db
def test_a_marked_test_runs_on_both(request: pytest.FixtureRequest) -> None:
    assert touches_database(request.node)


@pytest.mark.usefixtures("asks_by_another")
def test_one_that_asks_by_way_of_a_fixture_runs_on_both(request: pytest.FixtureRequest) -> None:
    assert touches_database(request.node)


@pytest.mark.usefixtures("opened")
def test_one_in_a_shop_of_its_module_runs_on_both(request: pytest.FixtureRequest) -> None:
    assert touches_database(request.node)


@pytest.mark.parametrize("name", sorted(engines.REACHING))
def test_a_module_that_reaches_around_the_fixtures_runs_on_both(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    other = ModuleType("other")
    assert not reaches_around(other)
    setattr(other, name, object())
    assert reaches_around(other)
    monkeypatch.setattr(request.node, "obj", test_a_marked_test_runs_on_both)
    monkeypatch.setitem(globals(), name, object())
    assert touches_database(request.node)


def test_the_database_is_shut_while_such_a_test_runs() -> None:
    with pytest.raises(RuntimeError, match="Database access not allowed"):
        Person.objects.exists()


def test_it_is_shut_even_where_a_module_had_opened_it(
    request: pytest.FixtureRequest, django_db_blocker: pytest.FixtureRequest
) -> None:
    with django_db_blocker.unblock():  # type: ignore[attr-defined]
        # Control: open, it is no refusal of the blocker that comes.
        all_connections["default"].ensure_connection()
        all_connections["default"].close()
        with shut_off(request.node), pytest.raises(RuntimeError, match="Database access not allowed"):
            all_connections["default"].ensure_connection()


def test_no_test_asks_for_a_fixture_while_it_runs() -> None:
    """What is asked for then is not known when the tests are collected, so the rule could not see it."""
    word = "getfixture" + "value"
    found = [path.name for path in Path(__file__).parent.rglob("*.py") if word in path.read_text()]
    assert found == []


def test_the_number_left_out_is_kept_and_told(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    left = tmp_path / "left"
    monkeypatch.setenv(LEFT_TO_THE_FIRST, str(left))
    assert leave_to_the_first([request.node]) == [request.node]
    assert (
        told({"passed": 7}, left, "SQLite 3") == "7 passed, 1 that touch no database run on the first engine (SQLite 3)"
    )
    assert told({}, left, "SQLite 3") == "no result"


@pytest.mark.parametrize("value", [None, ""])
def test_a_run_on_one_engine_leaves_nothing_out(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, value: str | None
) -> None:
    monkeypatch.delenv(LEFT_TO_THE_FIRST, raising=False)
    if value is not None:
        monkeypatch.setenv(LEFT_TO_THE_FIRST, value)
    assert leave_to_the_first([request.node]) == []
    assert told({"passed": 7}, tmp_path / "left", "") == "7 passed"


@pytest.mark.parametrize(
    ("engine", "engines", "spent", "limit"),
    [
        (0, 1, 0, LIMIT_S),
        (0, 2, 0, LIMIT_S - PART_S),
        (1, 2, 900, LIMIT_S - 900),
        (1, 2, LIMIT_S - PART_S, PART_S),
        (1, 2, LIMIT_S, PART_S),  # a first one that was stopped late takes nothing from the second
    ],
)
def test_the_engines_share_the_time_of_a_run(engine: int, engines: int, spent: float, limit: float) -> None:
    assert limit_of(engine, engines, spent) == limit
