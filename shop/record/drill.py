"""A restore drill: a backup is restored beside the shop's own database, looked through there, and taken away again.

A backup that nobody has restored is a hope. What is looked at: that every file is as it was written, that the database
can be restored, that it holds at least what stood there when the backup began, and that the whole record holds in it:
chains, tree, stored files (the certificates among them) and guards, as `manage.py verify` walks them.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import uuid
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, connections

from shop.errors import Refusal
from shop.record.backup import DATABASE, address_options, client, read_list

_LAST = "SELECT COALESCE(MAX(id), 0) FROM record_event"


@dataclass(frozen=True)
class Restored:
    """The address of a restored database, its password, and its newest event."""

    url: str
    password: str
    last_event: int


def drill(folder: Path) -> str:
    """Restore the backup in this folder, and say what `verify` says of it. Raises Refusal at the first thing that does
    not hold."""
    told = read_list(folder)
    vendor = connections[DEFAULT_DB_ALIAS].vendor
    if told["database"] != vendor:
        raise Refusal(
            f"This is a backup of {told['database']}, and here is {vendor}. Drill it where there is such one."
        )
    with _sqlite(folder) if vendor == "sqlite" else _postgresql(folder) as restored:
        if restored.last_event < told["last_event"]:
            raise Refusal(
                f"Its newest event is {restored.last_event}; {told['last_event']} stood there when it was made."
            )
        return _verified(restored)


def _verified(restored: Restored) -> str:
    given = {"AXLEBOOK_DATABASE_URL": restored.url, "AXLEBOOK_DATABASE_PASSWORD": restored.password}
    files = {f"{name}_FILE" for name in given}  # they would go before what is given here
    environment = {name: value for name, value in os.environ.items() if name not in files} | given
    done = subprocess.run(
        [sys.executable, "-m", "django", "verify", "--record-alone"],
        env=environment, cwd=settings.BASE_DIR, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode:
        said = " ".join((done.stdout + done.stderr).split())[-600:]
        raise Refusal(f"The restored record does not hold: {said}")
    return done.stdout.strip()


@contextmanager
def _sqlite(folder: Path) -> Iterator[Restored]:
    with tempfile.TemporaryDirectory(prefix="axlebook-drill-") as scratch:
        path = Path(scratch) / DATABASE["sqlite"]
        shutil.copyfile(folder / path.name, path)
        try:
            with closing(sqlite3.connect(path)) as found:
                (last,) = found.execute(_LAST).fetchone()
        except sqlite3.Error as problem:
            raise Refusal(f"The database of the backup cannot be read: {problem}.") from problem
        yield Restored(f"sqlite://{path}", "", last)


@contextmanager
def _postgresql(folder: Path) -> Iterator[Restored]:
    """In a database of its own on the same server; whoever drills must be allowed to make one."""
    here = connections[DEFAULT_DB_ALIAS].settings_dict
    name = f"axlebook_drill_{uuid.uuid4().hex[:12]}"
    client(here, "createdb", "--template=template0", f"--maintenance-db={here['NAME']}", name)
    try:
        dump = str(folder / DATABASE["postgresql"])
        client(here, "pg_restore", "--no-owner", "--exit-on-error", f"--dbname={name}", dump)
        last = client(here, "psql", "--no-psqlrc", "--tuples-only", "--no-align", f"--command={_LAST}", name)
        yield Restored(address_of(here, name), str(here["PASSWORD"]), int(last))
    finally:
        client(here, "dropdb", "--if-exists", "--force", f"--maintenance-db={here['NAME']}", name)


def address_of(settings: Mapping[str, Any], name: str) -> str:
    """The address of another database on the same server, with all that this one's says of the connection."""
    user = quote(str(settings["USER"]), safe="")
    port = f":{settings['PORT']}" if settings["PORT"] else ""
    kept = {option: value for option, _, value in address_options(settings)}
    # Before the path a folder's name would lose its capitals.
    kept |= {"host": str(settings["HOST"])} if settings["HOST"] else {}
    return f"postgresql://{user}@{port}/{quote(name, safe='')}?{urlencode(kept)}"
