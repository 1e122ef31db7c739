"""Throw-away PostgreSQL and Redis for the tests: free loopback ports, temporary folders, gone afterwards."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg
import redis

START_S = 30.0
HOST = "127.0.0.1"
CHROMIUM_NAMES = ("chromium", "chromium-browser")


def postgresql_programs() -> Path | None:
    """The folder of initdb and postgres; Debian keeps one for each version, off the search path."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[4]))
    if found:
        return found[-1].parent
    initdb = shutil.which("initdb")
    return Path(initdb).resolve().parent if initdb else None


def redis_program() -> str | None:
    return shutil.which("redis-server")


def chromium_program() -> str | None:
    return next((path for path in map(shutil.which, CHROMIUM_NAMES) if path), None)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        port: int = probe.getsockname()[1]
    return port


def wait_until(ready: Callable[[], bool], process: subprocess.Popen[bytes], log: Path) -> None:
    end = time.monotonic() + START_S
    while time.monotonic() < end:
        if process.poll() is not None:
            break
        if ready():
            return
        time.sleep(0.05)
    raise RuntimeError(f"{process.args!r} did not start:\n{log.read_text(errors='replace')[-3000:]}")


def stop(process: subprocess.Popen[bytes], number: signal.Signals) -> None:
    if process.poll() is None:
        process.send_signal(number)
    try:
        process.wait(timeout=15)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def server_folder(user: str | None, kept: Path | None = None) -> Path:
    """A folder the server's user owns; short, because a socket path has little room."""
    folder = Path(tempfile.mkdtemp(prefix="axlebook-db-")) if kept is None else kept
    folder.mkdir(parents=True, exist_ok=True)
    if user:
        shutil.chown(folder, user, user)
    return folder


@contextmanager
def postgresql(*, durable: bool = False, kept: Path | None = None) -> Iterator[str]:
    """The address of a new, empty database. Not durable, flushes to disk are off: for speed only.

    `kept`: a folder that is filled at first, used as it stands the next time, and left there when the server stops.
    """
    programs = postgresql_programs()
    if programs is None:
        raise RuntimeError("PostgreSQL is not installed (Debian: postgresql).")
    # The server refuses to run as root.
    user = "postgres" if os.geteuid() == 0 else None
    folder = server_folder(user, kept)
    data, log = folder / "data", folder / "log"
    account: dict[str, Any] = {"user": user, "group": user, "extra_groups": []} if user else {}
    initdb = [str(programs / "initdb"), "-D", str(data), "-U", "axlebook", "--no-sync"]
    initdb += ["-E", "UTF8", "--locale=C.UTF-8", "-A", "trust"]
    if not data.exists():
        subprocess.run(initdb, check=True, capture_output=True, cwd=folder, **account)
    port = free_port()
    values = {"listen_addresses": HOST, "unix_socket_directories": str(folder), "max_connections": "100"}
    if not durable:
        values |= {"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off"}
        # Tables of a few rows that nobody has counted look dear: the server compiled what it then ran once.
        values["jit"] = "off"
        # A vacuum in the middle of a test sees none of its rows, for they are never committed, and writes down that the
        # tables are empty: what joins seven of them was then planned without an index and ran for minutes.
        values["autovacuum"] = "off"
    settings = [part for name, value in values.items() for part in ("-c", f"{name}={value}")]
    with log.open("wb") as output:
        process = subprocess.Popen(
            [str(programs / "postgres"), "-D", str(data), "-p", str(port), *settings],
            stdout=output, stderr=output, cwd=folder, start_new_session=True, **account,
        )  # fmt: skip
    address = f"postgresql://axlebook@{HOST}:{port}"

    def ready() -> bool:
        try:
            with psycopg.connect(f"{address}/postgres", autocommit=True) as connection:
                connection.execute("CREATE DATABASE axlebook")
            return True
        except psycopg.errors.DuplicateDatabase:
            return kept is not None
        except psycopg.OperationalError:
            return False

    try:
        wait_until(ready, process, log)
        yield f"{address}/axlebook"
    finally:
        stop(process, signal.SIGINT)
        if kept is None:
            shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def redis_server() -> Iterator[str]:
    program = redis_program()
    if program is None:
        raise RuntimeError("Redis is not installed (Debian: redis-server).")
    folder = Path(tempfile.mkdtemp(prefix="axlebook-redis-"))
    log = folder / "log"
    port = free_port()
    options = ["--port", str(port), "--bind", HOST, "--dir", str(folder), "--appendonly", "yes", "--save", ""]
    with log.open("wb") as output:
        process = subprocess.Popen(
            [program, *options], stdout=output, stderr=output, cwd=folder, start_new_session=True
        )

    def ready() -> bool:
        try:
            with redis.Redis(host=HOST, port=port) as client:
                return bool(client.ping())
        except redis.ConnectionError:
            return False

    try:
        wait_until(ready, process, log)
        yield f"redis://{HOST}:{port}"
    finally:
        stop(process, signal.SIGTERM)
        shutil.rmtree(folder, ignore_errors=True)


def postgresql_version(address: str) -> str:
    with psycopg.connect(address) as connection:
        number = connection.info.server_version
    return f"{number // 10000}.{number % 10000}"
