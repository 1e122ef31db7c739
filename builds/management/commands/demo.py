"""Fill an empty database with the invented shop, by the same actions as the pages, and leave its log-ins."""

from __future__ import annotations

import gc
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from builds.models import Order
from builds.scenario.opening import open_house
from builds.scenario.people import log_ins
from builds.scenario.story import Story
from builds.scenario.telling import tell

LOGINS = "demo.txt"


def told(story: Story) -> str:
    """What the start prints: who there is, and how to get in."""
    lines = [
        "",
        "The demo shop's people (all invented). At a desk: code and password. At a terminal: badge, then PIN.",
        "",
    ]
    rows = [("code", "password", "badge", "PIN", "name", "roles")]
    rows += [(one.code, one.password, f"~B:{one.badge}", one.pin, one.name, one.roles) for one in log_ins()]
    widths = [max(len(row[column]) for row in rows) for column in range(5)]
    lines += ["  ".join([*(row[column].ljust(widths[column]) for column in range(5)), row[5]]).rstrip() for row in rows]
    lines += [
        "",
        "A browser becomes a terminal on the page Terminals (sign in as dovie).",
        f"Customer's link of O-2511: /yours/{story.link}/",
        "",
    ]
    return "\n".join(lines) + "\n"


class Command(BaseCommand):
    help = "Fill an empty database with the demo shop."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--quiet", action="store_true", help="tell nothing while filling")

    def handle(self, *args: Any, quiet: bool, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("A real shop is configured here: the demo is not loaded into it.")
        if Order.objects.exists():
            raise CommandError("This database is not empty: the demo fills an empty one only.")
        # The loading makes millions of small objects and keeps few; looking for cycles would cost a tenth of it.
        gc.disable()
        with transaction.atomic():
            house = open_house(timezone.now())
        house.say = (lambda _: None) if quiet else self.stdout.write
        story = Story(house)
        tell(story)
        settings.DATA_DIR.mkdir(parents=True, exist_ok=True)
        (settings.DATA_DIR / LOGINS).write_text(told(story), encoding="utf-8")
