"""The application's own role adds to the ledger and can do nothing else to it, guards included."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from shop.models import Item, Place
from shop.record import triggers
from shop.record.act import act
from shop.record.models import Event
from shop.record.roles import append_only_tables, grants
from shop.record.who import SYSTEM, Who

pytestmark = pytest.mark.django_db
ROLE = "axlebook_test_app"


def run(sql: str) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)


@pytest.fixture
def as_app(who: Who) -> Iterator[None]:
    """The rest of the test runs as the application's role; the role goes with the transaction."""
    with act("x.y", subject="axle:1", by=who) as a:
        a.create(Item, kind="axle", mark="1")
    connection.check_constraints()
    run(f'CREATE ROLE "{ROLE}"')
    for statement in grants(ROLE):
        run(statement)
    run(f'SET ROLE "{ROLE}"')
    yield
    run("RESET ROLE")


@pytest.mark.postgresql
def test_the_command_makes_the_role_and_gives_it_its_rights(tmp_path: Path, who: Who) -> None:
    """Twice: the second time, after a migration, the role is there. Control: it may not change the ledger."""
    secret = tmp_path / "password"
    secret.write_text("it's a 'secret'\n")
    for _ in range(2):
        call_command("app_role", ROLE, "--apply", "--password-file", str(secret))
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT rolcanlogin, rolsuper, rolcreaterole, rolcreatedb FROM pg_roles WHERE rolname = %s", [ROLE]
        )
        assert cursor.fetchone() == (True, False, False, False)
    connection.check_constraints()
    run(f'SET ROLE "{ROLE}"')
    try:
        with act("x.y", subject="axle:1", by=SYSTEM):
            pass
        with pytest.raises(DatabaseError, match="permission denied"):
            run("UPDATE record_event SET kind = 'other'")
    finally:
        run("RESET ROLE")


@pytest.mark.postgresql
class TestApplicationRole:
    def test_works_through_acts(self, as_app: None) -> None:
        with act("x.y", subject="axle:1", by=SYSTEM) as a:
            item = a.create(Item, kind="axle", mark="2")
            place = a.create(Place, item=item, where="stock", since=a.now)
            a.update(place, where="floor")
            a.delete(place)
            a.job("test", key="k")
        connection.check_constraints()
        assert Event.objects.filter(subject="axle:1").count() == 2

    @pytest.mark.parametrize(
        "sql",
        [
            "UPDATE record_event SET kind = 'other'",
            "DELETE FROM record_event",
            "TRUNCATE record_event CASCADE",
            'DROP TRIGGER "guard_record_event_append_only_update" ON record_event',
            'ALTER TABLE record_event DISABLE TRIGGER "guard_record_event_append_only_update"',
            "DROP TABLE record_event CASCADE",
            "UPDATE measurements_reading SET verdict = 'in'",
            "DELETE FROM django_migrations",
            "CREATE TABLE mine (id integer)",
            "SET session_replication_role = replica",
        ],
    )
    def test_cannot_touch_the_ledger_or_its_guards(self, as_app: None, sql: str) -> None:
        with pytest.raises(DatabaseError, match=r"permission denied|must be owner"):
            run(sql)

    def test_control_the_owner_could(self, as_app: None) -> None:
        run("RESET ROLE")
        with triggers.lifted("default"):
            run("UPDATE record_event SET kind = 'other'")
            connection.check_constraints()
        assert set(Event.objects.values_list("kind", flat=True)) == {"other"}

    def test_the_command_prints_statements(self, capsys: Any) -> None:
        call_command("app_role", ROLE)
        lines = capsys.readouterr().out.splitlines()
        assert f'GRANT SELECT, INSERT ON "record_event" TO "{ROLE}";' in lines
        assert f'GRANT SELECT, INSERT, UPDATE, DELETE ON "record_head" TO "{ROLE}";' in lines


@pytest.mark.parametrize("name", ["", "Robert'; DROP", 'a"b', "UPPER"])
def test_a_role_has_a_plain_name(name: str) -> None:
    with pytest.raises(ValueError, match="no plain name"):
        list(grants(name))


def test_the_append_only_tables_are_those_that_history_lives_in() -> None:
    tables = append_only_tables()
    assert {
        "record_event",
        "record_signature",
        "measurements_reading",
        "builds_fitted",
        "builds_closing",
    } <= tables
    assert not {"record_head", "record_job", "shop_place", "builds_visit"} & tables


@pytest.mark.postgresql
def test_of_what_goes_with_a_unit_only_the_axle_may_be_changed() -> None:
    assert [words for words in grants(ROLE) if '"builds_fitted"' in words] == [
        f'GRANT SELECT, INSERT ON "builds_fitted" TO "{ROLE}"',
        f'GRANT UPDATE ("axle_id") ON "builds_fitted" TO "{ROLE}"',
    ]
