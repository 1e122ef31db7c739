from __future__ import annotations

import pytest

from shop.models import Person, Station, Terminal
from shop.record.act import act
from shop.record.who import SYSTEM, Who


@pytest.fixture
def who(db: None) -> Who:
    """A person at a terminal, entered through the record like everything else."""
    with act("person.added", subject="person:cal", by=SYSTEM) as a:
        person = a.create(Person, code="cal", name="Cal Tester")
        station = a.create(Station, code="40", name="Bench")
        terminal = a.create(Terminal, code="T-40", station=station, key_hash="0" * 64, registered_at=a.now)
    return Who(person, terminal)
