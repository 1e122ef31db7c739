"""The one command's set-up: what it installs, what it says, and when it does nothing."""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

BASE_DIR = Path(__file__).resolve().parent.parent.parent


@pytest.fixture
def manage() -> ModuleType:
    spec = importlib.util.spec_from_file_location("manage_under_test", BASE_DIR / "manage.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def commands(manage: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """Every command it would run, none of them run."""
    seen: list[list[str]] = []

    def record(command: list[str], **_: Any) -> SimpleNamespace:
        seen.append([str(word) for word in command])
        return SimpleNamespace(returncode=0, stdout="", stderr="")

    monkeypatch.setattr(manage.subprocess, "run", record)
    return seen


@pytest.fixture
def no_libraries(manage: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(manage, "NEEDED", {"libone": lambda: False, "libtwo": lambda: True})
    monkeypatch.setattr(manage, "FOR_TESTS", {"browser": lambda: False})


def as_user(manage: ModuleType, monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    monkeypatch.setattr(manage.os, "geteuid", lambda: number)
    monkeypatch.setattr(manage.shutil, "which", lambda name: f"/bin/{name}")


@pytest.mark.usefixtures("no_libraries")
def test_an_ordinary_user_is_given_the_one_line(
    manage: ModuleType,
    commands: list[list[str]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    as_user(manage, monkeypatch, 1000)
    with pytest.raises(SystemExit) as stopped:
        manage.system_packages("app")
    assert stopped.value.code == 1
    assert "sudo apt-get install -y libone\n" in capsys.readouterr().err
    assert commands == []


@pytest.mark.usefixtures("no_libraries")
def test_root_installs_exactly_what_is_missing(
    manage: ModuleType, commands: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    as_user(manage, monkeypatch, 0)
    with pytest.raises(SystemExit):  # the pretended installation brings nothing, and that is noticed
        manage.system_packages("dev")
    assert commands[0][:2] == ["apt-get", "update"]
    assert commands[1][-2:] == ["libone", "browser"]


def test_nothing_is_installed_where_nothing_is_missing(
    manage: ModuleType, commands: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    as_user(manage, monkeypatch, 0)
    monkeypatch.setattr(manage, "NEEDED", {"libone": lambda: True})
    monkeypatch.setattr(manage, "FOR_TESTS", {})
    manage.system_packages("dev")
    assert commands == []


def test_an_old_python_is_told_so(
    manage: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(manage.sys, "version_info", (3, 10, 9))
    with pytest.raises(SystemExit):
        manage.main(["manage.py", "demo"])
    assert "needs Python 3.11 or newer" in capsys.readouterr().err


@pytest.fixture
def venv(manage: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A made environment of this Python, beside locks of its own."""
    folder = tmp_path / ".venv"
    version = ".".join(map(str, sys.version_info[:2]))
    (folder / "bin").mkdir(parents=True)
    (folder / "lib" / f"python{version}").mkdir(parents=True)
    (folder / "bin" / "python").touch()
    locks = {name: tmp_path / f"{name}.txt" for name in ("app", "dev")}
    for name, path in locks.items():
        path.write_text(f"{name}==1")
    monkeypatch.setattr(manage, "VENV", folder)
    monkeypatch.setattr(manage, "LOCKS", locks)
    return folder


def test_the_second_start_installs_nothing(manage: ModuleType, commands: list[list[str]], venv: Path) -> None:
    manage.set_up("app")
    assert len(commands) == 1
    assert {"--require-hashes", "--no-deps"} <= set(commands[0])
    manage.set_up("app")
    assert len(commands) == 1


def test_a_changed_lock_is_installed(manage: ModuleType, commands: list[list[str]], venv: Path) -> None:
    manage.set_up("app")
    manage.LOCKS["app"].write_text("app==2")
    manage.set_up("app")
    assert len(commands) == 2


def test_the_test_environment_serves_the_demo_too(manage: ModuleType, commands: list[list[str]], venv: Path) -> None:
    manage.set_up("dev")
    manage.set_up("app")
    assert len(commands) == 1
    assert commands[0][-1].endswith("dev.txt")


def test_a_failed_installation_leaves_no_stamp(manage: ModuleType, monkeypatch: pytest.MonkeyPatch, venv: Path) -> None:
    monkeypatch.setattr(manage.subprocess, "run", lambda *_, **__: SimpleNamespace(returncode=1))
    with pytest.raises(SystemExit):
        manage.set_up("app")
    assert list(venv.glob("*.stamp")) == []


def test_the_demo_key_is_made_once_and_is_private(
    manage: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(manage.os, "environ", {"AXLEBOOK_DATA": str(tmp_path / "demo")})
    manage.demo_environment()
    key = tmp_path / "demo.key"
    first = key.read_text()
    assert len(first) > 50
    assert key.stat().st_mode & 0o077 == 0
    del manage.os.environ["AXLEBOOK_SECRET_KEY_FILE"]
    manage.demo_environment()
    assert key.read_text() == first


def test_a_configured_shop_is_left_alone(manage: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(manage.os, "environ", {"AXLEBOOK_SECRET_KEY": "real"})
    manage.demo_environment()
    assert "AXLEBOOK_DEMO" not in manage.os.environ


def test_the_demo_is_not_loaded_into_a_configured_shop(tmp_path: Path) -> None:
    real = {
        "AXLEBOOK_SECRET_KEY": "k" * 60,
        "AXLEBOOK_SHOP_NAME": "A shop",
        "AXLEBOOK_SERIAL_PREFIX": "AXL",
        "AXLEBOOK_TIME_ZONE": "UTC",
        "AXLEBOOK_VERIFY_ADDRESS": "https://axles.example/verify",
        "AXLEBOOK_DATA": str(tmp_path),
        "AXLEBOOK_HOSTS": "axles.example",
        "AXLEBOOK_DEMO": "0",
        "AXLEBOOK_NO_SETUP": "1",
        "DJANGO_SETTINGS_MODULE": "shop.settings",
    }
    done = subprocess.run(
        [sys.executable, "manage.py", "demo"],
        cwd=BASE_DIR, env={**os.environ, **real}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode != 0
    assert "the demo is not loaded into it" in done.stderr
    assert not list(tmp_path.iterdir())
