"""Whatever is changed behind the record's back is found, and placed. The guards are lifted to do the
changing."""

from __future__ import annotations

import hashlib
import random
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.utils import timezone

from shop.models import Item, Person
from shop.record import checkpoint, keys, triggers
from shop.record import verify as verify_module
from shop.record.act import act
from shop.record.models import Blob, Checkpoint, Event, Head, Inspection, Leaf, SigningKey
from shop.record.note import NoteError
from shop.record.tree import ProofError
from shop.record.verify import inspect, verify
from shop.record.who import SYSTEM, Who

pytestmark = pytest.mark.django_db


#: What makes the connection unsafe and what makes it safe again, inside a transaction too.
UNSAFE = {
    "sqlite": ("PRAGMA recursive_triggers = OFF", "PRAGMA recursive_triggers = ON"),
    "postgresql": ("SET lock_timeout = 0", "SET lock_timeout = '5s'"),
}


@pytest.fixture(autouse=True)
def keys_folder(settings: Any, tmp_path: Path) -> Path:
    settings.KEYS_DIR = tmp_path / "keys"
    return tmp_path / "keys"


@pytest.fixture
def ledger(who: Who) -> None:
    """Some chains of different lengths, with a checkpoint in the middle of them."""
    keys.make_key("ledger", by=SYSTEM)
    for number in range(30):
        if number == 20:
            checkpoint.sign_checkpoint()
        with act("item.made", subject=f"axle:{number % 4}", by=who, also=("order:1",) * (number % 3 == 0)) as a:
            a.create(Item, kind="part", mark=str(number))
            a.note(note='a "quoted" word', terminal="T-99")
    checkpoint.sign_checkpoint()
    connection.check_constraints()


def tampered(sql: str, parameters: tuple[object, ...] = ()) -> None:
    connection.check_constraints()
    with triggers.lifted("default"), connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        assert cursor.rowcount > 0
        connection.check_constraints()


def found() -> list[str]:
    return verify().findings


def test_an_untouched_record_is_sound(ledger: None) -> None:
    report = verify()
    assert report.findings == []
    assert (report.events, report.chains) == (
        Event.objects.count(),
        Head.objects.filter(sequence__gt=0).count(),
    )
    assert Checkpoint.objects.count() == 2


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("kind", "item.moved"),
        ("at", "2020-01-01 00:00:00+00:00"),
        ("person_id", None),
        ("terminal_id", None),
        ("act", "00000000000000000000000000000000"),
    ],
)
def test_a_changed_column_is_found_and_placed(ledger: None, column: str, value: object) -> None:
    tampered(f"UPDATE record_event SET {column} = %s WHERE subject = 'axle:1' AND sequence = 3", (value,))
    assert found() == ["axle:1: event 3 was changed: its columns do not agree with its bytes"]


def test_a_moved_event_is_found_on_both_chains(ledger: None) -> None:
    tampered("UPDATE record_event SET subject = 'axle:9', sequence = 1 WHERE subject = 'axle:1' AND sequence = 3")
    assert found() == [
        "axle:1: event 3 is missing: the next one found is 4",
        "axle:9: event 1 does not follow the one before it",
    ]


def test_a_cut_off_end_is_found(ledger: None) -> None:
    last = Event.objects.filter(subject="axle:1").latest("sequence")
    tampered("DELETE FROM record_leaf WHERE event_id = %s", (last.pk,))
    tampered("DELETE FROM record_event WHERE id = %s", (last.pk,))
    said = found()
    assert said[0] == f"axle:1: the head stands at {last.sequence}, the last event found is {last.sequence - 1}"
    assert said[1].startswith("the tree has")


def test_a_chain_cut_off_with_its_head_set_back_is_found_by_the_tree(ledger: None) -> None:
    last = Event.objects.order_by("id").last()
    assert last is not None
    before = Event.objects.get(subject=last.subject, sequence=last.sequence - 1)
    tampered("DELETE FROM record_leaf WHERE event_id = %s", (last.pk,))
    tampered("DELETE FROM record_event WHERE id = %s", (last.pk,))
    tampered(
        "UPDATE record_head SET sequence = %s, hash = %s WHERE subject = %s",
        (before.sequence, bytes(before.hash), last.subject),
    )
    (said,) = found()
    size = Leaf.objects.count()
    assert said == f"the tree has {size} leaves, but {size + 1} were signed"


def test_a_whole_chain_gone_is_found(ledger: None) -> None:
    tampered("DELETE FROM record_leaf WHERE event_id IN (SELECT id FROM record_event WHERE subject = 'axle:2')")
    tampered("DELETE FROM record_event WHERE subject = 'axle:2'")
    assert any(said.startswith("axle:2: the chain is gone") for said in found())


