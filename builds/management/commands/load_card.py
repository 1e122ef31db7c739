"""Load an axle definition from a file, by the same actions as the upload page."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from builds.actions.releasing import definition_text, load_definition, release
from builds.errors import BrokenDefinition
from shop.errors import Refusal
from shop.models import Person
from shop.record.who import Who


class Command(BaseCommand):
    help = "Load an axle definition (TOML). Without --release it stays a draft."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("file", help="The definition file.")
        parser.add_argument("--by", required=True, help="Code of the engineer who answers for it.")
        parser.add_argument("--release", action="store_true", help="Release and freeze it at once.")

    def handle(self, *args: Any, **options: Any) -> None:
        path = Path(options["file"])
        person = Person.objects.filter(code=options["by"]).first()
        if person is None:
            raise CommandError(f"Nobody here has the code {options['by']}. Name an engineer with --by.")
        try:
            content = path.read_bytes()
        except OSError as error:
            raise CommandError(f"{path} cannot be read: {error.strerror}. Name a definition file.") from error
        try:
            self._load(content, path.name, Who(person), at_once=options["release"])
        except BrokenDefinition as broken:
            raise CommandError("\n".join([f"{path.name} was not loaded.", *broken.faults])) from broken
        except Refusal as refusal:
            raise CommandError(refusal.text) from refusal

    def _load(self, content: bytes, name: str, by: Who, *, at_once: bool) -> None:
        draft = load_definition(text=definition_text(content, name), name=name, by=by)
        if at_once:
            release(revision=draft, by=by)
        self.stdout.write(f"{draft} is {'released' if at_once else 'a draft'}.")
