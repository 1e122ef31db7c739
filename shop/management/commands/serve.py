"""Serve the shop on this machine: bring the database up to date, fill the demo, run web and worker."""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from shop.serving import BASE_DIR, HOST, answers, free_port, run_together, web_command, worker_command

# What the demo's loader leaves: badges, PINs and log-ins. Its presence says that the loading was finished.
LOGINS = "demo.txt"


def port_number(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port: give a whole number from 1 to 65535.")
    return int(text)


def django(*command: str, data: Path | None = None) -> None:
    environment = {**os.environ, **({"AXLEBOOK_DATA": str(data)} if data else {})}
    done = subprocess.run([sys.executable, "-m", "django", *command], env=environment, cwd=BASE_DIR, check=False)
    if done.returncode:
        raise CommandError(f"The demo could not be filled: `{command[0]}` failed. Nothing was kept; start again.")


def fill_demo(data: Path) -> str:
    """Make the demo shop in a folder of its own and move it into place whole; gives what there is to tell.

    A start that was interrupted half-way leaves no half-filled shop behind.
    """
    told = ""
    fresh = data.with_name(data.name + ".new")
    if data.is_dir() and any(data.iterdir()):
        aside = data.with_name(f"{data.name}.unfinished-{os.getpid()}")
        data.rename(aside)
        told = f"{data.name} held no finished demo; it is kept as {aside.name}."
    elif data.is_dir():
        data.rmdir()
    shutil.rmtree(fresh, ignore_errors=True)
    fresh.mkdir(parents=True)
    django("migrate", "--verbosity", "0", data=fresh)
    django("demo", data=fresh)
    if not (fresh / LOGINS).is_file():
        raise CommandError(f"The demo's loader left no {LOGINS}; its work is in {fresh.name}.")
    fresh.rename(data)
    return told


class Command(BaseCommand):
    help = "Serve the shop on this machine with web server and job worker."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("--port", type=port_number, default=8000, help="port to serve on (default 8000)")
        parser.add_argument("--demo", action="store_true", help="fill the demo shop first, if it is not there")

    def handle(self, *args: Any, port: int, demo: bool, **options: Any) -> None:
        if demo and not settings.DEMO:
            raise CommandError(
                "A real shop is configured here (AXLEBOOK_SECRET_KEY is set): the demo is not loaded into it."
            )
        chosen = free_port(port)
        if chosen != port:
            self.stdout.write(f"Port {port} is taken; using {chosen}.")
        address = f"http://{HOST}:{chosen}"
        if demo:
            os.environ.setdefault("AXLEBOOK_VERIFY_ADDRESS", f"{address}/verify")
            if not (settings.DATA_DIR / LOGINS).is_file():
                self.stdout.write("Filling the demo shop (once) ...")
                self.stdout.write(fill_demo(settings.DATA_DIR), ending="")
        call_command("migrate", verbosity=0)
        settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)

        def announce() -> None:
            if demo:
                self.stdout.write((settings.DATA_DIR / LOGINS).read_text(encoding="utf-8"))
            self.stdout.write(f"Axlebook is at {address}   (Ctrl-C stops it)")
            self.stdout.flush()

        code = run_together(
            [web_command(chosen), worker_command()], ready=lambda: answers(f"{address}/"), announce=announce
        )
        if code:
            raise CommandError("The web server or the worker ended by itself; both are stopped. Its reason is above.")
        self.stdout.write("Stopped.")
