"""The role that the web server and the workers connect as; see shop/record/roles.py."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection, transaction

from shop.record.roles import grants, login


class Command(BaseCommand):
    help = "Print, or with --apply give, what the application's own PostgreSQL role may do (after every migration)."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("role", help="name of the role, such as axlebook_app")
        parser.add_argument(
            "--apply", action="store_true", help="run the statements; the connection must be the owner's"
        )
        parser.add_argument("--password-file", type=Path, help="with --apply: make the role, with the password in here")

    def handle(self, *args: Any, role: str, **options: Any) -> None:
        if connection.vendor != "postgresql":
            raise CommandError("Roles are PostgreSQL's: this installation runs on an embedded database.")
        try:
            statements = list(grants(role))
        except ValueError as error:
            raise CommandError(str(error)) from error
        if not options["apply"]:
            self.stdout.write("\n".join(f"{statement};" for statement in statements))
            return
        file: Path | None = options["password_file"]
        password = file.read_text().strip() if file is not None else ""
        if file is not None and not password:
            raise CommandError(f"{file} holds no password.")
        with transaction.atomic(), connection.cursor() as cursor:
            if password:
                cursor.execute(login(role, password))
            for statement in statements:
                cursor.execute(statement)
        self.stdout.write(f"{role} may read and add to the record, and no more.")
