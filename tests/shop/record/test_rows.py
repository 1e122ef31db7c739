"""Rows written by kept statements are the rows that the models' own `save` would have written."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, connection, models, transaction
from django.test.utils import CaptureQueriesContext

from shop.models import Item, Person, RoleHeld, Terminal
from shop.record.models import Signature, Submission
from shop.record.rows import insert, update
from tests.factories import person

pytestmark = pytest.mark.django_db
AT = datetime(2025, 11, 20, 8, 15, 30, 123456, tzinfo=UTC)


def told(row: models.Model) -> dict[str, Any]:
    fresh = type(row)._base_manager.get(pk=row.pk)
    values = {field.attname: getattr(fresh, field.attname) for field in row._meta.concrete_fields}
    return {name: bytes(value) if isinstance(value, memoryview) else value for name, value in values.items()}


def test_a_row_stands_as_its_save_would_have_put_it() -> None:
    who = person("ada")
    for made in (
        lambda: Item(kind="part", mark=f"Zoë-{uuid.uuid4().hex[:6]}"),
        lambda: Signature(person=who, terminal=None, meaning="did", at=AT),
        lambda: Submission(key=uuid.uuid4(), fingerprint=b"\x00\xff", person=who, at=AT, result={"url": "/ö", "n": 1}),
        lambda: Submission(key=uuid.uuid4(), fingerprint=b"", person=None, at=AT, result=None),
    ):
        one, other = made(), made()
        insert(one)
        other.save(force_insert=True)
        assert one.pk is not None
        assert not one._state.adding
        differs = {"id", "key", "mark"}
        assert {name: value for name, value in told(one).items() if name not in differs} == {
            name: value for name, value in told(other).items() if name not in differs
        }
        assert type(one)._base_manager.get(pk=one.pk) == one


def test_a_key_used_twice_and_a_reference_to_nothing_are_refused() -> None:
    key = uuid.uuid4()
    insert(Submission(key=key, fingerprint=b"1", person=None, at=AT, result=None))
    with pytest.raises(IntegrityError), transaction.atomic():
        insert(Submission(key=key, fingerprint=b"2", person=None, at=AT, result=None))
    with pytest.raises(ValueError, match="unsaved related object"):
        insert(RoleHeld(person=Person(code="nobody"), role="manager", valid_from=AT.date()))
    with pytest.raises(DatabaseError), transaction.atomic():
        insert(Item(kind="part", mark="x" * 500) if connection.vendor == "postgresql" else Signature(at=AT))


def test_named_columns_of_several_rows_change_and_no_others() -> None:
    ada, bo = person("ada"), person("bo")
    ada.name, bo.name, bo.code = "Ada Lovell", "Bo Ward", "never written"
    with CaptureQueriesContext(connection) as caught:
        update([(ada, ("name",)), (bo, ("name",)), (bo, ())])
    assert len(caught.captured_queries) == (1 if connection.vendor == "postgresql" else 2)
    found = dict(Person.objects.filter(pk__in=(ada.pk, bo.pk)).values_list("code", "name"))
    assert found == {"ada": "Ada Lovell", "bo": "Bo Ward"}


def test_a_row_that_is_gone_is_told_even_among_others() -> None:
    ada, gone = person("ada"), Person(pk=2**40, code="gone")
    for rows in ([(gone, ("name",))], [(ada, ("name",)), (gone, ("name",))]):
        with pytest.raises(DatabaseError), transaction.atomic():
            update(rows)


def test_a_name_that_is_no_column_is_refused() -> None:
    with pytest.raises(ValueError, match="not all are columns"):
        update([(Terminal(pk=1), ("nonsense",))])
