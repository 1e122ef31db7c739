"""A backup of everything that this installation keeps, and the proof that it can be used again.

The database is copied by its own backup call, which gives one moment of it while the shop is at work; a file copied
under a running SQLite does not. Uploads and certificates lie in the database. Beside it stand the public keys and a
list of what was written with its SHA-256. The private keys are not in it: they are kept apart from the database.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import sqlite3
import subprocess
from collections.abc import Iterator, Mapping
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.postgresql.client import DatabaseClient
from django.db.models import Max
from psycopg.pq import Conninfo

from shop.errors import Refusal
from shop.record.models import Checkpoint, Event, SigningKey

LIST, KEYS = "backup.json", "public-keys.pem"
DATABASE = {"sqlite": "axlebook.sqlite3", "postgresql": "axlebook.dump"}
CHUNK = 1 << 20
#: Named for each program by itself, and meant for the shop's own statements alone.
_NOT_KEPT = ("dbname", "options")


def backup(into: Path, now: datetime) -> Path:
    """Write a backup into a new folder there, named after the moment (UTC), and give its path.

    It bears that name only when all of it is on the disk: a half one is never taken for a whole. Raises Refusal where
    it cannot be written.
    """
    name = f"axlebook-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    whole, part = into / name, into / f"{name}.part"
    if whole.exists() or part.exists():
        raise Refusal(f"{whole} is there already. Wait a second, or choose another folder.")
    try:
        part.mkdir(mode=0o700, parents=True)
        vendor = connections[DEFAULT_DB_ALIAS].vendor
        told = _told(vendor, now)  # before the copy: the shop goes on, and the copy holds at least this
        copy = part / DATABASE[vendor]
        _sqlite(copy) if vendor == "sqlite" else _postgresql(copy)
        keys = SigningKey.objects.order_by("pk").values_list("name", "public")
        (part / KEYS).write_text("".join(f"{key}\n{public}" for key, public in keys), encoding="ascii")
        told["files"] = {path.name: _sha256(path) for path in sorted(part.iterdir())}
        (part / LIST).write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
        for path in (*part.iterdir(), part):
            _flush(path)
        part.rename(whole)
        _flush(into)
    except (OSError, sqlite3.Error) as problem:
        raise Refusal(f"The backup was not written: {problem}. Look at the folder and its room.") from problem
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return whole


def read_list(folder: Path) -> dict[str, Any]:
    """What the backup says of itself. Raises Refusal when there is none, or a file of it is not as it was written."""
    try:
        told: dict[str, Any] = json.loads((folder / LIST).read_text("utf-8"))
        files: Mapping[str, str] = told["files"]
    except (OSError, ValueError, KeyError) as problem:
        raise Refusal(f"{folder} holds no backup: {LIST} is missing or cannot be read.") from problem
    for name, digest in files.items():
        path = folder / Path(name).name
        if not path.is_file():
            raise Refusal(f"{name} is missing from the backup in {folder}.")
        if _sha256(path) != digest:
            raise Refusal(f"{name} in {folder} is not as it was written. Use another backup, and look at the disk.")
    return told


def client(settings: Mapping[str, Any], program: str, *options: str) -> str:
    """Run a program of PostgreSQL's on this server, reached as Django's own client reaches it (passwords and
    certificates in the environment), and give what it prints. Raises Refusal when it is missing or says no."""
    # Between its own program and the database's name stands how the server is reached.
    (_, *reached, _), environment = DatabaseClient.settings_to_cmd_args_env({**settings}, [])
    # Of the options, Django's client hands on those of the certificates only.
    kept = {variable: value for _, variable, value in address_options(settings) if variable}
    return run([program, *reached, *options], kept | (environment or {}))


def address_options(settings: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """What the address says of the connection beside user, server and name, such as sslmode: each option's name, the
    variable in which PostgreSQL's programs read it ("" where there is none), and its value."""
    for known in Conninfo.get_defaults():
        name = known.keyword.decode()
        if name in settings["OPTIONS"] and name not in _NOT_KEPT:
            yield name, known.envvar.decode() if known.envvar else "", str(settings["OPTIONS"][name])


def run(command: list[str], environment: Mapping[str, str]) -> str:
    """What the program prints. Raises Refusal when it is missing or says no."""
    try:
        done = subprocess.run(command, env={**os.environ, **environment}, capture_output=True, text=True, check=False)
    except FileNotFoundError as problem:
        raise Refusal(
            f"{command[0]} is not on this machine. Install PostgreSQL's client programs in the server's version"
            " (Debian: postgresql-client)."
        ) from problem
    if done.returncode:
        said = (done.stderr.strip().splitlines() or ["it gave no reason"])[0]
        raise Refusal(f"{command[0]} did not do it: {said}")
    return done.stdout.strip()


def _sqlite(copy: Path) -> None:
    here = connections[DEFAULT_DB_ALIAS]
    # A connection of its own: inside a transaction of this one the copy would wait for itself.
    address = f"file://{quote(str(Path(here.settings_dict['NAME']).absolute()))}?mode=ro"
    with closing(sqlite3.connect(address, uri=True)) as source, closing(sqlite3.connect(copy)) as target:
        source.backup(target)


def _postgresql(copy: Path) -> None:
    settings = connections[DEFAULT_DB_ALIAS].settings_dict
    client(settings, "pg_dump", "--format=custom", "--no-owner", f"--file={copy}", str(settings["NAME"]))


def _told(vendor: str, now: datetime) -> dict[str, Any]:
    newest = Checkpoint.objects.order_by("-size").first()
    return {
        "made": now.astimezone(UTC).isoformat(timespec="seconds"),
        "database": vendor,
        "last_event": Event.objects.aggregate(last=Max("pk"))["last"] or 0,
        "checkpoint": newest.note if newest is not None else "",
    }


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while some := file.read(CHUNK):
            digest.update(some)
    return digest.hexdigest()


def _flush(path: Path) -> None:
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
