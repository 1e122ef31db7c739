"""From a definition file to a frozen revision (builds.actions.releasing)."""

from __future__ import annotations

import pytest

from builds.actions.releasing import definition_text, load_definition, release
from builds.errors import BrokenDefinition, Frozen
from builds.models import After, Invalidates, Operation, Requirement, Revision
from measurements.models import Characteristic
from shop.errors import Refusal
from shop.models import PartKind, Role, Station
from shop.record.models import Event
from shop.record.who import SYSTEM
from tests.builds.cards import SMALL_CARD, SMALL_CARD_B
from tests.builds.floor import person, released

pytestmark = pytest.mark.django_db


def load(text: str = SMALL_CARD, name: str = "small.toml") -> Revision:
    return load_definition(text=text, name=name, by=person(Role.ENGINEER))


def test_a_loaded_file_is_a_draft_without_rows() -> None:
    draft = load()
    assert (draft.key, draft.state, draft.released_at) == ("small_axle/A", "draft", None)
    assert not Operation.objects.exists()


def test_loading_again_replaces_a_draft() -> None:
    first = load()
    again = load(SMALL_CARD.replace("Look at the steel", "Look at the tubes"))
    assert first.pk == again.pk
    assert again.card.operation(20).name == "Look at the tubes"


def test_release_writes_the_rows_and_dates_it() -> None:
    revision = released()
    assert revision.state == "released"
    assert [row.number for row in Operation.objects.all()] == [10, 20, 30, 40]
    assert list(Station.objects.values_list("code", flat=True)) == ["K1", "B1"]
    assert PartKind.objects.get(code="grease").tracking == "bulk"
    carbon = Characteristic.objects.get(card_key="small_axle/A", code="20.1")
    assert (str(carbon.low), str(carbon.high), carbon.class_code) == ("0.280000000", "0.330000000", "S")


def test_release_writes_needs_by_side_waits_and_consequences() -> None:
    released()
    roles = Requirement.objects.filter(operation__number=40).values_list("role", flat=True)
    assert sorted(roles) == ["cap", "shaft left", "shaft right"]
    assert sorted(After.objects.filter(operation__number=40).values_list("other__number", flat=True)) == [
        20,
        30,
    ]
    assert sorted(Invalidates.objects.values_list("cause", "operation__number")) == [
        ("gear_set", 30),
        ("gear_set", 40),
    ]


def test_a_released_revision_is_not_loaded_again() -> None:
    released()
    with pytest.raises(Frozen, match="never changes"):
        load(SMALL_CARD.replace("Pick the kit", "Pick a kit"))
    assert Revision.objects.get().card.operation(10).name == "Pick the kit"


def test_a_released_revision_is_not_released_twice() -> None:
    revision = released()
    with pytest.raises(Frozen, match="already released"):
        release(revision=revision, by=person(Role.ENGINEER))


def test_the_next_letter_shares_stations_and_part_kinds() -> None:
    released()
    released(SMALL_CARD_B)
    assert Revision.objects.count() == 2
    assert Station.objects.count() == 2
    assert Characteristic.objects.filter(code="20.1").count() == 2


def test_a_draft_replaced_meanwhile_is_not_released_unseen() -> None:
    seen = load()
    load(SMALL_CARD.replace("Look at the steel", "Look at the tubes"))
    with pytest.raises(Refusal, match="loaded again in the meantime"):
        release(revision=seen, by=person(Role.ENGINEER))


def test_every_fault_is_told_with_its_line_and_key() -> None:
    broken = SMALL_CARD.replace('station = "K1"', 'station = "ZZ"').replace('tracking = "bulk"', 'tracking = "heap"')
    with pytest.raises(BrokenDefinition) as refused:
        load(broken)
    assert len(refused.value.faults) == 3
    assert any("tracking" in fault and "heap" in fault for fault in refused.value.faults)
    assert all("small.toml, line " in fault for fault in refused.value.faults)
    assert not Revision.objects.exists()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('name = "Small axle"', f'name = "{"x" * 81}"', "has 81 characters; 80 are kept"),
        ('revision = "A"', 'revision = "A/1"', "key revision: expected letters"),
        ('code = "K1"', 'code = "KITSTATION"', "has 10 characters; 8 are kept"),
    ],
)
def test_a_name_the_tables_cannot_hold_is_refused(old: str, new: str, said: str) -> None:
    text = SMALL_CARD.replace(old, new).replace('station = "K1"', 'station = "KITSTATION"') if "K1" in old else None
    with pytest.raises(BrokenDefinition, match=said):
        load(text or SMALL_CARD.replace(old, new, 1))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"\xff\xfe\x00", "expected plain text"),
        (b"%PDF-1.7 1 0 obj", "expected TOML"),
        (b"", "expected at least one"),
        (b"x = 1\n" * 400_000, "expected at most"),
    ],
)
def test_what_is_no_definition_is_refused(content: bytes, said: str) -> None:
    with pytest.raises(BrokenDefinition, match=said):
        definition_text(content, "card.toml")


def test_only_an_engineer_loads_and_releases() -> None:
    with pytest.raises(Refusal, match="engineer"):
        load_definition(text=SMALL_CARD, name="small.toml", by=person(Role.OFFICE))
    draft = load()
    with pytest.raises(Refusal, match="engineer"):
        release(revision=draft, by=person(Role.MANAGER))
    with pytest.raises(Refusal, match="by a person"):
        release(revision=draft, by=SYSTEM)
    assert Revision.objects.get().state == "draft"


def test_a_part_kind_kept_otherwise_in_this_shop_is_refused() -> None:
    PartKind.objects.create(code="bearing", name="Bearing", tracking="serial")
    draft = load()
    with pytest.raises(Refusal, match="bearing is kept by serial"):
        release(revision=draft, by=person(Role.ENGINEER))
    assert not Operation.objects.exists()


def test_both_acts_stand_in_the_record_of_the_model() -> None:
    released()
    kinds = Event.objects.filter(subject="model:small_axle").order_by("sequence").values_list("kind", flat=True)
    assert list(kinds) == ["card.loaded", "card.released"]
