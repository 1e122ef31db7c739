"""The n-th statement failing for every n, and a disk that is full: all of an act or nothing of it."""

from __future__ import annotations

import pytest
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from shop.models import Item, Place
from shop.record.act import act
from shop.record.models import Event, Head, Job, Submission
from shop.record.submission import fingerprint, keep, new_key, read_key
from shop.record.verify import verify
from shop.record.who import SYSTEM
from tests.concurrency.cut import Cut, cut_at

pytestmark = pytest.mark.django_db(transaction=True)


def whole_request(mark: str) -> None:
    """What one press does: key, act on two subjects, an inner act, rows of three tables, a job, a result."""
    key = read_key(new_key())
    assert key is not None
    with transaction.atomic():
        with act("item.moved", subject="axle:A", by=SYSTEM, also=("axle:B",)) as a:
            item = a.create(Item, kind="part", mark=mark)
            place = a.create(Place, item=item, where="stock", since=a.now)
            with act("item.tagged", subject=f"part:{mark}", by=SYSTEM) as b:
                b.update(place, where="red_tag")
            a.job("test", key=f"job:{mark}")
        keep(key, fingerprint("POST", "/", [("mark", [mark])], by=SYSTEM), {"item": item.pk}, by=SYSTEM)


def in_pieces(mark: str) -> None:
    """The control: the same rows with no transaction round them."""
    now = timezone.now()
    item = Item.objects.create(kind="part", mark=mark)
    Place.objects.create(item=item, where="stock", since=now)
    Job.objects.create(kind="test", key=f"job:{mark}", not_before=now, created=now)


def counts() -> tuple[int, ...]:
    return tuple(model.objects.count() for model in (Item, Place, Event, Head, Job, Submission))


def test_a_request_cut_at_any_statement_leaves_nothing_behind() -> None:
    whole_request("first")
    before, number = counts(), 1
    while True:
        try:
            with cut_at(number) as seen:
                whole_request(f"cut-{number}")
        except Cut:
            assert counts() == before, f"after statement {number}: {seen[-1]}"
            number += 1
        else:
            break
    assert number > 12
    assert counts() == tuple(count + more for count, more in zip(before, (1, 1, 3, 1, 1, 1), strict=True))
    assert verify().findings == []


def test_control_without_the_transaction_something_stays() -> None:
    before = counts()
    with pytest.raises(Cut), cut_at(2):
        in_pieces("cut")
    assert counts() != before


def refused_for_room(mark: str) -> str:
    try:
        whole_request(mark)
    except DatabaseError as error:
        return str(error)
    return ""


@pytest.mark.sqlite
def test_a_full_disk_refuses_whole_acts_and_work_goes_on_when_there_is_room() -> None:
    whole_request("first")
    with connection.cursor() as cursor:
        cursor.execute("VACUUM")  # pages that earlier tests left free would be room
        cursor.execute("PRAGMA page_count")
        (pages,) = cursor.fetchone()
        cursor.execute(f"PRAGMA max_page_count = {pages + 12}")
    full, last = 0, counts()
    for number in range(200):
        said = refused_for_room(f"n-{number}")
        assert said in ("", "database or disk is full")
        assert not said or counts() == last
        full, last = full + bool(said), counts()
    assert full > 10
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA max_page_count = 1073741823")
    whole_request("room again")
    assert Item.objects.filter(mark="room again").exists()
    assert verify().findings == []
