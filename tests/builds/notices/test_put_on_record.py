"""A notice put on record: the list frozen under its hash, every touched thing in the house stopped, nothing else."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from builds.actions.claiming import take_up
from builds.actions.deciding import Decided, decide
from builds.actions.kitting import kit_part
from builds.actions.noticing import Says, put_on_record
from builds.errors import NotFree
from builds.models import Axle, Notice, NoticeLine, NoticeRevision, Phase, RedTag, Revision
from builds.reports.facts import standing
from builds.reports.notices.frozen import frozen_rows
from builds.reports.reach.question import Typed
from shop.errors import Refusal
from shop.models import Item, Place, Role, Where
from shop.record import triggers
from shop.record.models import Blob, Event
from shop.record.verify import verify
from shop.record.who import Who
from tests.builds.floor import axle, bar, drum, grant, heat, lot, part, person, released
from tests.builds.notices.shop import with_bearing

pytestmark = pytest.mark.django_db
SAYS = Says("The mill reports too little molybdenum in one melt.", "Please do not put the axle under load. Call us.")


@pytest.fixture
def revision() -> Revision:
    return released()


@pytest.fixture
def quality() -> Who:
    return person(Role.QUALITY)


def put(by: Who, cause: str, says: Says = SAYS, **more: str) -> Notice:
    return put_on_record(typed=Typed(cause, **more), says=says, by=by)  # type: ignore[arg-type]


def stopped() -> set[str]:
    return set(RedTag.objects.open().values_list("item__mark", flat=True))


def test_everything_in_the_house_is_stopped_at_once_and_nothing_else(revision: Revision, quality: Who) -> None:
    bad, good = lot("bearing", "PB-1"), lot("bearing", "PB-2")
    touched, clean = with_bearing(revision, "PB-1"), with_bearing(revision, "PB-2")
    notice = put(quality, "PB-1")
    assert stopped() == {"PB-1", touched.serial}
    assert RedTag.objects.get(axle=touched).stops_axle
    assert Place.objects.get(pk=bad.pk).where == Where.RED_TAG
    assert Place.objects.get(pk=good.pk).where == Where.STOCK
    assert all(f"Notice {notice.number}: The mill" in tag.cause for tag in RedTag.objects.all())
    states = {serial: {view.state for view in standing(one, notice.opened_at).slots.values()} for serial, one in (
        ("touched", touched), ("clean", clean))}  # fmt: skip
    assert "stopped" in states["touched"]
    assert "ready" not in states["touched"]
    assert "stopped" not in states["clean"]


def test_no_station_takes_the_axle_up_and_no_kit_takes_the_lot(revision: Revision, quality: Who) -> None:
    lot("bearing", "PB-1")
    touched = with_bearing(revision, "PB-1")
    other = axle(revision)
    put(quality, "PB-1")
    with pytest.raises(Refusal, match="red tag"):
        take_up(bench=touched, key=touched.plan.slots[0].key, by=person(*Role))
    with pytest.raises(NotFree, match="red tag"):
        kit_part(axle=other, scan="PB-1", by=person(Role.RECEIVER))


def test_a_melt_its_bars_and_a_drum_are_stopped(revision: Revision, quality: Who) -> None:
    steel = heat("Q1")
    bar("BAR-1", steel)
    bar("BAR-9")
    opened = drum("GR-1-A")
    put(quality, "~H:Q1")
    assert stopped() == {"Q1", "BAR-1", "BAR-9"}  # the unmarked bar cannot be proven clean
    put(quality, "GR-1")
    assert stopped() == {"Q1", "BAR-1", "BAR-9", "GR-1", opened.item.mark}


def test_a_part_in_a_kit_leaves_it(revision: Revision, quality: Who) -> None:
    part("shaft", "S-1", maker="AGF")
    kit_part(axle=axle(revision), scan="S-1", by=person(Role.RECEIVER))
    put(quality, "S-1")
    assert Place.objects.get(item__mark="S-1").where == Where.RED_TAG


def test_an_axle_that_is_gone_is_followed_and_not_stopped(revision: Revision, quality: Who) -> None:
    lot("bearing", "PB-1")
    away = with_bearing(revision, "PB-1")
    Axle.objects.filter(pk=away.pk).update(phase=Phase.GONE, closed_at=timezone.now())
    notice = put(quality, "PB-1")
    line = NoticeLine.objects.get(notice=notice, axle=away)
    assert (line.spot, line.is_axle, line.stops.count()) == ("shipped", True, 0)
    assert line.customer == away.line.order.customer
    assert stopped() == {"PB-1"}


def test_the_list_is_frozen_under_its_hash(revision: Revision, quality: Who) -> None:
    lot("bearing", "PB-1")
    touched = with_bearing(revision, "PB-1")
    notice = put(quality, "PB-1", day_from=None)
    (kept,) = notice.revisions.all()
    content = bytes(Blob.objects.get(pk=kept.sha256).content)
    assert hashlib.sha256(content).hexdigest() == kept.sha256
    told = json.loads(content)
    assert (told["notice"], told["revision"], told["cause"]) == (notice.number, 1, "lot PB-1")
    assert told["asked"] == notice.asked
    rows = frozen_rows(kept)
    assert {(row.spot, row.mark) for row in rows} == {("floor", touched.serial), ("stock", "PB-1")}
    assert next(row for row in rows if row.is_axle).ways
    assert Event.objects.get(kind="notice.opened").subject == notice.subject


def test_numbers_run_on(revision: Revision, quality: Who) -> None:
    lot("bearing", "PB-1")
    assert [put(quality, "PB-1").number, put(quality, "PB-1").number] == [1, 2]
    assert RedTag.objects.filter(item__mark="PB-1").count() == 2  # each notice is decided for itself


def test_sixty_things_are_stopped_by_as_many_statements_as_ten(revision: Revision, quality: Who) -> None:
    """Each has a red tag with a number of its own, and one event in its own chain, which stands within the notice's."""
    counts = []
    for size in (10, 60):
        with transaction.atomic():
            steel = heat("Q1")
            for number in range(size):
                bar(f"BAR-{number}", steel)
            with CaptureQueriesContext(connection) as asked:
                notice = put(quality, "~H:Q1")
            counts.append(len([one for one in asked.captured_queries if "UPDATE" not in one["sql"][:6]]))
            tags = RedTag.objects.order_by("number")
            assert [tag.number for tag in tags] == list(range(1, size + 2))
            events = Event.objects.filter(kind="tag.opened", subject__startswith="piece:")
            assert {event.facts["notes"]["item"] for event in events} == {f"BAR-{number}" for number in range(size)}
            opened = Event.objects.get(kind="notice.opened")
            assert {event.facts["within"] for event in events} == {str(opened.act)}
            assert notice.lines.count() == size + 1
            assert Event.objects.filter(subject="counter:red-tags").count() == 1
            assert verify().findings == []
            transaction.set_rollback(True)
    assert counts[0] == counts[1]


