"""Handlers of jobs that only tests ask for; a real worker process loads them with the test settings."""

from __future__ import annotations

import os
import signal
from pathlib import Path

from shop.record.jobs import Work, handler

APPEND = "tests.append"
DIE_ONCE = "tests.die_once"


@handler(APPEND)
def append(work: Work) -> None:
    with Path(work.argument["path"]).open("a", encoding="utf-8") as file:
        file.write(f"{work.attempt}\n")


@handler(DIE_ONCE)
def die_once(work: Work) -> None:
    """The first attempt is killed in the middle of its work, as by a lack of memory."""
    if work.attempt == 1:
        os.kill(os.getpid(), signal.SIGKILL)
    append(work)
