"""Statements built once answer as the queryset they were built from, for the values of each run."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from operator import attrgetter

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.models import Heat, HeatStatus, Item, ItemKind, PartKind, Piece, Place, Role, RoleHeld, Tracking, Where
from shop.models.prepared import Prepared, PreparedValues, among, number, on, text
from tests.factories import person

pytestmark = pytest.mark.django_db

PIECES = Prepared(
    lambda: (
        Piece.objects.filter(item__mark=text("mark"), length__gt=Decimal("0.5"))
        .select_related("item", "heat__item", "parent")
        .defer("item__maker")
        .order_by("pk")
    )
)
LENGTHS = PreparedValues(
    lambda: Piece.objects.filter(among("item_id", "items")).order_by("pk").values_list("item__mark", "length")
)
ROLES = Prepared(lambda: RoleHeld.objects.filter(person=number("person"), valid_from__lte=on("day"))[:1])


def piece(mark: str, heat: Heat | None, length: str, *, readable: bool = True) -> Piece:
    kind, _ = PartKind.objects.get_or_create(code="tube", name="tube", tracking=Tracking.PIECE)
    item = Item.objects.create(kind=ItemKind.PIECE, sort="", mark=mark)
    return Piece.objects.create(item=item, kind=kind, heat=heat, length=Decimal(length), mark_readable=readable)


@pytest.fixture
def heat() -> Heat:
    item = Item.objects.create(kind=ItemKind.HEAT, sort="", mark="Q1")
    return Heat.objects.create(item=item, material="1026", status=HeatStatus.HELD)


def test_every_run_has_its_own_values(heat: Heat) -> None:
    one, two = piece("B-1", heat, "0.718281828"), piece("B-2", None, "60")
    assert [PIECES.all(mark=mark) for mark in ("B-1", "B-2", "B-3")] == [[one], [two], []]
    assert PIECES.first(mark="B-3") is None


def test_one_text_serves_any_number_of_keys(heat: Heat) -> None:
    """Rows as the queryset gives them, exact values too; and no key at all finds nothing."""
    keys = [piece(mark, heat, "0.718281828").pk for mark in ("B-1", "B-2", "B-3")]
    for few in ([], keys[:1], keys[1:], keys):
        asked = Piece.objects.filter(item_id__in=few).order_by("pk").values_list("item__mark", "length")
        with CaptureQueriesContext(connection) as caught:
            found = LENGTHS.all(items=few)
        assert [tuple(row) for row in found] == list(asked)
        assert len(found) == len(few)
        assert len(caught) == 1


def test_plain_rows_are_those_of_the_queryset(heat: Heat) -> None:
    """Moments, yes or no, exact values and what is not there, each of the type that the queryset gives."""
    piece("B-1", None, "60")
    for mark, readable in (("B-2", False), ("B-3", True)):
        made = piece(mark, heat, "0.718281828", readable=readable)
        Place.objects.create(item=made.item, where=Where.STOCK, since=datetime(2025, 11, 20, 20, 5, tzinfo=UTC))
    columns = ("item__mark", "length", "mark_readable", "item__place__since", "heat__item__mark", "parent__length")
    asked = Piece.objects.order_by("pk").values_list(*columns)
    found = PreparedValues(lambda: asked).all()
    assert [[(type(one), one) for one in row] for row in found] == [[(type(one), one) for one in row] for row in asked]
    assert [row[2] for row in found] == [True, False, True]
    assert [row[3] is None for row in found] == [True, False, False]
    assert PreparedValues(lambda: asked.filter(item__mark="none")).all() == []


def test_two_columns_may_be_among_the_same_keys(heat: Heat) -> None:
    one, two = piece("B-1", heat, "60"), piece("B-2", heat, "59")
    both = PreparedValues(
        lambda: Piece.objects.filter(among("item_id", "items") | among("heat_id", "heats")).values_list("item__mark")
    )
    assert sorted(mark for (mark,) in both.all(items=[one.pk], heats=[])) == ["B-1"]
    assert sorted(mark for (mark,) in both.all(items=[], heats=[heat.pk])) == [one.item.mark, two.item.mark]


def test_what_was_written_meanwhile_is_read(heat: Heat) -> None:
    kept = piece("B-1", heat, "60")
    assert PIECES.all(mark="B-1")[0].length == 60
    kept.length = Decimal("59.5")
    kept.save()
    assert PIECES.all(mark="B-1")[0].length == Decimal("59.5")


def test_an_object_is_in_every_part_the_one_that_the_queryset_gives(heat: Heat) -> None:
    """Columns, what was left out, joined objects from both sides, and that it is no new row."""
    piece("B-1", heat, "0.718281828")
    asked = Piece.objects.filter(item__mark="B-1").select_related("item", "heat__item", "parent").defer("item__maker")
    usual, made = asked.get(), PIECES.one(mark="B-1")
    for path in ("", "item", "heat", "heat.item"):
        one, other = ((attrgetter(path)(found) if path else found) for found in (usual, made))
        assert type(one) is type(other)
        assert {**vars(one), "_state": None} == {**vars(other), "_state": None}
        assert (one._state.adding, one._state.db) == (other._state.adding, other._state.db) == (False, "default")
        assert one._state.fields_cache.keys() == other._state.fields_cache.keys()
        assert one.get_deferred_fields() == other.get_deferred_fields()
    assert made.parent is None
    assert made.item.piece is made
    assert made.item.maker == ""


def test_a_model_that_is_made_in_a_way_of_its_own_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(RoleHeld, "__init__", lambda self: None)
    rows = Prepared(lambda: RoleHeld.objects.filter(person=number("person")))
    with pytest.raises(TypeError, match="RoleHeld is made in a way of its own"):
        rows.all(person=1)


def test_joined_rows_and_exact_values_come_along(heat: Heat) -> None:
    piece("B-1", heat, "0.718281828")
    piece("B-2", None, "60")
    with CaptureQueriesContext(connection) as caught:
        with_heat, without = PIECES.all(mark="B-1")[0], PIECES.all(mark="B-2")[0]
        assert with_heat.length == Decimal("0.718281828")
        assert with_heat.heat is not None
        assert (with_heat.item.mark, with_heat.heat.item.mark) == ("B-1", "Q1")
        assert (without.heat, without.parent) == (None, None)
    assert len(caught) == 2


def test_left_out_columns_are_read_when_asked_for(heat: Heat) -> None:
    piece("B-1", heat, "60")
    found = PIECES.all(mark="B-1")[0]
    assert found.item.get_deferred_fields() == {"maker"}
    assert found.item.maker == Item.objects.get(mark="B-1").maker


def test_days_are_compared_as_days() -> None:
    somebody = person("rusk", Role.ASSEMBLER)
    begun = RoleHeld.objects.get().valid_from
    assert ROLES.first(person=somebody.pk, day=begun) is not None
    assert ROLES.first(person=somebody.pk, day=date(begun.year - 1, 1, 1)) is None


def test_a_value_left_out_is_told() -> None:
    with pytest.raises(KeyError, match="mark"):
        PIECES.all()
