"""Who may let a value pass, by its class: safety and fit the engineer, look the inspector too (house rule, "Class S
concession: engineer, and customer's agreement; F: engineer; L: inspector"). The control is who may, beside who not."""

from __future__ import annotations

import pytest

from builds.actions.deciding import Agreement, Decided, decide
from builds.actions.tagging import report_wrong
from builds.errors import NotYours
from builds.models import Concession, RedTag, Visit
from shop.clock import shop_day
from shop.errors import Refusal
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import card_with, one

pytestmark = pytest.mark.django_db
CODES = {"S": "15.1", "F": "15.2", "L": "15.3"}
_LIMITS = 'unit = "in"\nhigh = 0.003\ndecimals = 4\non_high = "tag"\nsource = "test figure"\n'
CARD = card_with(15, *(one(code, "measured", f'{_LIMITS}class = "{word}"') for word, code in CODES.items()))


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(CARD)


@pytest.fixture(scope="module")
def visit(bench: Bench) -> Visit:
    return bench.begin(bench.axle(), 15)


def let_pass(bench: Bench, tag: RedTag, who: str, *, agreed: bool = True) -> None:
    agreement = Agreement("A. Buyer", shop_day(bench.now), "letter") if agreed else None
    what = Decided("use_as_is", "does no harm", agreement=agreement)
    grant = bench.grant(who, "released")
    decide(tag=tag, decided=what, grant=grant, by=bench.people[who], now=bench.later(seconds=5))


@pytest.mark.parametrize(
    ("word", "who", "may"),
    [
        ("S", "eve", True), ("S", "cy", False), ("S", "quinn", False), ("S", "mo", False),
        ("F", "eve", True), ("F", "cy", False), ("F", "quinn", False),
        ("L", "eve", True), ("L", "cy", True), ("L", "quinn", False), ("L", "ada", False),
    ],
)  # fmt: skip
def test_who_lets_a_value_pass(bench: Bench, visit: Visit, word: str, who: str, *, may: bool) -> None:
    (tag,) = bench.enter(visit, CODES[word], "0.0031").reacted.tags
    before = Concession.objects.count()
    if may:
        let_pass(bench, tag, who)
    else:
        with pytest.raises(NotYours, match="is decided by"):
            let_pass(bench, tag, who)
    assert Concession.objects.count() == before + may


@pytest.mark.parametrize(("word", "needed"), [("S", True), ("F", False), ("L", False)])
def test_for_what_the_customer_is_asked(bench: Bench, visit: Visit, word: str, *, needed: bool) -> None:
    (tag,) = bench.enter(visit, CODES[word], "0.0031").reacted.tags
    if needed:
        with pytest.raises(Refusal, match="needs the customer's agreement"):
            let_pass(bench, tag, "eve", agreed=False)
        return
    let_pass(bench, tag, "eve", agreed=False)


@pytest.mark.parametrize("who", ["eve", "cy", "quinn"])
def test_what_somebody_saw_without_a_reading_is_no_concession(bench: Bench, visit: Visit, who: str) -> None:
    tag = report_wrong(visit=visit, cause="a scratch", by=bench.people["ada"], now=bench.later(minutes=1))
    before = Concession.objects.count()
    let_pass(bench, tag, who)
    assert Concession.objects.count() == before
