"""An operation is opened again in the same instant in which one that waits for it is signed: the signature waits for
the axle, and is then refused. The control asks before the lock, and signs over it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest

from builds.actions import deciding
from builds.actions.deciding import Decided, decide
from builds.actions.finishing import finish
from builds.actions.tagging import report_wrong
from builds.errors import NotSignable
from builds.models import Visit
from builds.reports import pending
from builds.reports.work import work_of
from tests.builds.bench import open_bench
from tests.concurrency.threads import LIMIT_S, together

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.postgresql]


def crosswise(monkeypatch: pytest.MonkeyPatch, first: Callable[[Visit], None] = lambda visit: None) -> list[Any]:
    """Operation 10 is opened again by a decision that holds the axle; meanwhile 20 is signed. `first`: what the signer
    does before the lock."""
    bench = open_bench()
    visit = bench.tightened(bench.axle())
    bored = Visit.objects.get(axle=visit.axle, operation__number=10)
    tag = report_wrong(visit=bored, cause="chatter marks", by=bench.people["ada"], now=bench.later(minutes=1))
    held, signing, real = threading.Event(), threading.Event(), deciding.reopen

    def slow(*arguments: Any, **more: Any) -> Any:
        held.set()
        signing.wait(LIMIT_S)
        signing.clear()
        signing.wait(0.5)  # the signature stands at the lock meanwhile
        return real(*arguments, **more)

    def reopened() -> Any:
        what, grant = Decided("rework", "bore it again"), bench.grant("eve", "released")
        return decide(tag=tag, decided=what, grant=grant, by=bench.people["eve"], now=bench.now)

    def signed() -> Any:
        held.wait(LIMIT_S)
        first(visit)
        signing.set()
        return finish(visit=visit, grant=bench.grant("ada"), by=bench.people["ada"], now=later)

    bench.now = later = bench.later(minutes=1)
    monkeypatch.setattr(deciding, "reopen", slow)
    return [*together(reopened, signed), visit]


def test_the_signature_waits_for_the_axle_and_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    decided, refused, visit = crosswise(monkeypatch)
    assert type(decided).__name__ == "Disposition"
    assert isinstance(refused, NotSignable)
    assert refused.missing == ("Operation 10 Bore the hub comes before this one and is to do again.",)
    assert Visit.objects.get(pk=visit.pk).state == "in_hand"


def test_control_asked_before_the_lock_it_is_signed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    real = pending.opened_before

    def early(visit: Visit) -> None:
        said = real(work_of(Visit.objects.get(pk=visit.pk)))
        monkeypatch.setattr(pending, "opened_before", lambda work: said)

    _, signed, visit = crosswise(monkeypatch, early)
    assert isinstance(signed, Visit)
    assert Visit.objects.get(pk=visit.pk).state == "wait_sign"
    assert Visit.objects.get(axle=visit.axle, operation__number=10).state == "redo"