@pytest.mark.parametrize("role", [Role.OFFICE, Role.ASSEMBLER, Role.INSPECTOR])
def test_who_puts_none_on_record_is_refused(revision: Revision, role: Role) -> None:
    lot("bearing", "PB-1")
    with pytest.raises(Refusal, match="This needs"):
        put(person(role), "PB-1")
    assert (Notice.objects.count(), stopped()) == (0, set())


def test_a_list_of_nothing_is_no_notice(revision: Revision, quality: Who) -> None:
    idle = person(Role.ASSEMBLER)
    assert idle.person is not None
    with pytest.raises(Refusal, match="Nothing on record was touched"):
        put(quality, idle.person.code, kind="person")


@pytest.mark.parametrize(
    ("says", "field", "said"),
    [
        (Says("", "Call us."), "found", "is empty"),
        (Says("Too soft.", " "), "ask", "is empty"),
        (Says("x" * 301, "Call us."), "found", "at most 300"),
        (Says("Too soft.", "Axle TBK-25-0143-D is to come back."), "ask", "leave serials out"),
        (Says("Too soft.", "It is roadworthy all the same."), "ask", "speaks of the road"),
        (Says("Too soft.", "Your axle is safe to drive."), "ask", "speaks of the road"),
        (Says("As in the axles of Wet Meadow Hire.", "Call us."), "found", "names Wet Meadow Hire"),
        (Says("Weldwright did it.", "Call us."), "found", "names Weldwright"),
        (Says("Seen on order O-77x4.", "Call us."), "found", "names O-77x4"),
    ],
)
def test_what_everybody_reads_names_nobody(revision: Revision, says: Says, field: str, said: str) -> None:
    by = person(Role.QUALITY)
    made = with_bearing(revision, lot("bearing", "PB-1").item.mark)
    order = made.line.order
    type(order).objects.filter(pk=order.pk).update(number="O-77x4")
    type(order.customer).objects.filter(pk=order.customer_id).update(name="Wet Meadow Hire")
    assert by.person is not None
    type(by.person).objects.filter(pk=by.person.pk).update(name="Ada Weldwright")
    with pytest.raises(Refusal, match=said) as refused:
        put(by, "PB-1", says)
    assert refused.value.field == field
    assert (Notice.objects.count(), stopped()) == (0, set())
    assert put(by, "PB-1").number == 1  # the control: the same notice in plain words


