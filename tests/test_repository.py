"""The repository itself: locks, vendored files, budgets, pure cores, compose file, migrations, arrows."""

from __future__ import annotations

import hashlib
import re
import shutil
import subprocess
import sys
import tomllib
from importlib import metadata
from io import StringIO
from pathlib import Path

import pytest
import yaml
from django.core.management import call_command
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

BASE_DIR = Path(__file__).resolve().parent.parent
BIN = Path(sys.executable).parent
PACKAGES = ("shop", "measurements", "builds")
VENDOR = BASE_DIR / "shop" / "static" / "vendor"
LONGEST_MODULE = 300
# Modules over the aim, each with its reason.
LONG_MODULES: dict[str, str] = {}


def run(*command: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, cwd=BASE_DIR, capture_output=True, text=True, check=False, timeout=120)


def tracked() -> list[Path]:
    if shutil.which("git") is None:
        pytest.skip("git is not installed")
    listed = run("git", "ls-files", "-z")
    if listed.returncode:
        pytest.skip("not a git checkout")
    return [BASE_DIR / name for name in listed.stdout.split("\0") if name and (BASE_DIR / name).is_file()]


def modules() -> list[Path]:
    found = [path for package in PACKAGES for path in (BASE_DIR / package).rglob("*.py")]
    return [path for path in found if "migrations" not in path.parts] + [BASE_DIR / "manage.py"]


def test_no_link_is_kept() -> None:
    """A link names a place on one machine."""
    if shutil.which("git") is None:
        pytest.skip("git is not installed")
    listed = run("git", "ls-files", "--stage")
    if listed.returncode:
        pytest.skip("not a git checkout")
    modes = [line.split()[0] for line in listed.stdout.splitlines()]
    assert len(modes) > 300
    assert "120000" not in modes


# --- locks ---


def foreign_words(lock: str) -> list[str]:
    """What would tie a lock to one machine or one index."""
    return [word for word in ("://", "file:", "--index", "--extra-index", "--find-links", " @ ") if word in lock]


@pytest.mark.parametrize("name", ["app.txt", "dev.txt"])
def test_lock_names_no_host_and_pins_every_package_by_hash(name: str) -> None:
    lock = (BASE_DIR / "requirements" / name).read_text()
    assert foreign_words(lock) == []
    blocks = re.split(r"\n(?=\S)", lock.strip())
    assert len(blocks) > 20
    assert [block for block in blocks if "==" not in block or "--hash=sha256:" not in block] == []


def left_out(lock: str, asked: Path) -> set[str]:
    """Packages that the asked ones need, with their extras, and the lock does not name: it is installed as it is."""
    named = set(re.findall(r"^([a-z0-9-]+)(?:\[[^]]*\])?==", lock, re.MULTILINE))
    lines = [line for line in asked.read_text().split("\n") if line and not line.startswith("-")]
    waiting, seen = [Requirement(line) for line in lines], set()
    while waiting:
        wanted = waiting.pop()
        key = (canonicalize_name(wanted.name), *sorted(wanted.extras))
        if key in seen:
            continue
        seen.add(key)
        if key[0] in named:
            needs = [Requirement(text) for text in metadata.requires(wanted.name) or []]
            extras = [{"extra": extra} for extra in ("", *wanted.extras)]
            waiting += [need for need in needs if need.marker is None or any(map(need.marker.evaluate, extras))]
    return {key[0] for key in seen} - named


@pytest.mark.parametrize(("name", "inner"), [("app", "asgiref"), ("dev", "coverage")])
def test_a_lock_holds_all_that_its_packages_need(name: str, inner: str) -> None:
    lock, asked = (BASE_DIR / "requirements" / f"{name}{end}" for end in (".txt", ".in"))
    assert left_out(lock.read_text(), asked) == set()
    assert left_out(re.sub(rf"^{inner}==", "other==", lock.read_text(), flags=re.MULTILINE), asked) == {inner}


@pytest.mark.parametrize(
    "line", ["--index-url x", "a @ b", "a==1 --hash=sha256:0 # https://x", "-r file:/x", "--find-links x"]
)
def test_a_lock_with_an_address_would_be_found(line: str) -> None:
    assert foreign_words(line)


def test_both_locks_agree() -> None:
    """The test lock holds the app's packages at the same versions, so tests run what a shop runs."""
    pins = [
        set(re.findall(r"^[a-z0-9-]+(?:\[.*?\])?==[^ \\]+", (BASE_DIR / "requirements" / name).read_text(), re.M))
        for name in ("app.txt", "dev.txt")
    ]
    assert pins[0]
    assert pins[0] <= pins[1]


# --- vendored files ---


def vendored() -> dict[str, str]:
    manifest = tomllib.loads((VENDOR / "MANIFEST.toml").read_text())
    return {name: digest for package in manifest["package"] for name, digest in package["files"].items()}


