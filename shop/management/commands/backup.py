"""Write a backup of everything this installation keeps into a new folder: for a nightly timer, and before an update."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from shop.errors import Refusal
from shop.record.backup import backup


class Command(BaseCommand):
    help = "Copy database and public keys into a new folder, with a list of what was written."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("into", type=Path, help="the folder that holds the backups, on another disk")

    def handle(self, *args: Any, into: Path, **options: Any) -> None:
        try:
            made = backup(into, timezone.now())
        except Refusal as refusal:
            raise CommandError(refusal.text) from refusal
        self.stdout.write(
            f"{made} is written. Now and then restore one: manage.py restore_drill {made}\n"
            "The private keys are not in it; keep them apart from it."
        )
