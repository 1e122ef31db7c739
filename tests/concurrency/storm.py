"""A process that writes until it is killed, and says after each act that it was acknowledged. Run as a
program."""

from __future__ import annotations

import sys

import django

django.setup()

# The models can only be imported once Django is set up.
from django.db import transaction  # noqa: E402

from shop.models import Item  # noqa: E402
from shop.record.act import act  # noqa: E402
from shop.record.who import SYSTEM  # noqa: E402


def write(number: int, *, whole: bool) -> None:
    if whole:
        with act("reading.entered", subject="axle:storm", by=SYSTEM) as a:
            a.create_many(Item, [{"kind": "part", "mark": f"{number}-{place}"} for place in range(3)])
            a.job("test", key=f"storm:{number}")
        return
    # The control: the same rows, each on its own.
    for place in range(3):
        with transaction.atomic():
            Item.objects.create(kind="part", mark=f"{number}-{place}")


if __name__ == "__main__":
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    for number in range(first, first + 100_000):
        write(number, whole=sys.argv[1] == "whole")
        print(number, flush=True)
