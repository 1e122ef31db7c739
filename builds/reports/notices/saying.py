"""What goes to every consignee names nobody: no axle, no order, no customer, nobody of the shop."""

from __future__ import annotations

import re
from collections.abc import Iterator

from django.conf import settings

from builds.models import Order, Shipment
from shop import entries
from shop.errors import Refusal
from shop.models import Customer, Person

#: Shorter names would be found in plain words.
SHORTEST_NAME = 4
_ROAD = re.compile(r"road[\s-]*worth|safe to (drive|use)|fit for the road", re.IGNORECASE)


def require_plain(text: str, name: str, *, longest: int, field: str) -> str:
    """One line of plain words. Refuses one that names an axle, an order, a customer or a person, or that says an axle
    may go on the road: the same words go to everybody."""
    found = entries.line(text, name, longest=longest, field=field)
    serial = re.search(rf"\b{re.escape(settings.SERIAL_PREFIX)}-\d\d-\d{{4}}\b", found, re.IGNORECASE)
    if serial is not None:
        raise Refusal(
            f"The {name} names {serial[0]}. It goes to every consignee: leave serials out, each letter has its own.",
            field=field,
        )
    if _ROAD.search(found):
        raise Refusal(
            f"The {name} speaks of the road. No page here says that an axle may go on it or not: leave it out.",
            field=field,
        )
    for word in _names():
        if re.search(rf"(?<!\w){re.escape(word)}(?!\w)", found, re.IGNORECASE):
            raise Refusal(f"The {name} names {word}. It goes to every consignee: leave names out.", field=field)
    return found


def _names() -> Iterator[str]:
    people = [name for full in Person.objects.values_list("name", flat=True) for name in (full, *full.split()[-1:])]
    lists = (
        people,
        Customer.objects.values_list("name", flat=True),
        Shipment.objects.values_list("consignee", flat=True).distinct(),
        Order.objects.values_list("number", flat=True),
    )
    for names in lists:
        yield from (name for name in names if len(name) >= SHORTEST_NAME)
