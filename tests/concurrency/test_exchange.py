"""One spare shaft is put into two axles that came back, at two desks in the same second: it goes into one.

The control takes the spare's lock away, and both axles are then said to hold it.
"""

from __future__ import annotations

import threading
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from builds.actions import exchanging
from builds.actions.exchanging import Swap, exchange
from builds.actions.receiving import NewPart, take_in_part
from builds.models import Fitted
from shop.models import Item, PartKind, Place, Role, Supplier
from shop.record.who import Who
from tests import factories
from tests.builds.bench import open_bench
from tests.concurrency.threads import LIMIT_S, together

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.timeout(300)]


def two_gone_and_a_spare() -> tuple[list[Fitted], Item, Who]:
    """The shafts of two axles that have left, and a shaft in stock."""
    bench = open_bench(begin=timezone.now() - timedelta(days=1))
    bench.people["omni"] = omni = Who(factories.person("omni", *Role))
    made = [bench.sent(omni) for _ in range(2)]
    shafts = [Fitted.objects.now().select_related("axle__item").get(axle=axle, role="shaft") for axle in made]
    new = NewPart("SPARE-1", PartKind.objects.get(code="shaft"), Supplier.objects.all()[0])
    return shafts, take_in_part(part=new, by=omni).item, omni


def at_once(shafts: list[Fitted], by: Who) -> list[Any]:
    def swap(old: Fitted) -> Any:
        assert old.axle is not None
        return exchange(axle=old.axle, swaps=[Swap(old, "SPARE-1", "scrap")], reason="worn", by=by)

    return together(*(lambda old=old: swap(old) for old in shafts))


def test_one_spare_goes_into_one_axle() -> None:
    shafts, spare, omni = two_gone_and_a_spare()
    outcomes = at_once(shafts, omni)
    assert sorted(isinstance(outcome, list) for outcome in outcomes) == [False, True]
    row = Fitted.objects.now().get(part=spare)
    refused = next(outcome for outcome in outcomes if not isinstance(outcome, list))
    assert "SPARE-1" in str(refused)
    assert Place.objects.get(pk=spare.pk).host_id == row.host_id
    left = next(old for old in shafts if old.axle_id != row.axle_id)
    assert Fitted.objects.now().filter(pk=left.pk).exists()  # nothing came out of the other


@pytest.mark.postgresql
def test_control_without_the_spares_lock_both_would_hold_it(monkeypatch: pytest.MonkeyPatch) -> None:
    shafts, spare, omni = two_gone_and_a_spare()
    both, real = threading.Barrier(2), exchanging.require_at_hand

    def looked(*facts: Any) -> None:
        real(*facts)
        both.wait(LIMIT_S)

    monkeypatch.setattr(exchanging, "_locked", lambda items: ())
    monkeypatch.setattr(exchanging, "require_at_hand", looked)
    outcomes = at_once(shafts, omni)
    assert [isinstance(outcome, list) for outcome in outcomes] == [True, True]
    assert Fitted.objects.now().filter(part=spare).count() == 2
