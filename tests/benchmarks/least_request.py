"""The least that an entry over HTTP can take here: every middleware, who sits there, the form's token, a posted field,
the same rows by prepared statements, and an answer of one line; nothing is looked up, judged or drawn.

What is left between its ratio and the budget is all that looking up, judging and drawing may take. Prints ratios of
one run; asserts only that the rows are there. Run it on its own, with nothing else on the machine:
    python3 manage.py test -m benchmark tests/benchmarks/least_request.py -s -n0
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import override_settings
from django.urls import path
from django.utils import timezone

from measurements.models import Reading, Sheet
from shop.record.models import Event, Head
from tests.benchmarks.reading import BOLTS, SUBJECT, ByHand, bolts_in_hand, by_page, opened, torques
from tests.benchmarks.rounds import ROUNDS, Taken
from tests.benchmarks.served import posting
from tests.factories import signed_in_client
from tests.shopfloor import open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark, pytest.mark.timeout(1800)]
BUDGET = 3
LINE = "105 in\n"
_write: list[Callable[[], None]] = []


def least(request: HttpRequest) -> HttpResponse:
    assert request.POST["value"] == "105"
    _write[-1]()
    return HttpResponse(LINE)


urlpatterns = [path("least/", least)]


def test_the_least_request(db: None) -> None:
    floor = open_shop()
    client = signed_in_client(floor.people["rusk"])
    post = posting(client)
    Head.objects.create(subject=SUBJECT, sequence=0, hash=bytes(32))
    visit = bolts_in_hand(floor, 0)
    by_page(post, visit, {}, opened(client, visit))
    like = torques(visit)[:1]
    event = Event.objects.filter(kind="reading.entered").order_by("-pk")[0]

    def once(sheet: int) -> None:
        ByHand(like, event, sheet, kept=True).run()

    def by_hand(sheets: list[int]) -> None:
        for sheet in sheets:
            once(sheet)

    def by_request(sheets: list[int]) -> None:
        for sheet in sheets:
            _write[:] = [lambda sheet=sheet: once(sheet)]  # type: ignore[misc]
            answer = post("/least/", {"value": "105"})
            assert answer.status_code == 200
            assert answer.content == LINE.encode()

    taken = Taken()
    with override_settings(ROOT_URLCONF=__name__):
        for number in range(ROUNDS + 1):
            now = timezone.now()
            made = [Sheet.objects.create(item_id=visit.item_id, opened_at=now).pk for _ in range(2 * BOLTS)]
            mine, other = made[:BOLTS], made[BOLTS:]
            ways: dict[str, Callable[[], None]] = {
                "request": lambda mine=mine: by_request(mine),  # type: ignore[misc]
                "prepared": lambda other=other: by_hand(other),  # type: ignore[misc]
            }
            (Taken() if number == 0 else taken).round(ways)  # the first round warms up
            assert Reading.objects.filter(sheet_id__in=made).count() == 2 * BOLTS
    print(
        taken.report("the least request, beside prepared statements", "request", "prepared", times=BOLTS, budget=BUDGET)
    )
