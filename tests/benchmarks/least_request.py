"""The least that an entry over HTTP can take here: every middleware, who sits there, the form's token, a posted field,
the same rows by prepared statements, and an answer of one line; nothing is looked up, judged or drawn. Then the same
with every question that an entry asks the database sent there as well, and nothing made of the answers.

What is left between their ratios and the budget is all that judging and drawing may take. Prints ratios of one run;
asserts only that the rows are there. Run it on its own, with nothing else on the machine:
    python3 manage.py test -m benchmark tests/benchmarks/least_request.py -s -n0
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.test import override_settings
from django.urls import path
from django.utils import timezone

from measurements.models import Reading, Sheet
from shop.models.hot_cursor import hot_cursor
from shop.record.models import Event, Head
from tests.benchmarks.reading import BOLTS, SUBJECT, ByHand, bolts_in_hand, by_hand, by_page, opened, torques
from tests.benchmarks.rounds import ROUNDS, Taken
from tests.benchmarks.served import posting
from tests.factories import signed_in_client
from tests.shopfloor import open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark, pytest.mark.timeout(1800)]
BUDGET = 3
LINE = "105 in\n"
#: What an entry asks, in its order: the seat (which every request asks), the pass, what is at hand, the readings, the
#: gauge.
OF_AN_ENTRY = ("shop_signin", "builds_visit", "v.state", "measurements_reading", "measurements_calibration")
QUESTIONS = len(OF_AN_ENTRY)
_write: list[Callable[[], None]] = []
Question = tuple[str, list[Any]]


def least(request: HttpRequest) -> HttpResponse:
    assert request.POST["value"] == "105"
    _write[-1]()
    return HttpResponse(LINE)


urlpatterns = [path("least/", least)]


def questions(do: Callable[[], None]) -> list[Question]:
    """The questions that are asked meanwhile, without the one for the chain's head, which the rows ask themselves."""
    asked: list[Question] = []

    def noted(execute: Callable[..., Any], query: str, params: Any, many: bool, context: Any) -> Any:
        if query.lstrip().startswith("SELECT") and "FOR UPDATE" not in query:
            asked.append((query, list(params)))
        return execute(query, params, many, context)

    with connection.execute_wrapper(noted):
        do()
    return asked


def ask(asked: list[Question]) -> None:
    for query, params in asked:
        with hot_cursor(connection) as cursor:
            cursor.execute(query, params)
            cursor.fetchall()


@pytest.mark.postgresql
def test_the_least_request(db: None) -> None:
    floor = open_shop()
    client = signed_in_client(floor.people["rusk"])
    post = posting(client)
    Head.objects.create(subject=SUBJECT, sequence=0, hash=bytes(32))
    visit = bolts_in_hand(floor, 0)
    every_question = questions(lambda: by_page(post, visit, {}, opened(client, visit)))
    own = every_question[-QUESTIONS:]
    assert [find in query for (query, _), find in zip(own, OF_AN_ENTRY, strict=True)] == [True] * QUESTIONS
    like = torques(visit)[:1]
    event = Event.objects.filter(kind="reading.entered").order_by("-pk")[0]

    def alone(every: list[ByHand]) -> None:
        for one in every:
            one.run()

    def by_request(every: list[ByHand], asked: list[Question]) -> None:
        for one in every:
            _write[:] = [lambda one=one: (ask(asked), one.run())]  # type: ignore[list-item, misc]
            answer = post("/least/", {"value": "105"})
            assert answer.status_code == 200
            assert answer.content == LINE.encode()

    taken = Taken()
    with override_settings(ROOT_URLCONF=__name__):
        for number in range(ROUNDS + 1):
            now = timezone.now()
            made = [Sheet.objects.create(item_id=visit.item_id, opened_at=now).pk for _ in range(3 * BOLTS)]
            every = [by_hand(like, event, sheet, kept=True) for sheet in made]
            mine, other, third = every[:BOLTS], every[BOLTS : 2 * BOLTS], every[2 * BOLTS :]
            ways: dict[str, Callable[[], None]] = {
                "request": lambda mine=mine: by_request(mine, []),  # type: ignore[misc]
                "asking": lambda third=third: by_request(third, own[1:]),  # type: ignore[misc]
                "prepared": lambda other=other: alone(other),  # type: ignore[misc]
            }
            (Taken() if number == 0 else taken).round(ways)  # the first round warms up
            assert Reading.objects.filter(sheet_id__in=made).count() == 3 * BOLTS
    for title, subject in (("the least request", "request"), ("and its questions asked", "asking")):
        print(taken.report(f"{title}, beside prepared statements", subject, "prepared", times=BOLTS, budget=BUDGET))
