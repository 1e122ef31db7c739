"""Walk the whole record and say what does not hold. Exit status 1 when anything was found."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.record.checks import unsafe_settings
from shop.record.verify import inspect


class Command(BaseCommand):
    help = "Walk chains, heads, tree, checkpoints and guards; name the first place that does not hold."

    def handle(self, *args: Any, **options: Any) -> None:
        found = inspect()
        speed = int(found.events / float(found.seconds)) if found.seconds else 0
        self.stdout.write(
            f"{found.events} events in {found.chains} chains walked in {found.seconds} s ({speed} a second)."
        )
        for said in [*found.findings, *unsafe_settings("default")]:
            self.stdout.write(f"  {said}")
        if not found.sound:
            raise CommandError("The record does not hold. Stop work on what is named above and call the manager.")
        self.stdout.write("The record holds.")
