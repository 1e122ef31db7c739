"""Restore a backup beside the shop's database, look it through and take it away again. Exit status 1 when it fails."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.errors import Refusal
from shop.record.drill import drill


class Command(BaseCommand):
    help = "Prove that a backup can be used: files, database, and the whole record in it."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("backup", type=Path, help="the folder of one backup")

    def handle(self, *args: Any, backup: Path, **options: Any) -> None:
        try:
            said = drill(backup)
        except Refusal as refusal:
            raise CommandError(refusal.text) from refusal
        self.stdout.write(f"{said}\n{backup.name} was restored and looked through; nothing of it is left here.")
