#!/usr/bin/env python3
"""The one command of Axlebook. It needs nothing on the machine but Python 3.11 or newer.

    python3 manage.py demo [--port 8000]      set up, fill and serve the demo shop
    python3 manage.py test [paths] [options]  set up and run every check and test
    python3 manage.py pictures                set up and take the README's pictures anew
    python3 manage.py anything-else           a management command, inside the same environment

The environment is .venv beside this file, made from a lock that pins every package by hash; a stamp makes
the second start quick. AXLEBOOK_NO_SETUP=1 uses the running Python as it is (containers).
"""

from __future__ import annotations

import ctypes
import hashlib
import importlib.util
import os
import secrets
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

HERE = Path(__file__).resolve().parent
VENV = HERE / ".venv"
OLDEST = (3, 11)
LOCKS = {"app": HERE / "requirements" / "app.txt", "dev": HERE / "requirements" / "dev.txt"}


def say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def stop(text: str) -> NoReturn:
    say(text)
    raise SystemExit(1)


def library(name: str) -> Callable[[], bool]:
    def present() -> bool:
        try:
            ctypes.CDLL(name)
        except OSError:
            return False
        return True

    return present


def program(*names: str) -> Callable[[], bool]:
    return lambda: any(map(shutil.which, names))


def postgresql() -> bool:
    """Debian keeps the server's programs out of the search path, one folder for each version."""
    return any(Path("/usr/lib/postgresql").glob("*/bin/initdb")) or shutil.which("initdb") is not None


# Debian package: how to see whether it is there.
NEEDED = {
    "libpango-1.0-0": library("libpango-1.0.so.0"),
    "libpangoft2-1.0-0": library("libpangoft2-1.0.so.0"),
    "libharfbuzz-subset0": library("libharfbuzz-subset.so.0"),
}
FOR_TESTS = {
    "postgresql": postgresql,
    "redis-server": program("redis-server"),
    "chromium": program("chromium", "chromium-browser"),
    "libatomic1": library("libatomic.so.1"),
    "poppler-utils": program("pdftoppm"),
}


def missing(packages: dict[str, Callable[[], bool]]) -> list[str]:
    return [name for name, present in packages.items() if not present()]


def apt(packages: list[str]) -> None:
    """Install Debian packages as root; otherwise, or where there is no apt, do nothing."""
    if not packages or os.geteuid() != 0 or not shutil.which("apt-get"):
        return
    say(f"Installing {' '.join(packages)} ...")
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for arguments in (["update", "-qq"], ["install", "-y", "-qq", "--no-install-recommends", *packages]):
        done = subprocess.run(["apt-get", *arguments], env=quiet, capture_output=True, text=True, check=False)
        if done.returncode:
            stop(f"apt-get {arguments[0]} failed:\n{done.stdout[-2000:]}{done.stderr[-2000:]}")


def system_packages(kind: str) -> None:
    """Install what is missing or say the one line that does. Tests go on without their own extras."""
    venv_module = [] if importlib.util.find_spec("ensurepip") else ["python3-venv"]
    apt(venv_module + missing({**NEEDED, **(FOR_TESTS if kind == "dev" else {})}))
    importlib.invalidate_caches()
    left = missing(NEEDED) + ([] if not venv_module or importlib.util.find_spec("ensurepip") else venv_module)
    if left:
        stop(f"Some system packages are missing. Install them and start again:\n"
             f"    sudo apt-get install -y {' '.join(left)}")  # fmt: skip


def stamp(kind: str) -> str:
    version = ".".join(map(str, sys.version_info[:2]))
    return f"{version} {hashlib.sha256(LOCKS[kind].read_bytes()).hexdigest()}"


def set_up(kind: str) -> Path:
    """Make .venv agree with the lock and give its Python."""
    python = VENV / "bin" / "python"
    marks = {name: VENV / f"axlebook-{name}.stamp" for name in LOCKS}
    wanted = stamp(kind)
    if python.exists() and marks[kind].exists() and marks[kind].read_text() == wanted:
        return python
    say(f"Setting up {VENV.name} from requirements/{LOCKS[kind].name} (once) ...")
    other = python.exists() and not (VENV / "lib" / f"python{wanted.split()[0]}").is_dir()
    make = [sys.executable, "-m", "venv", *(["--clear"] if other else []), str(VENV)]
    install = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-input"]
    # The lock is complete, so nothing is resolved: an older pip, asked to, takes a newer release for "name[extra]"
    # than the one pinned, and then refuses it for want of a hash.
    locked = ["--require-hashes", "--no-deps", "--only-binary", ":all:", "-r", str(LOCKS[kind])]
    for arguments in ([] if python.exists() and not other else [make]) + [install + locked]:
        if subprocess.run(arguments, check=False).returncode:
            stop(f"Setting up failed at: {' '.join(arguments[:4])} ... Nothing else was changed; try again.")
    # The test lock holds everything of the app's, at the same versions.
    for name in ("app", "dev") if kind == "dev" else ("app",):
        marks[name].write_text(stamp(name))
    return python


def demo_environment() -> None:
    """Where nobody has configured a shop, every command works on the demo's data beside this file."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    if os.environ.get("AXLEBOOK_SECRET_KEY") or os.environ.get("AXLEBOOK_SECRET_KEY_FILE"):
        return
    os.environ["AXLEBOOK_DEMO"] = "1"
    data = Path(os.environ.setdefault("AXLEBOOK_DATA", str(HERE / "var" / "demo")))
    key = data.parent / f"{data.name}.key"
    if not key.exists():
        key.parent.mkdir(parents=True, exist_ok=True)
        with os.fdopen(os.open(key, os.O_WRONLY | os.O_CREAT, 0o600), "w") as file:
            file.write(secrets.token_urlsafe(50))
    data.mkdir(parents=True, exist_ok=True)
    os.environ["AXLEBOOK_SECRET_KEY_FILE"] = str(key)


def inside(arguments: list[str]) -> None:
    """Run the command in this Python, which has the packages."""
    verb = arguments[1] if len(arguments) > 1 else "help"
    if verb == "test":
        from tests.run import main

        raise SystemExit(main(arguments[2:]))
    if verb == "pictures":
        os.environ.setdefault("AXLEBOOK_DATA", str(HERE / "var" / "pictures"))
    demo_environment()
    if verb == "pictures":
        import django

        django.setup()
        from tests.pictures import main as take

        raise SystemExit(take())
    if verb == "demo":
        arguments = [arguments[0], "serve", "--demo", *arguments[2:]]
    from django.core.management import execute_from_command_line

    execute_from_command_line(arguments)


def main(arguments: list[str]) -> None:
    if sys.version_info < OLDEST:
        stop(f"Axlebook needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    if os.environ.get("AXLEBOOK_NO_SETUP") == "1":
        return inside(arguments)
    kind = "dev" if arguments[1:2] in (["test"], ["pictures"]) else "app"
    if arguments[1:2] in (["test"], ["pictures"], ["demo"]):
        system_packages(kind)
    python = set_up(kind)
    if Path(sys.prefix).resolve() != VENV.resolve():
        os.execv(python, [str(python), str(HERE / "manage.py"), *arguments[1:]])
    return inside(arguments)


if __name__ == "__main__":
    main(sys.argv)
