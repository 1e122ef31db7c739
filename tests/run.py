"""The test command: checkers, then every test on SQLite and on PostgreSQL, then one line per engine.

python3 manage.py test                          everything; what touches no database on the first engine only
python3 manage.py test tests/shop -k badge      only these tests, on both engines, without the checkers
python3 manage.py test --engine sqlite PATH     on one engine
python3 manage.py test --keep FOLDER ...        benchmarks: load once into a folder, run against it again
"""

from __future__ import annotations

import argparse
import os
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from tests import services

BASE_DIR = Path(__file__).resolve().parent.parent
BIN = Path(sys.executable).parent
PROCESSES = "2"
# A run that hangs is ended. The engines share this time: what the first one, which has the browser's tests, may take
# of it leaves each that follows its part.
LIMIT_S, PART_S = 4800, 1500
# A benchmark may load for long.
KEPT_LIMIT_S = 4 * 3600
# Read by the settings under test, by conftest and by the generated shop: the folder in which the database stays.
KEEP = "AXLEBOOK_TEST_KEEP"
# Read by the settings under test: a benchmark measures commits that wait for the disk, as a shop's do.
DURABLE = "AXLEBOOK_TEST_DURABLE"
CHECKERS = {
    "ruff check": ["ruff", "check", "."],
    "ruff format": ["ruff", "format", "--check", "."],
    "mypy": ["mypy"],
    "import contracts": ["lint-imports", "--no-cache"],
}
NO_TESTS = 5
# Read by tests.engines: where the second engine of a whole run writes how many tests the first one ran for both.
LEFT_TO_THE_FIRST = "AXLEBOOK_TEST_LEFT_TO_THE_FIRST"


@dataclass
class Outcome:
    """What there is to say at the end."""

    lines: list[str] = field(default_factory=list)
    advice: list[str] = field(default_factory=list)
    failed: bool = False


def in_ci() -> bool:
    return os.environ.get("CI", "").lower() in {"1", "true"}


def check_all(outcome: Outcome) -> None:
    """Run the checkers side by side; each tells what it found."""
    started = time.monotonic()
    running = {
        name: subprocess.Popen(
            [BIN / command[0], *command[1:]], cwd=BASE_DIR, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
        )
        for name, command in CHECKERS.items()
    }
    bad = []
    for name, process in running.items():
        said, _ = process.communicate(timeout=LIMIT_S)
        if process.returncode:
            bad.append(name)
            print(f"--- {name} ---\n{said.decode(errors='replace')}", flush=True)
    seconds = time.monotonic() - started
    outcome.failed |= bool(bad)
    verdict = f"FAILED: {', '.join(bad)}" if bad else "clean"
    outcome.lines.append(f"Checkers ({', '.join(CHECKERS)}): {verdict} in {seconds:.0f} s")
    print(outcome.lines[-1], flush=True)


def missing_programs(engines: Sequence[str]) -> dict[str, str]:
    """What is not here, and the Debian package that brings it."""
    looked_for = {
        "Chromium": (services.chromium_program() is not None, "chromium libatomic1", "sqlite"),
        "PostgreSQL": (services.postgresql_programs() is not None, "postgresql", "postgresql"),
        "Redis": (services.redis_program() is not None, "redis-server", "postgresql"),
    }
    return {name: package for name, (here, package, engine) in looked_for.items() if not here and engine in engines}


def counts(report: Path) -> dict[str, int]:
    suite = ElementTree.parse(report).getroot().find("testsuite")
    if suite is None:
        return {}
    found = {name: int(suite.get(name, "0")) for name in ("tests", "failures", "errors", "skipped")}
    failed = found["failures"] + found["errors"]
    return {
        "passed": found["tests"] - failed - found["skipped"],
        "failed": failed,
        "skipped": found["skipped"],
    }


def told(found: dict[str, int], left: Path, first: str) -> str:
    """The counts in words, with what the engine before has run for this one too."""
    words = [f"{number} {word}" for word, number in found.items()]
    if found and left.exists():
        words.append(f"{left.read_text()} that touch no database run on the first engine ({first})")
    return ", ".join(words) or "no result"


def limit_of(engine: int, engines: int, spent: float) -> float:
    """Seconds for this engine (0 is the first) when so many are spent already."""
    return max(PART_S, LIMIT_S - spent - PART_S * (engines - engine - 1))


