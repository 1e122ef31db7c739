"""The record's own jobs: hourly checkpoints of the tree, and the nightly walks over everything."""

from __future__ import annotations

from datetime import timedelta

from django.conf import settings

from shop.record import checkpoint, jobs, keys, replay, verify
from shop.record.models import SigningKey
from shop.record.who import SYSTEM

CHECKPOINT, VERIFY, REPLAY = "ledger.checkpoint", "ledger.verify", "ledger.replay"


@jobs.handler(CHECKPOINT)
def make_checkpoint(work: jobs.Work) -> None:
    """Sign the tree as it stands. The demo makes its own key; a real shop's is made by hand, and kept
    safe."""
    if settings.DEMO and not SigningKey.objects.filter(purpose=keys.LEDGER).exists():
        keys.make_key(keys.LEDGER, by=SYSTEM)
    checkpoint.sign_checkpoint()


@jobs.handler(VERIFY)
def walk(work: jobs.Work) -> None:
    """Walk everything and keep what was found where the manager sees it."""
    verify.inspect()


@jobs.handler(REPLAY)
def compare(work: jobs.Work) -> None:
    """Rebuild the tables from the ledger, compare, and keep what was found beside the walk's result."""
    replay.inspect(alive=work.renew)


jobs.schedule(CHECKPOINT, every=timedelta(hours=1))
jobs.schedule_nightly(VERIFY, hour=3)
jobs.schedule_nightly(REPLAY, hour=3)
