"""Ask the web server in this container whether it works; the exit code says."""

from __future__ import annotations

from typing import Any
from urllib.error import URLError
from urllib.request import Request, urlopen

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

ADDRESS = "http://127.0.0.1:8000/health/"


class Command(BaseCommand):
    help = "Ask the web server on port 8000 of this machine whether it works."
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        request = Request(ADDRESS, headers={"Host": settings.ALLOWED_HOSTS[0]})
        try:
            with urlopen(request, timeout=4) as answer:
                self.stdout.write(answer.read().decode().strip())
        except (URLError, OSError) as error:
            raise CommandError(f"The web server does not answer: {error}") from error