def test_vendored_files_are_those_of_the_manifest() -> None:
    there = {
        str(path.relative_to(VENDOR)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in VENDOR.rglob("*")
        if path.is_file() and path.name != "MANIFEST.toml"
    }
    assert there == vendored()


def test_every_vendored_package_has_its_licence_beside_it() -> None:
    folders = {Path(name).parts[0] for name in vendored()}
    assert folders
    assert all(list((VENDOR / folder).glob("LICENSE*")) for folder in folders)


# --- budgets and names ---


def test_modules_keep_to_their_length() -> None:
    long = {
        str(path.relative_to(BASE_DIR)): lines
        for path in modules()
        if (lines := len(path.read_text().splitlines())) > LONGEST_MODULE
    }
    assert {name: lines for name, lines in long.items() if name not in LONG_MODULES} == {}
    assert set(LONG_MODULES) <= set(long), "an exception that is no longer needed"


def test_no_module_is_named_for_nothing() -> None:
    vague = {"utils", "util", "helpers", "helper", "common", "manager", "managers", "processor", "misc"}
    assert [str(path) for path in modules() if vague & {path.stem, *path.relative_to(BASE_DIR).parts[:-1]}] == []


# Written in pieces, so that this file does not find itself.
MACHINE = re.compile("|".join(["/wo" + "rk/", "/ro" + "ot/", "/ho" + "me/[a-z]", "/o" + "pt/pypi", "py" + "env"]))
TEXT = {".py", ".md", ".toml", ".txt", ".in", ".yml", ".html", ".css", ".js", ".csv", ".svg", ".template", ""}


def machine_words(text: str) -> list[str]:
    return MACHINE.findall(text)


def test_no_tracked_text_names_a_machine() -> None:
    found = {
        str(path.relative_to(BASE_DIR)): words
        for path in tracked()
        if path.suffix in TEXT
        and VENDOR not in path.parents
        and (words := machine_words(path.read_text(encoding="utf-8", errors="replace")))
    }
    assert found == {}


def test_a_machine_path_would_be_found() -> None:
    assert machine_words("see /wo" + "rk/main") == ["/wo" + "rk/"]


# --- pure cores ---

PURE = (
    "measurements.engineering",
    "measurements.bench",
    "measurements.statistics",
    "builds.definitions",
    "shop.record.chain",
    "shop.record.tree",
    "shop.record.note",
)
IMPORT_WITHOUT_DJANGO = """
import importlib, pkgutil, sys

class Blocked:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {"django", "psycopg", "celery"}:
            raise ImportError(f"{name} is imported by a pure module")

sys.meta_path.insert(0, Blocked())
# The folder of a Django app may be imported only as a plain namespace: its own __init__ is not the question.
for name in sys.argv[1:]:
    module = importlib.import_module(name)
    for found in pkgutil.walk_packages(getattr(module, "__path__", []), name + "."):
        importlib.import_module(found.name)
"""


def import_without_django(*names: str) -> subprocess.CompletedProcess[str]:
    return run(sys.executable, "-c", IMPORT_WITHOUT_DJANGO, *names)


def exists(name: str) -> bool:
    path = BASE_DIR.joinpath(*name.split("."))
    return path.is_dir() or path.with_suffix(".py").is_file()


@pytest.mark.parametrize("name", [name for name in PURE if exists(name)])
def test_pure_core_imports_without_django(name: str) -> None:
    done = import_without_django(name)
    assert done.returncode == 0, done.stderr


def test_a_module_that_needs_django_would_be_found() -> None:
    done = import_without_django("shop.models")
    assert done.returncode != 0
    assert "is imported by a pure module" in done.stderr


# --- checkers over the whole ---


def test_import_contracts_are_kept() -> None:
    done = run(BIN / "lint-imports", "--no-cache")
    assert done.returncode == 0, done.stdout[-3000:]
    assert " 0 broken" in done.stdout


@pytest.mark.django_db
def test_migrations_are_complete() -> None:
    said = StringIO()
    try:
        call_command("makemigrations", "--check", "--dry-run", stdout=said, stderr=said)
    except SystemExit:
        pytest.fail(f"a migration is missing:\n{said.getvalue()}")


def test_code_needs_no_change_for_the_next_django() -> None:
    files = [str(path) for path in modules()]
    done = run(BIN / "django-upgrade", "--target-version", "5.2", "--check", *files)
    assert done.returncode == 0, done.stdout + done.stderr


# --- deployment ---


def test_compose_file_follows_the_schema() -> None:
    done = run(BIN / "check-jsonschema", "--builtin-schema", "vendor.compose-spec", "docker-compose.yml")
    assert done.returncode == 0, done.stdout


def test_compose_file_has_no_grave_finding() -> None:
    done = run(BIN / "compose-lint", "check", "docker-compose.yml")
    assert done.returncode == 0, done.stdout


def test_a_careless_compose_file_would_be_found(tmp_path: Path) -> None:
    careless = tmp_path / "docker-compose.yml"
    careless.write_text("services:\n  web:\n    image: a:1\n    privileged: true\n")
    assert run(BIN / "compose-lint", "check", careless).returncode != 0
    careless.write_text("services:\n  web:\n    imagine: a:1\n")
    assert run(BIN / "check-jsonschema", "--builtin-schema", "vendor.compose-spec", careless).returncode != 0


def test_every_service_is_hardened() -> None:
    services = yaml.safe_load((BASE_DIR / "docker-compose.yml").read_text())["services"]
    assert set(services) == {"migrate", "web", "worker", "beat", "database", "redis", "proxy"}
    for name, service in services.items():
        assert service["read_only"] is True, name
        assert service["cap_drop"] == ["ALL"], name
        assert service["security_opt"] == ["no-new-privileges:true"], name
        assert service["user"].split(":")[0] not in {"0", "root"}, name
        assert "healthcheck" in service, name
        assert ("ports" in service) == (name == "proxy"), name


def test_secrets_come_as_files() -> None:
    compose = (BASE_DIR / "docker-compose.yml").read_text()
    assert re.findall(r"^\s*\w*(?:PASSWORD|SECRET)\w*: *(?!/run/secrets/)\S+", compose, re.M) == []
