"""Engage the shop's first manager, who then engages everybody else on the page People."""

from __future__ import annotations

import argparse
import getpass
import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.actions.people import first_manager
from shop.errors import Refusal


class Command(BaseCommand):
    help = "Engage the first manager of an empty shop. Asks for the password, or reads its first line from a pipe."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("code", help="the person's code for ever, such as dovie")
        parser.add_argument("name", help='the full name, in quotes: "Dovie Tarn"')

    def handle(self, *args: Any, code: str, name: str, **options: Any) -> None:
        try:
            made = first_manager(code=code, name=name, password=_password())
        except Refusal as refusal:
            raise CommandError(refusal.text) from refusal
        self.stdout.write(f"{made.name} is manager. Sign in at the office with the code {made.code} and the password.")


def _password() -> str:
    """Never an argument: what is typed behind a command stands in the shell's history and the list of processes."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    first = getpass.getpass("Password (12 characters or more): ")
    if getpass.getpass("The same again: ") != first:
        raise CommandError("The two are not the same. Nothing was saved.")
    return first
