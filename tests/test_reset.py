"""Between tests that commit nothing is left over, and the guards lie as before."""

from __future__ import annotations

import pytest
from django.contrib.contenttypes.models import ContentType
from django.db import IntegrityError, connection

from shop.models import Person, Role
from shop.record import triggers
from tests import factories, reset

pytestmark = pytest.mark.django_db(transaction=True)


def fill() -> None:
    """Guarded rows, rows that refer to each other, and a table that no guard lies on."""
    factories.person("rusk", Role.MANAGER, badge="TB-RUSK-1")
    factories.terminal()


def delete_events() -> None:
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM record_event")


def test_every_row_goes_and_the_guards_stay() -> None:
    fill()
    filled = reset.filled_tables()
    assert {"shop_person", "shop_terminal", "record_event", "record_head"} <= set(filled)
    with pytest.raises(IntegrityError):
        delete_events()
    reset.empty()
    assert reset.filled_tables() == []
    assert triggers.findings("default") == []
    assert ContentType.objects.get_for_model(Person).pk in ContentType.objects.values_list("pk", flat=True)
    fill()
    assert reset.filled_tables() == filled
    with pytest.raises(IntegrityError):
        delete_events()


def test_a_guard_that_a_test_took_away_lies_there_again() -> None:
    fill()
    triggers.lift("default")
    delete_events()
    assert triggers.findings("default")
    reset.empty()
    assert (reset.filled_tables(), triggers.findings("default")) == ([], [])


def test_nothing_to_empty_is_no_work() -> None:
    assert reset.filled_tables() == []
    reset.empty()
