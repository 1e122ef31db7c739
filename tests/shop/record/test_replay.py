"""The ledger alone gives every recorded table back; what differs is named."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from shop.errors import Refusal
from shop.models import Item, Part, PartKind, Person, Piece, Place, Terminal
from shop.record import replay
from shop.record.act import act
from shop.record.models import Event, Job, Signature
from shop.record.replay import check, empty_database, rebuild, recorded_models
from shop.record.who import Who

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(who: Who) -> Who:
    """A little of every kind of write: many rows, changes, a row taken out, inner acts, and one refused."""
    with act("kinds", subject="shop:kinds", by=who) as a:
        tube = a.create(PartKind, code="tube", name="Tube é", tracking="piece")
    with act("pieces", subject="delivery:1", by=who) as a:
        items = a.create_many(Item, [{"kind": "piece", "mark": f"P-{n}"} for n in range(5)])
        for item in items:
            a.create(Piece, item=item, kind=tube, length=Decimal("120.500000001"))
            place = a.create(Place, item=item, where="stock", since=a.now)
        a.delete(place)
        a.create(Part, item=items[0], kind=tube, facts={"rockwell": ["60", "61"], "fitted": False})
        with act("inner", subject="piece:P-0", by=who) as b:
            b.update(items[0], maker="Mill")
            try:
                with act("refused", subject="piece:P-0", by=who) as c:
                    c.create(Item, kind="piece", mark="never")
                    raise Refusal("No.")
            except Refusal:
                pass
    with act("signed", subject="piece:P-0", by=who) as a:
        a.create(Signature, person=who.person, terminal=who.terminal, meaning="did", at=a.now)
        a.update(who.person, pin_hash="a secret")
        a.job("anything", key="k")
    return who


def test_the_ledger_gives_everything_back(shop: Who) -> None:
    assert check()[1] == []


def test_what_comes_back_is_really_there(shop: Who) -> None:
    with empty_database() as alias:
        assert rebuild(alias) == Event.objects.count()
        assert Piece.objects.using(alias).get(item__mark="P-0").length == Decimal("120.500000001")
        assert Part.objects.using(alias).get().facts == {"rockwell": ["60", "61"], "fitted": False}
        assert list(Item.objects.using(alias).values_list("maker", flat=True).order_by("id")) == ["Mill"] + [""] * 4
        assert Place.objects.using(alias).count() == 4
        assert Terminal.objects.using(alias).get().registered_at == Terminal.objects.get().registered_at


def test_credentials_do_not_come_back(shop: Who) -> None:
    with empty_database() as alias:
        rebuild(alias)
        assert Person.objects.using(alias).get(code="cal").pin_hash == ""
        assert Person.objects.get(code="cal").pin_hash == "a secret"


def test_a_row_that_no_event_made_is_named(shop: Who) -> None:
    row = Item.objects.create(kind="part", mark="smuggled")
    assert check()[1] == [f"shop.Item {row.pk} is in the table, but no event of the ledger made it"]


def test_a_row_changed_behind_the_ledgers_back_is_named(shop: Who) -> None:
    Piece.objects.filter(item__mark="P-3").update(length=Decimal("120.500000002"))
    assert check()[1] == [f"shop.Piece {Item.objects.get(mark='P-3').pk} differs from the ledger in length"]


def test_a_row_taken_out_behind_the_ledgers_back_is_named(shop: Who) -> None:
    place = Place.objects.order_by("pk").first()
    assert place is not None
    key = place.pk
    place.delete()
    assert check()[1] == [f"shop.Place {key} was made in the ledger, but is not in the table"]


@pytest.fixture
def at_work(shop: Who, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each of the first two comparisons finds that the shop has moved on since the events were read."""
    real, left = replay.compare, [1, 2]

    def moved_on(*given: Any, **named: Any) -> Any:
        if left:
            with act("item.made", subject=f"piece:new-{left.pop()}", by=shop) as a:
                a.update(Piece.objects.get(item__mark="P-3"), length=Decimal(10 + len(left)))
                a.create(Item, kind="part", mark=f"new {len(left)}")
        return real(*given, **named)

    monkeypatch.setattr(replay, "compare", moved_on)


def test_what_was_entered_during_the_check_is_no_difference(at_work: None) -> None:
    events, differences = check()
    assert (events, differences) == (Event.objects.count(), [])


def test_control_told_at_once_it_would_be_one(at_work: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(replay, "MOST_ROUNDS", 0)
    assert [said.partition(" ")[0] for said in check()[1]] == ["shop.Item", "shop.Piece"]


def test_a_real_difference_is_told_though_the_shop_is_at_work(at_work: None) -> None:
    row = Item.objects.create(kind="part", mark="smuggled")
    assert check()[1] == [f"shop.Item {row.pk} is in the table, but no event of the ledger made it"]


class Hiding(replay.Applied):
    """Sees the ledger as it is before one event is committed."""

    hidden = 0

    def new(self, source: str) -> Any:
        return super().new(source).exclude(pk=self.hidden)


def test_no_event_is_applied_twice_when_one_comes_late_among_many(shop: Who, monkeypatch: pytest.MonkeyPatch) -> None:
    """The window of what was applied holds the highest numbers, not those that were applied last."""
    monkeypatch.setattr(replay, "CHUNK", 5)

    def made(*marks: str) -> None:
        for mark in marks:
            with act("item.made", subject=f"piece:{mark}", by=shop) as a:
                a.create(Item, kind="part", mark=mark)

    made(*"abcdefgh")
    with empty_database() as alias:
        applied = Hiding()
        applied.hidden = Event.objects.get(subject="piece:f").pk
        first = rebuild(alias, applied=applied)
        made(*"ijkl")
        applied.hidden = 0
        assert (first, rebuild(alias, applied=applied), rebuild(alias, applied=applied)) == (
            Event.objects.count() - 5, 5, 0,
        )  # fmt: skip


def test_an_event_committed_after_one_with_a_higher_number_is_applied(shop: Who) -> None:
    for mark in ("late", "early"):
        with act("item.made", subject=f"piece:{mark}", by=shop) as a:
            a.create(Item, kind="part", mark=mark)
    late = Event.objects.get(subject="piece:late").pk

    with empty_database() as alias:
        applied = Hiding()
        applied.hidden = late
        assert rebuild(alias, applied=applied) == Event.objects.count() - 1
        assert max(applied.latest) > late
        applied.hidden = 0
        assert (rebuild(alias, applied=applied), rebuild(alias, applied=applied)) == (1, 0)
        assert Item.objects.using(alias).filter(mark="late").exists()


def test_the_command_fails_on_a_difference(shop: Who, capsys: Any) -> None:
    call_command("replay", "--check")
    assert "tables agree with the" in capsys.readouterr().out
    Item.objects.create(kind="part", mark="smuggled")
    with pytest.raises(CommandError):
        call_command("replay", "--check")


def test_tables_outside_the_record_are_named_as_such() -> None:
    assert Job not in recorded_models()
    assert Signature in recorded_models()
