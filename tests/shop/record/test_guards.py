"""What the database itself refuses. Each refusal has its control: the same statement where no guard lies."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from django.apps import apps
from django.core.checks import run_checks
from django.core.management import call_command
from django.core.management.sql import emit_post_migrate_signal, emit_pre_migrate_signal
from django.db import IntegrityError, OperationalError, connection, transaction
from django.db.migrations import Migration

from shop.models import Customer, Item, Supplier
from shop.record import guards, triggers
from shop.record.act import act
from shop.record.models import Event, Signature, SigningKey
from shop.record.who import Who

pytestmark = pytest.mark.django_db
AXLE = "axle:1"


@pytest.fixture
def event(who: Who) -> Event:
    with act("item.made", subject=AXLE, by=who) as a:
        a.create(Item, kind="axle", mark="1")
    return Event.objects.get(subject=AXLE)


def run(sql: str) -> int:
    connection.check_constraints()  # PostgreSQL alters no table with checks still to come
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)
        return cursor.rowcount


def refused(sql: str, says: str) -> None:
    """The guard refuses it and nothing is changed; without the guards the very same statement goes
    through."""
    with pytest.raises(IntegrityError, match=says):
        run(sql)
    connection.check_constraints()
    with transaction.atomic():
        with triggers.lifted("default"):
            assert run(sql) != 0
            connection.check_constraints()
        transaction.set_rollback(True)


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE record_event SET kind = 'other'",
        "UPDATE record_event SET content = previous",
        "DELETE FROM record_event WHERE sequence = 1",
        "DELETE FROM record_event",
    ],
)
def test_an_event_is_never_changed_or_taken_out(event: Event, sql: str) -> None:
    refused(sql, "event is append-only")
    event.refresh_from_db()
    assert event.kind == "item.made"


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE record_head SET sequence = sequence - 1",
        "UPDATE record_head SET sequence = sequence + 2",
        "UPDATE record_head SET sequence = sequence",
        "UPDATE record_head SET sequence = sequence + 1, subject = 'axle:other' WHERE subject = 'axle:1'",
        "DELETE FROM record_head",
    ],
)
def test_a_head_only_moves_forward_by_one(event: Event, sql: str) -> None:
    refused(sql, "a chain only grows")


def test_a_head_moves_forward(event: Event) -> None:
    assert run("UPDATE record_head SET sequence = sequence + 1 WHERE subject = 'axle:1'") == 1


def test_a_signature_is_never_changed(event: Event, who: Who) -> None:
    with act("signed", subject=AXLE, by=who) as a:
        a.create(Signature, person=who.person, meaning="did", at=a.now)
    refused("UPDATE record_signature SET meaning = 'checked'", "signature is append-only")
    refused("DELETE FROM record_signature", "signature is append-only")


def test_a_key_may_be_ended_once_and_never_otherwise_changed(db: None) -> None:
    start, end = datetime(2026, 1, 1, tzinfo=UTC), datetime(2026, 6, 1, tzinfo=UTC)
    key = SigningKey.objects.create(name="k", purpose="ledger", public="p", valid_from=start)
    refused("UPDATE record_signingkey SET public = 'q'", "frozen")
    refused("DELETE FROM record_signingkey", "frozen")
    key.valid_to = end
    key.save()
    refused("UPDATE record_signingkey SET valid_to = NULL", "frozen")


@pytest.mark.sqlite
class TestReplacingInsert:
    COPY = "INSERT OR REPLACE INTO record_event SELECT * FROM record_event WHERE subject = 'axle:1'"
    OTHER = (
        "INSERT OR REPLACE INTO record_event (id, subject, sequence, act, kind, at, content, previous, hash)"
        " SELECT 999, subject, sequence, act, 'forged', at, content, previous, hash FROM record_event"
        " WHERE subject = 'axle:1'"
    )

    @pytest.fixture(params=["ON", "OFF"])
    def recursive(self, request: pytest.FixtureRequest) -> Iterator[None]:
        self.pragma(request.param)
        yield
        self.pragma("ON")

    def pragma(self, state: str) -> None:
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA recursive_triggers = {state}")

    @pytest.mark.parametrize("sql", [COPY, OTHER])
    def test_is_refused_whatever_the_pragma(self, event: Event, recursive: None, sql: str) -> None:
        refused(sql, "event is append-only")
        assert Event.objects.get(subject=AXLE).kind == "item.made"

    def test_control_without_the_insert_guard_and_pragma_it_deletes_unseen(self, event: Event) -> None:
        self.pragma("OFF")
        try:
            with transaction.atomic():
                run('DROP TRIGGER "guard_record_event_append_only_insert"')
                run(self.OTHER)
                assert Event.objects.get(subject=AXLE).kind == "forged"
                transaction.set_rollback(True)
        finally:
            self.pragma("ON")


@pytest.mark.postgresql
class TestPostgresql:
    def test_truncate_is_refused(self, event: Event) -> None:
        refused("TRUNCATE record_event CASCADE", "append-only")

    def test_replica_mode_does_not_switch_a_guard_off(self, event: Event) -> None:
        run("SET LOCAL session_replication_role = replica")
        with pytest.raises(IntegrityError, match="append-only"):
            run("UPDATE record_event SET kind = 'other'")

    def test_control_an_ordinary_trigger_is_switched_off_by_it(self, event: Event) -> None:
        with transaction.atomic():
            run('ALTER TABLE record_event ENABLE TRIGGER "guard_record_event_append_only_update"')
            run("SET LOCAL session_replication_role = replica")
            assert run("UPDATE record_event SET kind = 'other'") > 0
            transaction.set_rollback(True)

    def test_a_switched_off_guard_is_found(self, event: Event) -> None:
        run('ALTER TABLE record_event DISABLE TRIGGER "guard_record_event_append_only_update"')
        assert triggers.findings("default") == [
            "the guard guard_record_event_append_only_update on record_event was changed or switched off"
        ]

    def test_a_hollowed_function_is_found(self, event: Event) -> None:
        run(
            'CREATE OR REPLACE FUNCTION "guard_record_event_append_only_update"() RETURNS trigger'
            " LANGUAGE plpgsql AS 'BEGIN RETURN NEW; END'"
        )
        assert len(triggers.findings("default")) == 1
        assert run("UPDATE record_event SET kind = 'other'") > 0  # control: the hole is real


def test_all_guards_lie_in_the_database_and_the_check_is_clean() -> None:
    assert triggers.findings("default") == []
    assert [said for said in run_checks(databases=["default"]) if said.id == "record.W001"] == []


@pytest.mark.parametrize(
    ("good", "bad", "says"),
    [
        pytest.param(
            "PRAGMA recursive_triggers = ON",
            "PRAGMA recursive_triggers = OFF",
            "recursive_triggers",
            marks=pytest.mark.sqlite,
        ),
        pytest.param(
            "SET synchronous_commit = on",
            "SET synchronous_commit = off",
            "synchronous_commit",
            marks=pytest.mark.postgresql,
        ),
        pytest.param("SET lock_timeout = '5s'", "SET lock_timeout = 0", "lock_timeout", marks=pytest.mark.postgresql),
    ],
)
def test_an_unsafe_setting_of_the_connection_is_named(good: str, bad: str, says: str) -> None:
    run(bad)
    found = [said.msg for said in run_checks(databases=["default"]) if said.id == "record.E002"]
    run(good)
    left = [said.msg for said in run_checks(databases=["default"]) if said.id == "record.E002"]
    assert any(says in said for said in found)
    assert not any(says in said for said in left)


def test_a_missing_guard_is_named_by_the_check_and_laid_down_by_migrate(event: Event) -> None:
    name = "guard_record_event_append_only_delete"
    with transaction.atomic():
        run(f'DROP TRIGGER "{name}"' + (" ON record_event" if connection.vendor == "postgresql" else ""))
    said = [said for said in run_checks(databases=["default"]) if said.id == "record.W001"]
    assert len(said) == 1
    assert name in said[0].msg
    assert not said[0].is_serious(), "it would keep migrate from laying it down"
    connection.check_constraints()
    call_command("migrate", verbosity=0)
    assert triggers.findings("default") == []


def test_a_trigger_of_somebody_else_is_found(event: Event) -> None:
    if connection.vendor == "sqlite":
        run("CREATE TRIGGER evil AFTER INSERT ON record_event BEGIN SELECT 1; END")
    else:
        run("CREATE FUNCTION evil() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NULL; END'")
        run("CREATE TRIGGER evil BEFORE INSERT ON record_event FOR EACH ROW EXECUTE FUNCTION evil()")
    assert triggers.findings("default") == ["the trigger evil on record_event is none of ours"]


def test_a_stale_guard_of_ours_is_taken_away(event: Event) -> None:
    stale = guards.Guard("record.Leaf", name="old_rule", says="old", delete=guards.ALWAYS)
    for trigger in triggers.wanted(connection, [stale]).values():
        for text in trigger.make:
            run(text)
    assert len(triggers.findings("default")) in (1, 2)  # PostgreSQL guards truncate besides
    triggers.install("default")
    assert triggers.findings("default") == []


CLOSED = "EXISTS (SELECT 1 FROM shop_customer c WHERE c.code = {row}.code)"


@pytest.fixture
def closed() -> None:
    """A guard of the kind a closed axle has: suppliers stand for its rows, a customer of the same code closes
    them."""
    new, old = CLOSED.replace("{row}", "NEW"), CLOSED.replace("{row}", "OLD")
    guard = guards.Guard(
        "shop.Supplier",
        name="test_closed",
        says="it is closed",
        insert=new,
        update=f"{old} OR {new}",
        delete=old,
    )
    for trigger in triggers.wanted(connection, [guard]).values():
        for text in trigger.make:
            run(text)
    Supplier.objects.create(code="open", name="o")
    Supplier.objects.create(code="shut", name="s")
    Customer.objects.create(code="shut", name="closes it")
    Customer.objects.create(code="shut too", name="closes it as well")


@pytest.mark.parametrize(
    "sql",
    [
        "INSERT INTO shop_supplier (code, name) VALUES ('shut too', 'n')",
        "UPDATE shop_supplier SET name = 'n' WHERE code = 'shut'",
        "UPDATE shop_supplier SET code = 'elsewhere' WHERE code = 'shut'",
        "UPDATE shop_supplier SET code = 'shut too' WHERE code = 'open'",
        "DELETE FROM shop_supplier WHERE code = 'shut'",
    ],
)
def test_what_is_closed_takes_nothing_gives_nothing_and_does_not_move(closed: None, sql: str) -> None:
    refused(sql, "it is closed")


@pytest.mark.parametrize(
    "sql",
    [
        "INSERT INTO shop_supplier (code, name) VALUES ('new', 'n')",
        "UPDATE shop_supplier SET name = 'n', code = 'p' WHERE code = 'open'",
        "DELETE FROM shop_supplier WHERE code = 'open'",
    ],
)
def test_what_is_open_goes_on(closed: None, sql: str) -> None:
    assert run(sql) == 1


def test_a_frozen_row_lets_only_the_named_columns_change() -> None:
    guard = guards.Guard("shop.Supplier", name="test_frozen", says="frozen", update=guards.ALWAYS, may_change=("name",))
    for trigger in triggers.wanted(connection, [guard]).values():
        for text in trigger.make:
            run(text)
    Supplier.objects.create(code="a", name="a")
    assert run("UPDATE shop_supplier SET name = 'b'") == 1
    refused("UPDATE shop_supplier SET code = 'b', name = 'c'", "frozen")


def test_two_guards_of_one_name_are_a_mistake() -> None:
    first = guards.declared()[0]
    guards.declare(first)
    with pytest.raises(ValueError, match="two guards"):
        guards.declare(guards.Guard(first.model, name=first.name, says="else"))


@pytest.mark.sqlite
@pytest.mark.django_db(transaction=True)
class TestATableMadeAnew:
    """SQLite alters a table by making it anew; other tables' guards name it."""

    def remake(self, emitted: list[Any]) -> None:
        emit_pre_migrate_signal(0, False, "default", plan=emitted)
        try:
            with connection.schema_editor() as editor:
                editor._remake_table(apps.get_model("builds.Closing"))
        finally:
            emit_post_migrate_signal(0, False, "default", plan=emitted)

    def test_goes_through_and_has_its_guards_again(self) -> None:
        self.remake([(Migration("0009_some", "builds"), False)])
        assert triggers.findings("default") == []

    def test_control_with_the_guards_left_in_place_it_would_not(self) -> None:
        with pytest.raises(OperationalError, match="no such table"):
            self.remake([])
