"""How far a pass is: one count, the same on every page (builds.reports.how_far)."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from builds.actions.claiming import LONGEST_PLACE, set_down
from builds.models import Visit
from builds.reports.how_far import HowFar, how_far
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from tests.builds.bench import BENCH_CARD, Bench, open_bench
from tests.builds.bench_cards import card_with, one
from tests.factories import signed_in_client, with_key
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
MEASURED = (
    'unit = "in"\nlow = 1\nhigh = 2\ngauge_kind = "depth_gauge"\non_low = "tag"\non_high = "tag"\nsource = "test"'
)
TICK = 'choices = ["pulled"]\npositions = 4\nrecorded_only = true\noptional = true'


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def builder(floor: Floor) -> Builder:
    """Ring-gear bolts in hand: the temperature and bolts 1 to 3 are read, and one bolt is ticked."""
    made = floor.builder(floor.axle())
    made.kit()
    for key in ("10/", "200/", "210/"):
        made.do(key)
    visit = made.begin("220/")
    made.enter_code(visit, "220.3")
    for code, position in (("220.1", "1"), ("220.1", "2"), ("220.1", "3"), ("220.b", "7")):
        place = work_of(visit).place(code, position)
        assert place is not None
        made.enter(visit, place, "pulled" if code == "220.b" else "105")
    return made


def bolts_of(builder: Builder) -> Visit:
    return Visit.objects.open().get(axle=builder.axle, operation__number=220)


def counts_on(page: str) -> set[str]:
    """What a page says of how far it is, of whatever it says it."""
    return set(re.findall(r"\d+ of \d+, next \w+", page))


def test_every_page_tells_the_same_count_and_the_same_next_place(floor: Floor, builder: Builder) -> None:
    """The temperature, twelve bolts and the runout are asked for: fourteen, not the 51 places that there are."""
    visit = bolts_of(builder)
    assert len(work_of(visit).places) == 51
    rusk: Client = signed_in_client(floor.people["rusk"])
    here = [builder.axle.serial, 220, "-"]
    assert counts_on(rusk.get(reverse("station", args=here)).content.decode()) == {"4 of 14, next 4"}
    rusk.post(reverse("station_set_down", args=here), with_key(note="phone"))
    pages = [
        reverse("station", args=here),
        reverse("floor"),
        reverse("waiting", args=["GB"]),
        reverse("axle", args=[builder.axle.serial]),
    ]
    said = {path: counts_on(rusk.get(path).content.decode()) for path in pages}
    assert said == {path: {"4 of 14, next 4"} for path in pages}
    assert "4 of 14, next 4" in rusk.get(reverse("waiting", args=["GB"]), {"as": "csv"}).content.decode()


def test_a_list_that_is_kept_up_to_date_shows_where_it_was_set_down_the_second_time(
    floor: Floor, builder: Builder
) -> None:
    """Taken up and set down again between two looks: the state is the same word, the place is another."""
    rusk, here = signed_in_client(floor.people["rusk"]), [builder.axle.serial, 220, "-"]
    rusk.post(reverse("station_set_down", args=here), with_key(note=""))
    stamp = re.search(r"stamp=(\w+)", rusk.get(reverse("waiting", args=["GB"])).content.decode())
    assert stamp is not None
    look = {"path": reverse("waiting", args=["GB"]), "data": {"stamp": stamp[1]}, "headers": {"HX-Request": "true"}}
    assert rusk.get(**look).status_code == 204
    rusk.post(reverse("station_take_up", args=here), with_key())
    fields = {"characteristic": "220.1", "position": "4", "value": "105", "gauge": "G-042", "try": "1"}
    rusk.post(reverse("station_reading", args=here), with_key(**fields))
    rusk.post(reverse("station_set_down", args=here), with_key(note=""))
    again = rusk.get(**look)
    assert again.status_code == 200
    assert counts_on(again.content.decode()) == {"5 of 14, next 5"}


def begun(*asked: str) -> tuple[Bench, Visit]:
    """Operation 11 in hand, which asks for these."""
    bench = open_bench(card_with(11, *asked) if asked else BENCH_CARD)
    return bench, bench.begin(bench.axle(), 11 if asked else 10)


def test_what_follows_by_itself_is_not_asked_of_the_person() -> None:
    bench, visit = begun()
    assert str(how_far(work_of(visit))) == "0 of 2, next A"
    bench.enter(visit, "10.1", "3.0630", position="A")
    assert str(how_far(work_of(visit))) == "1 of 2, next B"
    bench.enter(visit, "10.1", "3.0630", position="B")
    work = work_of(visit)
    assert [place.asked.code for place in work.places if place.last is not None] == ["10.1", "10.1", "10.2"]
    assert str(how_far(work)) == "2 of 2"


def test_a_tick_that_may_stay_blank_counts_neither_before_nor_after() -> None:
    bench, visit = begun(one("11.1", "choice", TICK), one("11.2", "measured", MEASURED))
    assert str(how_far(work_of(visit))) == "0 of 1, next N 11.2"
    bench.enter(visit, "11.1", "pulled", position="2")
    assert str(how_far(work_of(visit))) == "0 of 1, next N 11.2"


def test_where_nothing_is_asked_nothing_is_counted() -> None:
    bench, visit = begun(one("11.1", "choice", TICK))
    assert str(how_far(work_of(visit))) == ""
    laid = set_down(visit=visit, note="", by=bench.people["ada"], now=bench.now)
    assert laid.set_down_position == ""


def test_a_long_name_is_cut_between_words_where_it_is_kept() -> None:
    name = "Distance of the bearing seat from the shoulder of the housing"
    long = one("11.1", "measured", MEASURED).replace('"N 11.1"', f'"{name}"')
    bench, visit = begun(long)
    assert how_far(work_of(visit)) == HowFar(0, 1, name)
    laid = set_down(visit=visit, note="", by=bench.people["ada"], now=bench.now)
    assert laid.set_down_position == "0 of 1, next Distance of the bearing seat from the ..."
    assert len(laid.set_down_position) <= LONGEST_PLACE
