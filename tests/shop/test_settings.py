"""The settings file: loud when something is missing, strict for real use, plain for the demo."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

BASE_DIR = Path(__file__).resolve().parent.parent.parent
REAL = {
    "AXLEBOOK_SECRET_KEY": "k9!xQ2" * 20,
    "AXLEBOOK_SHOP_NAME": "A shop",
    "AXLEBOOK_TIME_ZONE": "Europe/Berlin",
    "AXLEBOOK_VERIFY_ADDRESS": "https://axles.example/verify",
    "AXLEBOOK_DATA": "/nowhere/data",
    "AXLEBOOK_HOSTS": "axles.example",
    "AXLEBOOK_SERIAL_PREFIX": "AXL",
}
SHOW = """
import json, sys
from shop import settings
print(json.dumps({name: getattr(settings, name) for name in sys.argv[1:]}, default=str))
"""


def python(arguments: list[str], environment: dict[str, str]) -> subprocess.CompletedProcess[str]:
    """In an environment with none of our variables but those given."""
    kept = {
        name: value for name, value in os.environ.items() if not name.startswith(("AXLEBOOK_", "CELERY_", "DJANGO_"))
    }
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=BASE_DIR,
        env=kept | environment,
        capture_output=True,
        text=True,
        check=False,
    )


def values(environment: dict[str, str], *names: str) -> dict[str, object]:
    done = python(["-c", SHOW, *names], environment)
    assert done.returncode == 0, done.stderr
    shown: dict[str, object] = json.loads(done.stdout)
    return shown


@pytest.mark.parametrize("name", REAL)
def test_each_required_setting_is_missed_by_name(name: str) -> None:
    done = python(["-c", SHOW], {key: value for key, value in REAL.items() if key != name})
    assert done.returncode != 0
    assert f"Set {name}" in done.stderr


def test_with_all_of_them_it_starts() -> None:
    assert values(REAL, "SHOP_NAME", "DEMO", "DEBUG") == {
        "SHOP_NAME": "A shop",
        "DEMO": False,
        "DEBUG": False,
    }


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"AXLEBOOK_TIME_ZONE": "Mars/Olympus"}, "no time zone is called 'Mars/Olympus'"),
        ({"AXLEBOOK_TLS": "maybe"}, "AXLEBOOK_TLS is 'maybe': expected 1 or 0"),
        ({"AXLEBOOK_DATABASE_URL": "mysql://a/b"}, "AXLEBOOK_DATABASE_URL: expected postgresql://"),
        (
            {"AXLEBOOK_DATABASE_URL": "postgresql://a/b", "AXLEBOOK_DATABASE_POOL": "many"},
            "AXLEBOOK_DATABASE_POOL is 'many': expected a whole number",
        ),
        ({"AXLEBOOK_SECRET_KEY_FILE": "/nowhere/key"}, "/nowhere/key"),
    ],
)
def test_a_wrong_value_is_named(wrong: dict[str, str], said: str) -> None:
    done = python(["-c", SHOW], REAL | wrong)
    assert done.returncode != 0
    assert said in done.stderr


def test_a_secret_may_come_as_a_file(tmp_path: Path) -> None:
    secret = tmp_path / "key"
    secret.write_text("from a file\n")
    environment = {name: value for name, value in REAL.items() if name != "AXLEBOOK_SECRET_KEY"}
    shown = values(environment | {"AXLEBOOK_SECRET_KEY_FILE": str(secret)}, "SECRET_KEY")
    assert shown == {"SECRET_KEY": "from a file"}


COOKIES = ("COOKIE_PREFIX", "CSRF_COOKIE_NAME", "CSRF_COOKIE_SECURE")


def test_cookies_are_bound_to_the_host_under_tls() -> None:
    assert list(values(REAL, *COOKIES).values()) == ["__Host-", "__Host-csrf", True]


def test_cookies_are_plain_in_the_demo() -> None:
    demo = {"AXLEBOOK_DEMO": "1", "AXLEBOOK_SECRET_KEY": "x"}
    assert list(values(demo, *COOKIES).values()) == ["", "csrf", False]


def test_postgresql_address_and_password_file(tmp_path: Path) -> None:
    secret = tmp_path / "password"
    secret.write_text("p@ss/w%rd\n")
    shown = values(
        REAL
        | {
            "AXLEBOOK_DATABASE_URL": "postgresql://axle%40book@db.example:6432/axles?sslmode=require",
            "AXLEBOOK_DATABASE_PASSWORD_FILE": str(secret),
        },
        "DATABASES",
    )
    default = shown["DATABASES"]["default"]  # type: ignore[index]
    told = {name: default[name] for name in ("NAME", "USER", "PASSWORD", "HOST", "PORT")}
    assert told == {
        "NAME": "axles", "USER": "axle@book", "PASSWORD": "p@ss/w%rd", "HOST": "db.example", "PORT": "6432",
    }  # fmt: skip
    assert default["OPTIONS"]["sslmode"] == "require"
    assert default["OPTIONS"]["pool"]["max_size"] == 8


def test_the_deployment_check_is_clean_with_real_settings() -> None:
    done = python(
        ["-m", "django", "check", "--deploy", "--fail-level", "WARNING"],
        REAL | {"DJANGO_SETTINGS_MODULE": "shop.settings"},
    )
    assert done.returncode == 0, done.stderr


def test_the_deployment_check_would_find_a_plain_http_shop() -> None:
    done = python(
        ["-m", "django", "check", "--deploy", "--fail-level", "WARNING"],
        REAL | {"DJANGO_SETTINGS_MODULE": "shop.settings", "AXLEBOOK_TLS": "0"},
    )
    assert done.returncode != 0
    assert "security.W004" in done.stderr


def test_static_files_are_collected_under_hashed_names(tmp_path: Path) -> None:
    done = python(
        ["-m", "django", "collectstatic", "--no-input", "--verbosity", "0"],
        REAL | {"DJANGO_SETTINGS_MODULE": "shop.settings", "AXLEBOOK_STATIC": str(tmp_path)},
    )
    assert done.returncode == 0, done.stderr
    paths = json.loads((tmp_path / "staticfiles.json").read_text())["paths"]
    assert paths["django_htmx/htmx-2.min.js"] != "django_htmx/htmx-2.min.js"
