"""Make a signing key and put it in force; the one before it ends and is kept in the register."""

from __future__ import annotations

import argparse
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from shop.record import keys
from shop.record.models import SigningKey
from shop.record.who import SYSTEM


class Command(BaseCommand):
    help = "Make a signing key for the ledger or for certificates."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("purpose", choices=SigningKey.Purpose.values)
        parser.add_argument("--if-none", action="store_true", help="do nothing when one is in force")

    def handle(self, *args: Any, purpose: str, if_none: bool, **options: Any) -> None:
        if if_none and SigningKey.objects.filter(purpose=purpose, valid_to=None).exists():
            return
        made = keys.make_key(purpose, by=SYSTEM)
        self.stdout.write(
            f"{made.name} is in force. Its private half is {settings.KEYS_DIR}/{made.name}.pem: "
            "back it up apart from the database, and show it to nobody."
        )
