"""The demo's processes: started together, ended together."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from shop.serving import HOST, answers, free_port

BASE_DIR = Path(__file__).resolve().parent.parent.parent
PROGRAM = """
import sys
from shop.serving import run_together

def child(text):
    return [sys.executable, "-c", text]

raise SystemExit(run_together(
    [child({first!r}), child({second!r})], ready=lambda: True, announce=lambda: None
))
"""
# Tells its id in one write (two of them share the pipe), and leaves a mark when it was asked to end rather than killed.
PATIENT = """
import os, signal, sys, time
def end(*_):
    os.write(1, b"tidied\\n")
    sys.exit(0)
signal.signal(signal.SIGTERM, end)
os.write(1, b"pid %d\\n" % os.getpid())
time.sleep(60)
"""


def start(first: str, second: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", PROGRAM.format(first=first, second=second)],
        cwd=BASE_DIR, stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": str(BASE_DIR)},
    )  # fmt: skip


def alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return True


def lines_until(process: subprocess.Popen[str], wanted: int) -> list[int]:
    """The ids of the children, once all have told theirs."""
    found: list[int] = []
    assert process.stdout is not None
    while len(found) < wanted:
        line = process.stdout.readline()
        assert line, "it ended before its children had started"
        word, _, rest = line.partition(" ")
        if word == "pid":
            found.append(int(rest))
    return found


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_ends_every_process_tidily(number: signal.Signals) -> None:
    process = start(PATIENT, PATIENT)
    children = lines_until(process, 2)
    process.send_signal(number)
    said, _ = process.communicate(timeout=20)
    assert process.returncode == 0
    assert said.count("tidied") == 2
    assert not any(alive(child) for child in children)


def test_when_one_ends_by_itself_the_other_is_stopped_and_the_code_tells() -> None:
    process = start(PATIENT, "import time; time.sleep(1); raise SystemExit(3)")
    said, _ = process.communicate(timeout=20)
    assert process.returncode == 1
    assert said.count("tidied") == 1


def test_a_taken_port_gives_the_next_one() -> None:
    with socket.socket() as taken:
        taken.bind((HOST, 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert free_port(port) > port
    assert free_port(port) == port


def test_nobody_answers_on_a_closed_port() -> None:
    assert not answers(f"http://{HOST}:{free_port(20000)}/")
