"""A backup is whole or not there, and a drill finds what would make it worthless. On both databases."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from shop.errors import Refusal
from shop.models import Item
from shop.record import backup as backup_module
from shop.record import checkpoint, keys, triggers
from shop.record.act import act
from shop.record.backup import DATABASE, KEYS, LIST, backup, run
from shop.record.models import Event, SigningKey
from shop.record.who import SYSTEM

pytestmark = pytest.mark.django_db(transaction=True)
NOW = datetime(2026, 1, 9, 12, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def record(settings: Any, tmp_path: Path) -> None:
    settings.KEYS_DIR = tmp_path / "keys"
    keys.make_key("ledger", by=SYSTEM)
    for number in range(3):
        with act("item.made", subject=f"axle:{number}", by=SYSTEM) as a:
            a.create(Item, kind="part", mark=str(number))
    checkpoint.sign_checkpoint()


@pytest.fixture
def made(tmp_path: Path) -> Path:
    return backup(tmp_path / "backups", NOW)


def drilled(folder: Path, capsys: pytest.CaptureFixture[str]) -> str:
    call_command("restore_drill", str(folder))
    return capsys.readouterr().out


def test_what_was_backed_up_is_restored_and_holds(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert made.name == "axlebook-20260109T123000Z"
    assert sorted(path.name for path in made.iterdir()) == sorted([DATABASE[connection.vendor], KEYS, LIST])
    said = drilled(made, capsys)
    assert f"{Event.objects.count()} events in" in said
    assert "The record holds." in said
    assert left_over() == []


def test_the_private_keys_are_not_in_it(made: Path, tmp_path: Path) -> None:
    key = SigningKey.objects.get()
    assert key.public in (made / KEYS).read_text("ascii")
    private = (tmp_path / "keys" / f"{key.name}.pem").read_bytes()
    assert b"PRIVATE" in private
    assert not any(b"PRIVATE KEY" in path.read_bytes() for path in made.iterdir())


def test_a_record_that_does_not_hold_is_found(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Changed behind the record's back before the backup was made: the files are as written, the record is not."""
    with triggers.lifted("default"), connection.cursor() as cursor:
        cursor.execute("UPDATE record_event SET kind = 'item.found' WHERE subject = 'axle:1'")
    made = backup(tmp_path / "backups", NOW)
    with pytest.raises(CommandError, match=r"The restored record does not hold: .*axle:1"):
        drilled(made, capsys)
    assert left_over() == []


@pytest.mark.parametrize("name", ["database", KEYS])
def test_a_changed_file_is_found(made: Path, name: str, capsys: pytest.CaptureFixture[str]) -> None:
    path = made / (DATABASE[connection.vendor] if name == "database" else name)
    there = bytearray(path.read_bytes())
    there[len(there) // 2] ^= 1
    path.write_bytes(there)
    with pytest.raises(CommandError, match=f"{path.name} in .* is not as it was written"):
        drilled(made, capsys)


def test_a_missing_file_is_named(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (made / KEYS).unlink()
    with pytest.raises(CommandError, match=f"{KEYS} is missing"):
        drilled(made, capsys)
    (made / LIST).unlink()
    with pytest.raises(CommandError, match="holds no backup"):
        drilled(made, capsys)


def test_one_that_holds_less_than_stood_there_is_found(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = json.loads((made / LIST).read_text("utf-8"))
    (made / LIST).write_text(json.dumps({**told, "last_event": told["last_event"] + 1}), "utf-8")
    with pytest.raises(CommandError, match="stood there when it was made"):
        drilled(made, capsys)
    (made / LIST).write_text(json.dumps({**told, "database": "another"}), "utf-8")
    with pytest.raises(CommandError, match="This is a backup of another"):
        drilled(made, capsys)


@pytest.mark.sqlite
def test_an_address_with_another_slash_is_the_same_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As `sqlite:////full/path` gives it. The control: a file that is not there is told as such."""
    monkeypatch.setitem(connection.settings_dict, "NAME", f"/{connection.settings_dict['NAME']}")
    assert (backup(tmp_path / "backups", NOW) / DATABASE["sqlite"]).stat().st_size > 0
    monkeypatch.setitem(connection.settings_dict, "NAME", str(tmp_path / "nowhere"))
    with pytest.raises(Refusal, match="was not written: unable to open database file"):
        backup(tmp_path / "others", NOW)


def test_half_a_backup_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The control is the first test: without the fault there is a whole one."""

    def full(path: Path) -> str:
        raise OSError("No space left on device")

    monkeypatch.setattr(backup_module, "_sha256", full)
    with pytest.raises(Refusal, match="was not written: No space left on device"):
        backup(tmp_path / "backups", NOW)
    assert list((tmp_path / "backups").iterdir()) == []


def test_none_is_written_over_another(made: Path) -> None:
    before = (made / LIST).read_bytes()
    with pytest.raises(Refusal, match="is there already"):
        backup(made.parent, NOW)
    assert (made / LIST).read_bytes() == before


def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder", "ascii")
    with pytest.raises(CommandError, match="The backup was not written"):
        call_command("backup", str(tmp_path / "file"))


def test_a_program_that_is_missing_or_says_no_is_told() -> None:
    with pytest.raises(Refusal, match="no-such-program is not on this machine"):
        run(["no-such-program"], {})
    with pytest.raises(Refusal, match="false did not do it: it gave no reason"):
        run(["/bin/false"], {})


def left_over() -> list[str]:
    """Databases of a drill that still stand on the server."""
    if connection.vendor == "sqlite":
        return []
    with connection.cursor() as cursor:
        cursor.execute("SELECT datname FROM pg_database WHERE datname LIKE 'axlebook_drill_%'")
        return [row[0] for row in cursor.fetchall()]