def run_pytest(
    name: str,
    arguments: Sequence[str],
    environment: dict[str, str],
    outcome: Outcome,
    *,
    limit: float,
    first: str = "",
) -> None:
    """Run the tests on one engine; what touches no database is left to the `first`, where there is one."""
    print(f"\n===== {name} =====", flush=True)
    started = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="axlebook-report-") as folder:
        report, left = Path(folder) / "report.xml", Path(folder) / "left"
        # Never from outside: only this run knows whether there was a first engine.
        environment = {**environment, LEFT_TO_THE_FIRST: str(left) if first else ""}
        command = [sys.executable, "-m", "pytest", f"--junitxml={report}", *arguments]
        process = subprocess.Popen(command, cwd=BASE_DIR, env={**os.environ, **environment}, start_new_session=True)
        try:
            code = process.wait(timeout=limit)
        except BaseException as problem:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
            if not isinstance(problem, subprocess.TimeoutExpired):
                raise
            code = 1
            print(f"Stopped: it did not end within {limit:.0f} s.", flush=True)
        text = told(counts(report) if report.exists() else {}, left, first)
    outcome.failed |= code not in {0, NO_TESTS}
    outcome.lines.append(f"{name}: {text} in {time.monotonic() - started:.0f} s")


@contextmanager
def environment_for(
    engine: str, kept: Path | None = None, *, durable: bool = False
) -> Iterator[tuple[str, dict[str, str]]]:
    """Start what the engine needs; gives its name and the variables the tests read."""
    folder = kept / engine if kept is not None else None
    variables = {KEEP: str(folder or ""), DURABLE: "1" if durable else ""}
    if folder is not None:
        folder.mkdir(parents=True, exist_ok=True)
    if engine == "sqlite":
        yield f"SQLite {sqlite3.sqlite_version}", variables
        return
    with ExitStack() as stack:
        address = stack.enter_context(services.postgresql(kept=folder, durable=durable))
        variables |= {"AXLEBOOK_DATABASE_URL": address}
        name = f"PostgreSQL {services.postgresql_version(address)}"
        if services.redis_program():
            variables["AXLEBOOK_TEST_REDIS"] = stack.enter_context(services.redis_server())
            name += " with Redis and Celery"
        yield name, variables


def parse(arguments: Sequence[str]) -> tuple[list[str], list[str], Path | None]:
    parser = argparse.ArgumentParser(prog="manage.py test", description=__doc__, add_help=True)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("--engine", choices=["sqlite", "postgresql"], help="one engine only")
    parser.add_argument(
        "--keep", type=Path, metavar="FOLDER", help="let the database stay in this folder, to be used again"
    )
    chosen, rest = parser.parse_known_args(arguments)
    kept = chosen.keep.resolve() if chosen.keep else None
    rest += ["--reuse-db", "-n0"] if kept is not None else []  # one process, for there is one database
    return [chosen.engine] if chosen.engine else ["sqlite", "postgresql"], rest, kept


def ended(number: int, _frame: object) -> None:
    """A signal unwinds the stack, so that every throw-away server is stopped."""
    raise SystemExit(128 + number)


def main(arguments: Sequence[str]) -> int:
    engines, rest, kept = parse(arguments)
    signal.signal(signal.SIGTERM, ended)
    outcome = Outcome()
    missing = missing_programs(engines)
    for name, package in missing.items():
        outcome.advice.append(f"{name} is missing; what needs it was left out: sudo apt-get install -y {package}")
        outcome.failed |= in_ci()
    whole = not rest
    if whole:
        check_all(outcome)
    spread = [] if any(word.startswith(("-n", "--numprocesses")) for word in rest) else ["-n", PROCESSES]
    first, began = "", time.monotonic()
    for place, engine in enumerate(engines):
        if engine == "postgresql" and "PostgreSQL" in missing:
            continue
        with environment_for(engine, kept, durable="benchmark" in rest) as (name, variables):
            limit = KEPT_LIMIT_S if kept else limit_of(place, len(engines), time.monotonic() - began)
            every = [*spread, "--dist", "loadgroup", *rest]
            run_pytest(name, every, variables, outcome, limit=limit, first=first)
            first = name if whole else ""
    print("\n" + "\n".join([*outcome.lines, *outcome.advice]), flush=True)
    if outcome.failed:
        print("FAILED", flush=True)
    return int(outcome.failed)
