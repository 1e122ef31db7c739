"""One act, one transaction: rows, write-set, event and head together or not at all."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import DatabaseError, connection
from django.test import override_settings
from django.utils import timezone

from shop.errors import Refusal
from shop.models import Item, PartKind, Person, Piece, Place
from shop.record import chain
from shop.record.act import act
from shop.record.chain import NotCanonical
from shop.record.models import Blob, Event, Head, Job, Signature
from shop.record.values import instant
from shop.record.who import SYSTEM, Who

AXLE = "axle:TBK-25-0143"


def events(subject: str = AXLE) -> list[Event]:
    return list(Event.objects.filter(subject=subject).order_by("sequence"))


def empty(subject: str, who: Who, now: datetime | None = None) -> None:
    """An act that writes nothing but its event."""
    with act("x.y", subject=subject, by=who, now=now):
        pass


def test_an_act_appends_one_event_that_says_who_what_and_when(who: Who) -> None:
    with act("item.made", subject=AXLE, by=who) as a:
        a.create(Item, kind="axle", mark="TBK-25-0143")
        a.note(torque="105 ft-lb", tries=2, last=None)
    (event,) = events()
    facts = event.facts
    assert facts["person"] == "cal"
    assert facts["terminal"] == "T-40"
    assert facts["notes"] == {"torque": "105 ft-lb", "tries": 2, "last": None}
    assert facts["act"] == str(a.id) == str(event.act)
    assert facts["at"] == a.now.strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    assert event.at == a.now
    assert (facts["subject"], facts["sequence"], facts["kind"]) == (AXLE, 1, "item.made")


def test_the_bytes_are_canonical_and_give_the_hash(who: Who) -> None:
    for mark in ("1", "2"):
        with act("item.made", subject=AXLE, by=who) as a:
            a.create(Item, kind="axle", mark=mark)
    first, second = events()
    assert bytes(first.content) == chain.canonical(first.facts)
    assert bytes(first.previous) == bytes(32)
    assert bytes(second.previous) == bytes(first.hash) == chain.link(bytes(32), bytes(first.content))
    head = Head.objects.get(pk=AXLE)
    assert (head.sequence, bytes(head.hash), head.at) == (2, bytes(second.hash), second.at)


def test_the_write_set_holds_exact_text(who: Who) -> None:
    with act("item.made", subject=AXLE, by=who) as a:
        item = a.create(Item, kind="piece", mark="B-1")
        kind = a.create(PartKind, code="tube", name="Tube", tracking="heat")
        a.create(Piece, item=item, kind=kind, length=Decimal("120.50"))
    inserted = events()[0].facts["writes"][2]
    row = dict(zip(inserted["columns"], inserted["rows"][0], strict=True))
    assert inserted["insert"] == "shop.piece"
    assert row == {
        "item_id": str(item.pk), "kind_id": str(kind.pk), "heat_id": None, "parent_id": None,
        "length": "120.50", "length_unit": "in", "mark_readable": True,
    }  # fmt: skip


def test_many_rows_go_in_with_one_statement(who: Who, django_assert_num_queries) -> None:
    empty(AXLE, who)
    # savepoint, lock, insert of 20, event, head, release; PostgreSQL takes event and head in one statement
    statements = 5 if connection.vendor == "postgresql" else 6
    with django_assert_num_queries(statements), act("item.made", subject=AXLE, by=who) as a:
        rows = a.create_many(Item, [{"kind": "part", "mark": str(mark)} for mark in range(20)])
    assert all(row.pk for row in rows)
    assert len(events()[1].facts["writes"][0]["rows"]) == 20


def test_update_and_delete_stand_in_the_write_set(who: Who) -> None:
    with act("item.made", subject=AXLE, by=who) as a:
        item = a.create(Item, kind="axle", mark="1")
        place = a.create(Place, item=item, where="stock", since=a.now)
    with act("item.moved", subject=AXLE, by=who) as a:
        a.update(place, where="floor")
    with act("item.gone", subject=AXLE, by=who) as a:
        a.delete(place)
    _, moved, gone = events()
    assert moved.facts["writes"] == [{"update": "shop.place", "pk": str(item.pk), "values": {"where": "floor"}}]
    assert gone.facts["writes"] == [{"delete": "shop.place", "pk": str(item.pk)}]
    assert not Place.objects.exists()


def test_updating_a_row_that_is_gone_is_an_error(who: Who) -> None:
    with act("item.made", subject=AXLE, by=who) as a:
        item = a.create(Item, kind="axle", mark="1")
    Item.objects.all().delete()
    with pytest.raises(DatabaseError), act("item.moved", subject=AXLE, by=who) as a:
        a.update(item, mark="2")


def refused_half_way(who: Who) -> None:
    with act("item.made", subject=AXLE, by=who) as a:
        a.create(Item, kind="axle", mark="1")
        a.job("certificate.render", key="k")
        raise Refusal("No.")


def test_a_refusal_leaves_no_row_no_event_no_job_and_no_head(who: Who) -> None:
    with pytest.raises(Refusal):
        refused_half_way(who)
    assert not Item.objects.exists()
    assert not events()
    assert not Job.objects.exists()
    assert not Head.objects.filter(pk=AXLE).exists()


def test_an_act_on_two_subjects_writes_one_event_in_each_chain_with_one_id(who: Who) -> None:
    with act("part.robbed", subject="axle:B", by=who, also=("axle:A",)) as a:
        a.create(Item, kind="axle", mark="1")
    (first,), (other,) = events("axle:B"), events("axle:A")
    assert first.act == other.act == a.id
    assert "writes" in first.facts
    assert "writes" not in other.facts
    assert first.facts["subjects"] == other.facts["subjects"] == ["axle:B", "axle:A"]


def test_credentials_stay_out_of_the_ledger(who: Who) -> None:
    with act("person.added", subject="person:bo", by=who) as a:
        person = a.create(Person, code="bo", name="Bo", pin_hash="secret-hash")
        a.update(person, pin_hash="another-hash", name="Bo B")
    content = bytes(events("person:bo")[0].content)
    assert b"hash" not in content.replace(b'"previous"', b"")
    assert b"Bo B" in content
    assert Person.objects.get(code="bo").pin_hash == "another-hash"


def test_text_is_stored_in_one_normal_form(who: Who) -> None:
    with act("item.made", subject=AXLE, by=who) as a:
        item = a.create(Item, kind="axle", mark="1", maker="Me\u0301tal")
    assert Item.objects.get(pk=item.pk).maker == "M\u00e9tal"
    assert "M\u00e9tal".encode() in bytes(events()[0].content)


@pytest.mark.parametrize("mark", ["a\x00b", "a\ud800b"])
def test_a_character_that_cannot_be_stored_is_refused(who: Who, mark: str) -> None:
    with pytest.raises(Refusal, match="cannot be stored"), act("item.made", subject=AXLE, by=who) as a:
        a.create(Item, kind="axle", mark=mark)


@pytest.mark.parametrize("mark", ["a\x1eb", "a\x7fb", "a\x9bb", "TBK\u202e-25", "a\u2066b"])
def test_a_character_that_no_page_can_show_is_refused(who: Who, mark: str) -> None:
    with pytest.raises(Refusal, match="cannot be printed"), act("item.made", subject=AXLE, by=who) as a:
        a.create(Item, kind="axle", mark=mark)


def test_lines_tabs_and_joiners_are_text(who: Who) -> None:
    with act("item.made", subject=AXLE, by=who) as a:
        item = a.create(Item, kind="axle", mark="1", maker="a\tb\r\nc\u200dd\u00a0e")
    assert Item.objects.get(pk=item.pk).maker == "a\tb\r\nc\u200dd\u00a0e"


def test_a_float_is_refused(who: Who) -> None:
    with pytest.raises(NotCanonical), act("item.made", subject=AXLE, by=who) as a:
        a.note(value=1.5)


def test_tables_outside_the_record_are_not_written_through_an_act(who: Who) -> None:
    with pytest.raises(TypeError, match="outside the record"), act("x.y", subject=AXLE, by=who) as a:
        a.create(Blob, sha256="0" * 64, content=b"", content_type="text/plain", size=0)


@pytest.mark.parametrize("subject", ["", "axle", "a:" + "x" * 200])
def test_a_subject_is_kind_and_mark(who: Who, subject: str) -> None:
    with pytest.raises(ValueError, match="subject"), act("x.y", subject=subject, by=who):
        pass


class TestInnerAct:
    def test_joins_the_outer_transaction_and_its_rows_keep_their_order(self, who: Who) -> None:
        with act("outer", subject=AXLE, by=who) as a:
            item = a.create(Item, kind="axle", mark="1")
            with act("inner", subject="part:7", by=who) as b:
                b.update(item, maker="X")
            assert b.now == a.now
            a.update(item, maker="Y")
        outer, inner = events()[0].facts, events("part:7")[0].facts
        assert inner["within"] == outer["act"]
        assert "writes" not in inner
        assert [next(iter(w.get("values", {"new": ""}).values())) for w in outer["writes"]] == ["", "X", "Y"]

    def test_on_the_same_subject_comes_first_in_the_chain(self, who: Who) -> None:
        with act("outer", subject=AXLE, by=who), act("inner", subject=AXLE, by=who):
            pass
        assert [event.kind for event in events()] == ["inner", "outer"]
        assert bytes(events()[1].previous) == bytes(events()[0].hash)

    @pytest.mark.parametrize("demo", [False, True])
    def test_that_meets_a_chain_which_moved_on_moves_the_time_on(self, who: Who, settings: Any, demo: bool) -> None:
        settings.DEMO = demo
        with act("outer", subject=AXLE, by=who) as a:
            later = a.now + timedelta(milliseconds=3)
            Head.objects.create(pk="counter:tags", sequence=4, hash=bytes(32), at=later)
            with act("inner", subject=AXLE, by=who, also=("counter:tags",)) as b:
                assert b.now >= later
        inner, outer = events()
        (counted,) = events("counter:tags")
        assert a.now < inner.at == counted.at == outer.at == b.now
        assert [event.facts["at"] for event in (inner, counted, outer)] == [instant(b.now)] * 3

    def test_control_whose_chain_did_not_move_keeps_the_outer_time(self, who: Who) -> None:
        with act("outer", subject=AXLE, by=who) as a:
            Head.objects.create(pk="counter:tags", sequence=4, hash=bytes(32), at=a.now)
            with act("inner", subject=AXLE, by=who, also=("counter:tags",)):
                pass
        assert [event.at for event in events()] == [a.now, a.now]

    def test_a_given_past_time_does_not_move(self, who: Who) -> None:
        """The demo tells the order in which things happened; what does not fit is a mistake of the story."""
        then = datetime(2025, 3, 1, 8, 0, tzinfo=UTC)
        empty("counter:tags", who, then + timedelta(seconds=1))
        with (
            pytest.raises(Refusal, match="cannot follow"),
            act("outer", subject=AXLE, by=who, now=then),
            act("inner", subject="counter:tags", by=who),
        ):
            pass
        assert not events()

    def test_refused_and_caught_takes_back_its_rows_events_and_positions(self, who: Who) -> None:
        with act("outer", subject=AXLE, by=who) as a:
            try:
                with act("inner", subject=AXLE, by=who) as b, act("deeper", subject="part:7", by=who):
                    b.create(Item, kind="axle", mark="inner")
                    raise Refusal("No.")
            except Refusal:
                a.create(Item, kind="axle", mark="outer")
        (event,) = events()
        assert event.sequence == 1
        assert not events("part:7")
        assert len(event.facts["writes"]) == 1
        assert "outer" in event.facts["writes"][0]["rows"][0]
        assert list(Item.objects.values_list("mark", flat=True)) == ["outer"]

    def test_a_refusal_let_through_takes_everything_back(self, who: Who) -> None:
        with (
            pytest.raises(Refusal),
            act("outer", subject=AXLE, by=who),
            act("inner", subject="part:7", by=who),
        ):
            raise Refusal("No.")
        assert not events()
        assert not events("part:7")


class TestTime:
    def test_is_the_servers(self, who: Who) -> None:
        before = timezone.now()
        with act("x.y", subject=AXLE, by=who) as a:
            pass
        assert before <= a.now <= timezone.now()

    @override_settings(DEMO=False)
    def test_of_ones_own_is_refused_outside_the_demo(self, who: Who) -> None:
        with pytest.raises(Refusal, match="at the time it is made"):
            empty(AXLE, who, timezone.now() - timedelta(minutes=1))
        empty(AXLE, who, timezone.now())
        assert len(events()) == 1

    def test_may_be_given_in_the_demo_but_never_before_the_last_entry(self, who: Who) -> None:
        then = datetime(2025, 3, 1, 8, 0, tzinfo=UTC)
        with act("x.y", subject=AXLE, by=who, now=then):
            pass
        with pytest.raises(Refusal, match="cannot follow"):
            empty(AXLE, who, then - timedelta(microseconds=1))
        empty(AXLE, who, then)
        assert [event.at for event in events()] == [then, then]

    @override_settings(DEMO=False)
    def test_a_clock_set_back_is_borne_for_a_moment_and_refused_beyond(self, who: Who) -> None:
        with act("x.y", subject=AXLE, by=who):
            pass
        ahead = timezone.now() + timedelta(seconds=3)
        Head.objects.filter(pk=AXLE).update(at=ahead, sequence=2)
        with act("x.y", subject=AXLE, by=who) as a:
            assert a.now == ahead
        Head.objects.filter(pk=AXLE).update(at=ahead + timedelta(minutes=1), sequence=4)
        with pytest.raises(Refusal, match="clock"), act("x.y", subject=AXLE, by=who):
            pass


class TestJob:
    def test_is_written_with_the_act_and_only_once_for_a_key(self, who: Who) -> None:
        for _ in range(2):
            with act("x.y", subject=AXLE, by=who) as a:
                a.job("certificate.render", key="certificate:12:1", argument={"axle": 12})
        (job,) = Job.objects.all()
        assert (job.kind, job.argument, job.state) == ("certificate.render", {"axle": 12}, "waiting")


def test_a_signature_goes_through_an_act(who: Who) -> None:
    assert who.person is not None
    with act("hold.signed", subject=AXLE, by=who) as a:
        a.create(Signature, person=who.person, terminal=who.terminal, meaning="checked", at=a.now)
    assert events()[0].facts["writes"][0]["insert"] == "record.signature"


def test_the_system_itself_has_no_name(db: None) -> None:
    with act("x.y", subject=AXLE, by=SYSTEM) as a:
        assert isinstance(a.id, uuid.UUID)
    assert events()[0].facts["person"] == ""
    assert events()[0].person is None