def test_a_forged_checkpoint_is_found(ledger: None) -> None:
    item = Checkpoint.objects.order_by("size").first()
    assert item is not None
    tampered("UPDATE record_checkpoint SET note = replace(note, %s, %s)", (f"\n{item.size}\n", "\n1\n"))
    assert any(said.startswith(f"the checkpoint at {item.size}:") for said in found())


def test_a_record_rewritten_from_end_to_end_is_found_by_the_checkpoint(ledger: None) -> None:
    """Everything made anew and made to fit, leaves too: only what was signed still tells."""
    event = Event.objects.filter(subject="axle:0").latest("sequence")
    forged = bytes(event.content).replace(b"quoted", b"forged")
    digest = checkpoint.chain.link(bytes(event.previous), forged)
    tampered("UPDATE record_event SET content = %s, hash = %s WHERE id = %s", (forged, digest, event.pk))
    tampered("UPDATE record_head SET hash = %s WHERE subject = 'axle:0'", (digest,))
    tampered("UPDATE record_leaf SET hash = %s WHERE event_id = %s", (checkpoint.tree.leaf_hash(forged), event.pk))
    assert found() == [f"the checkpoint at {Leaf.objects.count()} was signed over another tree"]


def test_a_missing_guard_is_found(ledger: None) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        table = " ON record_event" if connection.vendor == "postgresql" else ""
        cursor.execute(f'DROP TRIGGER "guard_record_event_append_only_update"{table}')
    assert found() == ["the guard guard_record_event_append_only_update is missing on record_event"]


def test_flipped_bits_are_all_found_and_placed(ledger: None) -> None:
    """200 here, through the database; the chain's own test does a thousand."""
    chance = random.Random(20260301)
    events = list(Event.objects.order_by("id"))
    connection.check_constraints()
    with triggers.lifted("default"):
        for _ in range(200):
            event, column = chance.choice(events), chance.choice(["content", "previous", "hash"])
            good = bytes(getattr(event, column))
            bad = bytearray(good)
            bad[chance.randrange(len(bad))] ^= 1 << chance.randrange(8)
            Event.objects.filter(pk=event.pk).update(**{column: bytes(bad)})
            said = [line for line in found() if "guard" not in line]
            assert said, (event, column)
            assert said[0].startswith(f"{event.subject}: event {event.sequence} "), said
            Event.objects.filter(pk=event.pk).update(**{column: good})
        assert [line for line in found() if "guard" not in line] == []
        connection.check_constraints()


def test_a_changed_file_is_found(ledger: None) -> None:
    content = b"a drawing"
    name = hashlib.sha256(content).hexdigest()
    Blob.objects.create(sha256=name, content=content, content_type="application/pdf", size=len(content))
    assert found() == []
    tampered("UPDATE record_blob SET content = %s", (b"a Drawing",))
    assert found() == [f"the file {name[:12]} was changed: its bytes do not give its name"]


def test_the_result_is_kept_where_it_is_seen(ledger: None) -> None:
    assert inspect().sound
    tampered("UPDATE record_event SET kind = 'x' WHERE subject = 'axle:1' AND sequence = 1")
    assert not inspect().sound
    last = Inspection.objects.latest("pk")
    assert last.findings == ["axle:1: event 1 was changed: its columns do not agree with its bytes"]


