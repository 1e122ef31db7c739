"""Running the web server and the job worker side by side, and stopping both cleanly."""

from __future__ import annotations

import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from types import FrameType
from urllib.error import URLError
from urllib.request import urlopen

BASE_DIR = Path(__file__).resolve().parent.parent
HOST = "127.0.0.1"
# Two processes: SQLite has one writer at a time, and more processes only wait for it longer.
WORKERS = 2
THREADS = 4
GRACE_S = 15.0


def free_port(wanted: int, tries: int = 50) -> int:
    """The port asked for, or the next one nobody listens on."""
    for port in range(wanted, min(wanted + tries, 65536)):
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((HOST, port))
            except OSError:
                continue
            return port
    raise OSError(f"No free port from {wanted} on.")


def web_command(port: int) -> list[str]:
    return [
        sys.executable, "-m", "gunicorn", "shop.wsgi", "--bind", f"{HOST}:{port}",
        "--worker-class", "gthread",
        "--workers", str(WORKERS), "--threads", str(THREADS), "--graceful-timeout", "10", "--timeout", "60",
        "--keep-alive", "30", "--log-level", "warning", "--no-control-socket",
    ]  # fmt: skip


def worker_command() -> list[str]:
    return [sys.executable, "-m", "django", "worker"]


def answers(address: str) -> bool:
    try:
        with urlopen(address, timeout=2):
            return True
    except URLError as error:
        # An answer that is an error is an answer: the server is up.
        return getattr(error, "code", None) is not None
    except OSError:
        return False


class Stopped(Exception):
    """A signal asked for the end."""


def _stop(number: int, _frame: FrameType | None) -> None:
    raise Stopped(signal.Signals(number).name)


def run_together(commands: Sequence[Sequence[str]], *, ready: Callable[[], bool], announce: Callable[[], None]) -> int:
    """Run the commands until a signal comes or one of them ends; 0 after a signal, 1 otherwise.

    Each gets its own session, so that Ctrl-C reaches only this process and the order of the end is ours.
    """
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, _stop)
    running: list[subprocess.Popen[bytes]] = []
    try:
        for command in commands:
            running.append(subprocess.Popen(command, cwd=BASE_DIR, start_new_session=True))
        told = False
        while all(process.poll() is None for process in running):
            if not told and ready():
                told = True
                announce()
            time.sleep(0.5 if told else 0.1)
        return 1
    except Stopped:
        return 0
    finally:
        stop_all(running)


def stop_all(running: Sequence[subprocess.Popen[bytes]]) -> None:
    """Ask each to end, wait, and only then insist; a second signal does not cut this short."""
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)
    for process in running:
        if process.poll() is None:
            process.terminate()
    end = time.monotonic() + GRACE_S
    for process in running:
        try:
            process.wait(timeout=max(0.1, end - time.monotonic()))
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
