"""The settings under test: the real ones, on a throw-away database and with a cheap password hash.

AXLEBOOK_DATABASE_URL chooses PostgreSQL; without it each process gets a SQLite file of its own.
"""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile
from pathlib import Path


def scratch() -> Path:
    """A folder of this process, in memory where there is room: a flush to disk per test proves nothing. A benchmark
    wants one on the disk."""
    memory = Path("/dev/shm")
    wanted = not os.environ.get("AXLEBOOK_TEST_DURABLE")
    roomy = memory.is_dir() and os.access(memory, os.W_OK) and shutil.disk_usage(memory).free > 1 << 30
    folder = Path(tempfile.mkdtemp(prefix="axlebook-test-", dir=memory if wanted and roomy else None))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


SCRATCH = scratch()
(SCRATCH / "static").mkdir()

os.environ.setdefault("AXLEBOOK_DEMO", "1")
os.environ.setdefault("AXLEBOOK_SECRET_KEY", "only for tests, never for a shop: 4f1a7c0b9d3e5268")
os.environ.setdefault("AXLEBOOK_DATABASE_POOL", "0")
os.environ.setdefault("AXLEBOOK_LOG_LEVEL", "WARNING")
os.environ["AXLEBOOK_DATA"] = str(SCRATCH)

from shop.settings import *  # noqa: E402, F403
from shop.settings import DATABASES  # noqa: E402
from shop.settings import JOB_MODULES as SHOP_JOB_MODULES  # noqa: E402

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A benchmark may keep its database, to be run against again.
    DATABASES["default"]["TEST"] = {"NAME": str(Path(os.environ.get("AXLEBOOK_TEST_KEEP") or SCRATCH) / "test.sqlite3")}

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
JOB_MODULES = (*SHOP_JOB_MODULES, "tests.job_handlers")  # type: ignore[assignment]