@pytest.fixture
def durable() -> None:
    """The server of the tests does not wait for its disk, which verify rightly names; a shop's does."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL synchronous_commit = on")


def test_the_command_fails_on_a_finding_and_names_it(ledger: None, durable: None, capsys: Any) -> None:
    call_command("verify")
    assert "The record holds." in capsys.readouterr().out
    tampered("UPDATE record_event SET kind = 'x' WHERE subject = 'axle:1' AND sequence = 1")
    with pytest.raises(CommandError, match="does not hold"):
        call_command("verify")
    assert "axle:1: event 1" in capsys.readouterr().out


def test_the_command_fails_on_an_unsafe_connection_and_names_it(ledger: None, durable: None, capsys: Any) -> None:
    """Control: with the settings as they must be the same record passes."""
    bad, good = UNSAFE[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(bad)
        try:
            with pytest.raises(CommandError, match="cannot keep what it is given"):
                call_command("verify")
        finally:
            cursor.execute(good)
    said = capsys.readouterr().out
    assert "must be" in said
    assert "The record holds." not in said
    call_command("verify")
    assert "The record holds." in capsys.readouterr().out


class TestAtWork:
    """An entry, somebody new, and a checkpoint, made while the record is walked."""

    @pytest.fixture(autouse=True)
    def at_work(self, ledger: None, monkeypatch: pytest.MonkeyPatch) -> None:
        real, once = verify_module._Names, [True]

        def moved_on() -> Any:
            names = real()
            if once.pop() if once else False:
                with act("person.added", subject="person:new", by=SYSTEM, also=("axle:1",)) as a:
                    new = a.create(Person, code="new", name="Newly Here")
                with act("item.made", subject="axle:1", by=Who(new)) as a:
                    a.create(Item, kind="part", mark="meanwhile")
                checkpoint.sign_checkpoint()
            return names

        monkeypatch.setattr(verify_module, "_Names", moved_on)

    def test_are_no_finding(self) -> None:
        assert found() == []

    def test_control_told_at_once_they_would_be(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(verify_module, "_held_still", lambda subject: "broken")
        assert found() == ["axle:1: broken", "person:new: broken"]

    def test_hide_no_real_break(self) -> None:
        tampered("UPDATE record_event SET kind = 'x' WHERE subject = 'axle:1' AND sequence = 2")
        assert found() == ["axle:1: event 2 was changed: its columns do not agree with its bytes"]


class TestCheckpoint:
    def test_nothing_new_signs_nothing(self, ledger: None) -> None:
        assert checkpoint.sign_checkpoint() is None

    def test_every_signed_event_has_a_proof_that_needs_only_the_public_key(self, ledger: None) -> None:
        known = [checkpoint.verifier(item) for item in Checkpoint.objects.all()][:1]
        for event in Event.objects.all():
            proof = checkpoint.proof_of(event)
            assert proof is not None
            read = type(proof).read(str(proof))
            read.verify(bytes(event.content), known)
            with pytest.raises(ProofError):
                read.verify(bytes(event.content) + b" ", known)

    def test_an_event_of_this_minute_has_no_proof_yet(self, ledger: None, who: Who) -> None:
        with act("x.y", subject="axle:1", by=who):
            pass
        assert checkpoint.proof_of(Event.objects.latest("id")) is None

    def test_a_changed_event_is_never_signed(self, ledger: None, who: Who) -> None:
        with act("x.y", subject="axle:1", by=who):
            pass
        tampered("UPDATE record_event SET content = previous WHERE id = %s", (Event.objects.latest("id").pk,))
        with pytest.raises(checkpoint.Inconsistent, match="was changed"):
            checkpoint.sign_checkpoint()

    @pytest.mark.parametrize(
        "table", ['record_leaf SET hash = %s WHERE "index" = 5', "record_checkpoint SET root = %s"]
    )
    def test_two_inconsistent_checkpoints_are_never_signed(self, ledger: None, who: Who, table: str) -> None:
        with act("x.y", subject="axle:1", by=who):
            pass
        tampered(f"UPDATE {table}", (bytes(32),))
        with pytest.raises(checkpoint.Inconsistent):
            checkpoint.sign_checkpoint()
        assert Checkpoint.objects.count() == 2

    def test_an_old_key_still_opens_its_own_checkpoints(self, ledger: None, who: Who) -> None:
        keys.make_key("ledger", by=SYSTEM, now=timezone.now() + timedelta(seconds=2))
        assert checkpoint.sign_checkpoint() is not None
        assert SigningKey.objects.filter(valid_to=None).count() == 1
        assert found() == []
        old, new = Checkpoint.objects.order_by("size").first(), Checkpoint.objects.latest("size")
        assert old is not None
        assert old.key != new.key
        with pytest.raises(NoteError):
            checkpoint.note.open_note(new.note, [checkpoint.verifier(old)])


class TestKeys:
    def test_the_private_half_is_only_the_owners(self, who: Who, keys_folder: Path) -> None:
        made = keys.make_key("certificate", by=who)
        path = keys_folder / f"{made.name}.pem"
        assert path.stat().st_mode & 0o777 == 0o600
        assert b"PRIVATE" in path.read_bytes()
        assert "PRIVATE" not in made.public
        assert b"PRIVATE" not in bytes(Event.objects.get(subject=f"key:{made.name}").content)

    def test_a_missing_or_foreign_file_is_refused(self, who: Who, keys_folder: Path) -> None:
        made = keys.make_key("ledger", by=who)
        other = keys.make_key("certificate", by=who)
        path = keys_folder / f"{made.name}.pem"
        keys.private_half(made)
        path.write_bytes((keys_folder / f"{other.name}.pem").read_bytes())
        with pytest.raises(keys.Refusal, match="another key"):
            keys.private_half(made)
        path.unlink()
        with pytest.raises(keys.Refusal, match="not in the folder"):
            keys.private_half(made)

    def test_without_a_key_it_says_how_to_make_one(self, db: None) -> None:
        with pytest.raises(keys.Refusal, match="make_key ledger"):
            keys.in_force("ledger")
