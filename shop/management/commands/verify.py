"""Walk the whole record and say what does not hold. Exit status 1 when anything was found, in the record or
in the settings of the connection that keeps it."""

from __future__ import annotations

import argparse
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DEFAULT_DB_ALIAS

from shop.record.checks import unsafe_settings
from shop.record.verify import inspect


class Command(BaseCommand):
    help = "Walk chains, heads, tree, checkpoints and guards; name the first place that does not hold."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument(
            "--record-alone", action="store_true", help="leave out the settings: a restored copy is only looked at"
        )

    def handle(self, *args: Any, record_alone: bool, **options: Any) -> None:
        found = inspect()
        speed = int(found.events / float(found.seconds)) if found.seconds else 0
        self.stdout.write(
            f"{found.events} events in {found.chains} chains walked in {found.seconds} s ({speed} a second)."
        )
        unsafe = [] if record_alone else unsafe_settings(DEFAULT_DB_ALIAS)
        for said in [*found.findings, *unsafe]:
            self.stdout.write(f"  {said}")
        if not found.sound:
            raise CommandError("The record does not hold. Stop work on what is named above and call the manager.")
        if unsafe:
            raise CommandError(
                "Every chain holds, but this connection cannot keep what it is given. Mend the settings named above"
                " and verify again."
            )
        self.stdout.write("The record holds.")
