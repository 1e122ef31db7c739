"""Rebuild every recorded table from the ledger in a throw-away database and compare. Exit status 1 on a
difference."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.record.replay import inspect, recorded_models


class Command(BaseCommand):
    help = "Check that the tables say what the ledger says."

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("--check", action="store_true", help="compare and change nothing (the only mode)")

    def handle(self, *args: Any, **options: Any) -> None:
        found = inspect()
        for said in found.findings:
            self.stdout.write(f"  {said}")
        if not found.sound:
            raise CommandError("The tables do not say what the ledger says.")
        self.stdout.write(f"{len(recorded_models())} tables agree with the {found.events} events of the ledger.")
