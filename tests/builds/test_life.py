"""An axle's life at random: every step must go as a plain model says, and what is recorded stays.

At the end of every life the ledger verifies, and replaying it into an empty database gives equal tables. A control
breaks one rule at a time, and the machine must find it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest
from django.apps import apps
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import invariant, rule, run_state_machine_as_test

from builds.actions import closing, finishing
from builds.models import Closing, Done, Fitted, Hold, RedTag, Span, Visit
from builds.reports.work import work_of
from measurements.models import Reading
from tests.builds.bench import open_bench
from tests.builds.life_model import COUNTED
from tests.builds.life_steps import LifeSteps

pytestmark = pytest.mark.django_db
KEPT = ("measurements.Reading", "measurements.Voiding", "builds.Visit", "builds.Fitted", "builds.Removal",
        "builds.RedTag", "builds.Disposition", "builds.Done", "builds.Hold", "builds.Reopening", "record.Event",
        "record.Signature")  # fmt: skip
LABELS = {"Reading": "measurements", "Voiding": "measurements"}


class AxleLife(LifeSteps):
    """The steps, with a worker who knows what comes next, and what must be so after every step."""

    def __init__(self) -> None:
        super().__init__()
        self.kept: dict[str, set[Any]] = {label: set() for label in KEPT}
        self.before = counted()

    @rule(steps=st.sampled_from([4, 8, 2, 1, 14]))
    def go_on(self, steps: int) -> None:
        """Without it chance alone would hardly ever come to the end."""
        for _ in range(steps):
            self.next_step()

    # What must be so

    @invariant()
    def counts_match(self) -> None:
        rows = counted()
        assert {name: rows[name] - self.before[name] for name in COUNTED} == self.life.counts

    @invariant()
    def what_is_recorded_stays(self) -> None:
        for label in KEPT:
            now = set(apps.get_model(label).objects.values_list("pk", flat=True))
            assert self.kept[label] <= now, f"{label} lost rows"
            self.kept[label] = now

    @invariant()
    def states_and_values_are_the_models(self) -> None:
        """Also: nothing that is signed has a blank position."""
        for number, passes in self.life.passes.items():
            rows = Visit.objects.filter(operation__number=number, axle=self.axle).order_by("number") if passes else []
            assert [row.state for row in rows] == [one.state for one in passes]
            if passes:
                work, at = work_of(self.visit(number)), passes[-1]
                for place in work.places:
                    last = at.last((place.asked.code, place.position))
                    assert (place.last is None) == (last is None), place.named
                    assert place.last is None or last is None or same(place.last, last.value), place.named
                    assert place.last is not None or at.state not in ("done", "wait_sign"), place.named

    @invariant()
    def no_hold_was_signed_by_a_doer(self) -> None:
        for row in Hold.objects.select_related("visit", "signature"):
            signer, at = row.signature.person_id, row.signature.at
            looked_at = (10, 20)
            visits = Visit.objects.filter(axle=row.visit.axle, operation__number__in=looked_at)
            assert not Span.objects.filter(visit__in=visits, person=signer, begun_at__lt=at).exists()
            read = Reading.objects.filter(sheet__visit_links__visit__in=visits, person=signer, entered_at__lt=at)
            assert not read.exists()
            assert not Fitted.objects.filter(visit__in=visits, person=signer, at__lt=at).exists()
            assert not Done.objects.filter(visit__in=visits, signature__person=signer, signature__at__lt=at).exists()

    @invariant()
    def nothing_closes_over_an_open_tag(self) -> None:
        for row in Closing.objects.all():
            assert not RedTag.objects.open().filter(axle=row.axle, after_closing=False).exists()
            assert not Visit.objects.filter(axle=row.axle).exclude(state__in=("done", "redo")).exists()


def counted() -> dict[str, int]:
    return {name: apps.get_model(LABELS.get(name, "builds"), name).objects.count() for name in COUNTED}


def same(reading: Reading, value: int) -> bool:
    code = reading.characteristic.code
    if code == "30.1":
        return reading.typed == ("yes" if value else "no")
    return reading.value is not None and reading.value * (1 if code == "20.1" else 10000) == value


def live(examples: int, steps: int) -> None:
    run_state_machine_as_test(
        AxleLife,
        settings=settings(
            max_examples=examples, stateful_step_count=steps, deadline=None, derandomize=True, database=None,
            phases=[Phase.explicit, Phase.generate], suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip


@pytest.fixture(scope="module", autouse=True)
def bench(once_per_module: None) -> None:
    AxleLife.bench, AxleLife.made = open_bench(), Counter()


def test_a_life_goes_as_the_model_says() -> None:
    AxleLife.made.clear()
    live(18, 25)
    assert not [name for name in COUNTED if not AxleLife.made[name]], "no life came so far"


BROKEN: dict[str, tuple[Any, str, Callable[..., Any]]] = {
    "a doer may sign the hold": (finishing, "require_independent", lambda *_: None),
    "a blank may be signed": (finishing, "not_signable", lambda work: []),
    "an axle may close at any time": (closing, "missing_for_closing", lambda axle, now: []),
}


@pytest.mark.parametrize("rule_broken", BROKEN)
def test_control_a_broken_rule_is_found(monkeypatch: pytest.MonkeyPatch, rule_broken: str) -> None:
    where, name, broken = BROKEN[rule_broken]
    monkeypatch.setattr(where, name, broken)
    with pytest.raises(AssertionError):
        live(40, 25)
