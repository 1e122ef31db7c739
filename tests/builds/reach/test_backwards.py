"""What is in an axle on a chosen day: by a brute-force walk, in a constant number of statements, and on its page."""

from __future__ import annotations

from datetime import datetime, time, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.actions.fitting import fit_part, take_out
from builds.models import Axle
from builds.reports.reach.backwards import Contents, contents, on_day
from shop.clock import shop_day, shop_zone
from shop.errors import Refusal
from shop.models import Role
from shop.record.who import Who
from tests.builds.floor import axle, bar, heat, lot, person, released, visit
from tests.builds.pages import Browser, text_of
from tests.builds.reach.brute import FORMER, NOW, afresh, inside_on
from tests.builds.reach.world import small

pytestmark = pytest.mark.django_db
SEEDS = range(4)


def told(found: Contents) -> dict[int, str]:
    words = {line.item: FORMER for line in found.formerly}
    return words | {line.item: NOW for line in found.now_in}


@pytest.mark.parametrize("seed", SEEDS)
def test_every_axle_on_every_day_as_a_brute_force_walk_finds_it(seed: int) -> None:
    afresh()
    world = small(seed)
    seen: set[str] = set()
    for one in Axle.objects.select_related("item"):
        for number in range(11):
            day = shop_day(world.day(number))
            found = contents(one, day)
            end = datetime.combine(day + timedelta(days=1), time(), shop_zone())
            assert told(found) == inside_on(one.item, end), f"seed {seed}: {one.serial} on {day}"
            seen |= set(told(found).values())
    assert seen == {NOW, FORMER}  # or nothing was tried


def test_the_number_of_statements_does_not_grow() -> None:
    afresh()
    world = small(1, axles=4)
    counts = []
    for one in Axle.objects.select_related("item").filter(item__in=world.axles):
        with CaptureQueriesContext(
            connection,
        ) as said:
            contents(one, shop_day(world.day(30)))
        counts.append(len(said))
    assert len(set(counts)) == 1
    assert counts[0] <= 7


@pytest.fixture
def bored() -> Axle:
    """A bearing in and out again, one in its place, and a tube of a known melt."""
    built = axle(released())
    lot("bearing", "PB-1")
    lot("bearing", "PB-2")
    bar("BAR-1", heat("Q1"))
    work = visit(built, 30)
    by = Who(work.claimed_by)
    first = fit_part(visit=work, scan="PB-1", by=by)
    take_out(fitted=first, reason="noisy", to="scrap", by=by)
    fit_part(visit=work, scan="PB-2", by=by)
    tube = visit(built, 20, side="left")
    fit_part(visit=tube, scan="BAR-1", by=Who(tube.claimed_by))
    return built


def test_its_page_from_the_axle_file(bored: Axle) -> None:
    browser, url = Browser(person(Role.PAINTER)), reverse("axle_inside", args=[bored.serial])
    assert url in browser.get(reverse("axle", args=[bored.serial])).content.decode()
    page = text_of(browser.get(url))
    before, _, after = page.partition("Formerly in it")
    assert "PB-2" in before
    assert "PB-1" not in before
    assert "PB-1" in after
    assert "heat of tube stock Q1" in before  # down to the melt
    lines = browser.get(f"{url}?as=csv").content.decode().splitlines()
    assert sum(",formerly in it," in line and ",PB-1," in line for line in lines) == 1
    assert sum(",in it," in line and ",Q1," in line for line in lines) == 1


@pytest.mark.parametrize(
    ("typed", "said"),
    [("yesterday", "year-month-day"), ("2925-01-01", "lies ahead"), ("2001-01-01", "no such axle"), ("x" * 90, "year")],
)
def test_a_day_that_cannot_be_meant(bored: Axle, typed: str, said: str) -> None:
    answer = Browser(person(Role.PAINTER)).get(reverse("axle_inside", args=[bored.serial]), {"day": typed})
    assert answer.status_code == 422
    assert said in text_of(answer)
    assert f'value="{typed[:20]}"' in answer.content.decode()
    with pytest.raises(Refusal):
        on_day(typed, bored, timezone.now())