def test_a_stop_is_lifted_by_its_own_signed_decision(revision: Revision, quality: Who) -> None:
    lot("bearing", "PB-1")
    touched = with_bearing(revision, "PB-1")
    put(quality, "PB-1")
    engineer = person(Role.ENGINEER)
    decided = Decided("use_as_is", "the bearing was measured")
    decide(tag=RedTag.objects.get(axle=touched), decided=decided, grant=grant(engineer), by=engineer)
    assert stopped() == {"PB-1"}


@contextmanager
def unguarded() -> Iterator[None]:
    """PostgreSQL alters no table that a deferred key of this transaction still waits for."""
    connection.check_constraints()
    with triggers.lifted(connection.alias):
        yield
        connection.check_constraints()


def _broken() -> list[Any]:
    row = NoticeLine.objects.all()[0]
    return [
        lambda: NoticeLine.objects.filter(pk=row.pk).update(spot="shipped"),
        lambda: NoticeLine.objects.filter(pk=row.pk)._raw_delete(connection.alias),
        lambda: NoticeRevision.objects.update(sha256="0" * 64),
        lambda: Notice.objects.update(found="nothing"),
        lambda: Blob.objects.filter(pk=NoticeRevision.objects.get().sha256).update(content=b"{}"),
    ]


def test_nothing_of_it_is_changed_in_silence(revision: Revision, quality: Who) -> None:
    lot("bearing", "PB-1")
    put(quality, "PB-1")
    for break_it in _broken():
        with pytest.raises(IntegrityError), transaction.atomic():
            break_it()


def test_control_without_the_guards_each_would_change_it(revision: Revision, quality: Who) -> None:
    lot("bearing", "PB-1")
    put(quality, "PB-1")
    for break_it in _broken():
        with unguarded():
            kept = transaction.savepoint()
            assert break_it() == 1
            transaction.savepoint_rollback(kept)


def test_a_list_that_does_not_match_its_hash_is_not_read(revision: Revision, quality: Who) -> None:
    lot("bearing", "PB-1")
    (kept,) = put(quality, "PB-1").revisions.all()
    with unguarded():
        Blob.objects.filter(pk=kept.sha256).update(content=b'{"rows":[]}')
    with pytest.raises(Refusal, match="does not match its fingerprint"):
        frozen_rows(kept)
    assert Item.objects.filter(mark="PB-1").exists()
