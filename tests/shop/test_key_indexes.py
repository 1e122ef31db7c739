"""No table keeps two indexes where one of them begins with the other."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.apps import apps
from django.db import connection, models
from django.db.migrations.loader import MigrationLoader

from measurements.models import Reading
from shop.models.key_indexes import DropKeyIndex, key_index

OURS = ("shop", "record", "measurements", "builds")


def beginnings(model: type[models.Model]) -> set[str]:
    """The fields that an index or a unique constraint over the whole table begins with."""
    meta = model._meta
    whole = [one for one in [*meta.indexes, *meta.constraints] if getattr(one, "condition", None) is None]
    return {fields[0].lstrip("-") for one in whole if (fields := getattr(one, "fields", ()))}


def doubled(model: type[models.Model]) -> set[str]:
    """The references whose own index another one of the table begins with."""
    keys = [one for one in model._meta.concrete_fields if isinstance(one, models.ForeignKey) and not one.unique]
    return {one.name for one in keys if one.db_index} & beginnings(model)


def ours() -> Iterator[type[models.Model]]:
    return (model for model in apps.get_models() if model._meta.app_label in OURS)


def test_no_reference_has_an_index_that_another_stands_in_for() -> None:
    assert {model._meta.label: found for model in ours() if (found := doubled(model))} == {}


def test_a_doubled_index_would_be_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Reading._meta.get_field("sheet"), "db_index", True)
    assert doubled(Reading) == {"sheet"}


@pytest.mark.django_db
def test_the_database_has_the_indexes_that_the_models_name() -> None:
    """A dropped one is gone, and every other reference has its own."""
    wanted, gone, kept, editor = set(), set(), set(), connection.schema_editor()
    with connection.cursor() as cursor:
        for model in ours():
            kept |= set(connection.introspection.get_constraints(cursor, model._meta.db_table))
            for key in model._meta.concrete_fields:
                if isinstance(key, models.ForeignKey) and not key.unique:
                    (wanted if key.db_index else gone).add(key_index(editor, model, key.name).name)
    assert len(gone) > 40
    assert gone & kept == set()
    assert wanted - kept == set()


@pytest.mark.django_db(transaction=True)
def test_an_index_goes_and_comes_back() -> None:
    loader = MigrationLoader(connection)
    after = loader.project_state([("measurements", "0006_key_indexes")])
    before = loader.project_state([("measurements", "0005_gauge_uses")])
    operation = DropKeyIndex("reading", "sheet")

    def stands() -> bool:
        with connection.cursor() as cursor:
            name = key_index(connection.schema_editor(), Reading, "sheet").name
            return name in connection.introspection.get_constraints(cursor, Reading._meta.db_table)

    assert not stands()
    with connection.schema_editor() as editor:
        operation.database_backwards("measurements", editor, after, before)
    assert stands()
    with connection.schema_editor() as editor:
        operation.database_forwards("measurements", editor, before, after)
    assert not stands()
