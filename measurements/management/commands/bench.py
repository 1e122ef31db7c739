"""The bench book for scripts: `manage.py bench NAME key=value ...`."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from measurements.bench.answer import Answer, Tone
from measurements.bench.book import CannotTake, Entry, given, work_out
from measurements.bench.entries import BOOK, ENTRIES


class Command(BaseCommand):
    help = "Work out an entry of the bench book. Without a name: the list; without figures: its fields."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("name", nargs="?", default="", help="The entry.")
        parser.add_argument(
            "values", nargs="*", metavar="key=value", help='A figure, with or without its unit: "16 C".'
        )
        parser.add_argument("--json", action="store_true", help="The whole answer as one line of JSON.")

    def handle(self, *args: Any, **options: Any) -> None:
        if not options["name"]:
            for one in ENTRIES:
                self.stdout.write(f"{one.name:20}{one.subject}: {one.title}")
            return
        entry = BOOK.get(options["name"])
        if entry is None:
            raise CommandError(f"The book has no {options['name']}. It has: {', '.join(BOOK)}.")
        if not options["values"]:
            self._fields(entry)
            return
        answer = _answer(entry, options["values"])
        for line in [answer.as_json()] if options["json"] else _lines(answer):
            self.stdout.write(line)
        if answer.tone is Tone.UNKNOWN:
            raise CommandError("There is no answer from these figures.", returncode=2)

    def _fields(self, entry: Entry) -> None:
        self.stdout.write(f"{entry.title}. Example checked against: {entry.checked}")
        for field in entry.fields:
            several = '; several, as "1 2 3"' if field.several else ""
            choices = f": {' | '.join(field.choices)}" if field.choices else ""
            self.stdout.write(f"  {field.key:20}{field.says}{choices}{several}")
        example = " ".join(f"{key}={shlex.quote(value)}" for key, value in entry.example.items())
        self.stdout.write(f"manage.py bench {entry.name} {example}")


def _answer(entry: Entry, values: list[str]) -> Answer:
    typed = {}
    for pair in values:
        key, equals, value = pair.partition("=")
        if not equals:
            raise CommandError(f"“{pair[:40]}” is no key=value.")
        typed[key] = value
    try:
        return work_out(entry, given(entry, typed))
    except CannotTake as cannot:
        raise CommandError("\n".join(cannot.faults.values())) from cannot


def _lines(answer: Answer) -> Iterator[str]:
    yield answer.says
    for line in answer.lines:
        other = f" ({line.other})" if line.other else ""
        note = f", {line.note}" if line.note else ""
        yield f"  {line.name}: {line.value}{other}{note}"
    yield from answer.reason
    yield from (f"  {line}" for line in answer.worked)
    yield from (f"Assumed: {line}" for line in answer.assumed)
    yield from (f"Caution: {line}" for line in answer.caution)
    if answer.source:
        yield f"Source: {answer.source}"
    if answer.validity:
        yield f"Holds for: {answer.validity}"
