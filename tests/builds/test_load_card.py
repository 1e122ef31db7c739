"""The command that loads a definition file."""

from __future__ import annotations

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from builds.models import Revision
from shop.models import Role
from shop.record.who import Who
from tests.builds.cards import SMALL_CARD
from tests.builds.floor import person

pytestmark = pytest.mark.django_db


@pytest.fixture
def card(tmp_path: Path) -> Path:
    path = tmp_path / "small.toml"
    path.write_text(SMALL_CARD)
    return path


def code(who: Who) -> str:
    return who.code


def load(path: Path, *more: str, by: str = "") -> str:
    said = StringIO()
    call_command("load_card", str(path), "--by", by or code(person(Role.ENGINEER)), *more, stdout=said)
    return said.getvalue()


def test_a_file_becomes_a_draft(card: Path) -> None:
    assert load(card) == "Small axle rev A is a draft.\n"
    assert Revision.objects.get().state == "draft"


def test_a_file_is_released_at_once_when_asked(card: Path) -> None:
    assert load(card, "--release") == "Small axle rev A is released.\n"
    assert Revision.objects.get().state == "released"


def test_the_shipped_cards_load_and_release() -> None:
    for path in sorted(Path("builds/definitions/shipped").glob("*.toml")):
        assert "is released" in load(path, "--release")
    assert Revision.objects.count() == 2


def test_the_third_model_loads_and_releases() -> None:
    assert "is released" in load(Path("tests/builds/definitions/third_model.toml"), "--release")


def test_every_fault_is_printed(card: Path) -> None:
    card.write_text(SMALL_CARD.replace("K1", "K9", 1).replace('"bulk"', '"heap"'))
    with pytest.raises(CommandError, match=r"small.toml was not loaded.\nsmall.toml, line \d+"):
        load(card)
    assert not Revision.objects.exists()


@pytest.mark.parametrize("content", [b"", b"\x89PNG\r\n\x1a\n", b"no = [", b"\xff"])
def test_another_kind_of_file_is_refused(card: Path, content: bytes) -> None:
    card.write_bytes(content)
    with pytest.raises(CommandError, match="was not loaded"):
        load(card)


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="cannot be read"):
        load(tmp_path / "none.toml")


def test_an_unknown_or_unfit_person_is_refused(card: Path) -> None:
    with pytest.raises(CommandError, match="Nobody here has the code nobody"):
        load(card, by="nobody")
    with pytest.raises(CommandError, match="engineer"):
        load(card, by=code(person(Role.OFFICE)))
