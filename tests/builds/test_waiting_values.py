"""`wait`: a value that has to come right by itself is read again before anything else goes on, for everybody, whatever
page it is entered from."""

from __future__ import annotations

import pytest
from django.urls import reverse

from builds.actions.deciding import Agreement, Decided, decide
from builds.actions.tagging import Wrong, open_tag
from builds.errors import NotReady, NotSignable
from builds.models import Visit
from measurements.models import Reading
from shop.clock import shop_day
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import card_with, one
from tests.factories import signed_in_client, with_key

pytestmark = pytest.mark.django_db
_SOURCE = 'source = "test figure"\n'
_AIR = 'unit = "F"\nrecorded_only = true'
_MARGIN = 'name = "dew_point_margin", inputs = { surface_temperature = "15.3", air_temperature = "15.4"'
CARD = card_with(
    15,
    one("15.1", "measured", f'unit = "F"\nlow = 300\nhigh = 400\npositions = 2\non_low = "wait"\non_high = "tag"\n'
        f'reaction = "Heat again"\n{_SOURCE}'),
    one("15.2", "text", "recorded_only = true"),
    one("15.3", "measured", _AIR),
    one("15.4", "measured", _AIR),
    one("15.5", "measured", 'unit = "%"\nrecorded_only = true'),
    one("15.6", "computed", f'unit = "F"\nlow = 5\non_low = "wait"\n{_SOURCE}'
        f'computation = {{ {_MARGIN}, relative_humidity = "15.5" }} }}'),
)  # fmt: skip


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(CARD)


@pytest.fixture(scope="module")
def visit(bench: Bench) -> Visit:
    return bench.begin(bench.axle(), 15)


def rows() -> int:
    return Reading.objects.count()


@pytest.mark.parametrize(("code", "text", "more"), [("15.2", "arc struck", {}), ("15.1", "350", {"position": "2"})])
def test_nothing_else_goes_on_until_it_is_in(
    bench: Bench, visit: Visit, code: str, text: str, more: dict[str, str]
) -> None:
    bench.enter(visit, "15.1", "250", position="1")
    before = rows()
    with pytest.raises(NotReady, match=r"15\.1 N 15\.1, position 1 is 250 F, below.*Heat again.*was not saved"):
        bench.enter(visit, code, text, **more)
    assert rows() == before
    bench.enter(visit, "15.1", "350", position="1", reason="heated again")
    assert bench.enter(visit, code, text, **more).reading.pk


def test_read_again_and_still_too_cold_it_goes_on_waiting(bench: Bench, visit: Visit) -> None:
    bench.enter(visit, "15.1", "250", position="1")
    assert bench.enter(visit, "15.1", "290", position="1", reason="heated").reading.verdict == "below"
    with pytest.raises(NotReady, match="is 290 F"):
        bench.enter(visit, "15.2", "arc struck")


def test_what_a_waiting_value_is_computed_from_is_read_again(bench: Bench, visit: Visit) -> None:
    """Warm wet air over cold steel: by the dew point the margin is below nothing, and above 5 with warmer steel."""
    for code, text in (("15.3", "60"), ("15.4", "80"), ("15.5", "90")):
        taken = bench.enter(visit, code, text)
    assert [row.verdict for row in taken.computed] == ["below"]
    with pytest.raises(NotReady, match=r"15\.6"):
        bench.enter(visit, "15.2", "paint mixed")
    warmer = bench.enter(visit, "15.3", "95", reason="warmed")
    assert [row.verdict for row in warmer.computed] == ["in"]
    assert bench.enter(visit, "15.2", "paint mixed").reading.pk


def test_control_a_value_in_limits_keeps_nothing_waiting(bench: Bench, visit: Visit) -> None:
    bench.enter(visit, "15.1", "350", position="1")
    assert bench.enter(visit, "15.2", "arc struck").reading.pk


def test_control_a_tag_at_one_place_lets_the_others_be_read(bench: Bench, visit: Visit) -> None:
    """Too hot is tagged here, and does not wait: all figures shall be there for the decision."""
    assert bench.enter(visit, "15.1", "410", position="1").reacted.tags
    assert bench.enter(visit, "15.1", "350", position="2").reading.pk


def test_a_conceded_value_waits_no_longer(bench: Bench, visit: Visit) -> None:
    cold = bench.enter(visit, "15.1", "290", position="1").reading
    eve, now = bench.people["eve"], bench.later(minutes=1)
    tag = open_tag(wrong=Wrong(visit.item, "cold steel", visit.axle, visit.operation, cold), by=eve, now=now)
    agreed = Agreement("A. Buyer", shop_day(now), "letter")
    what = Decided("use_as_is", "thin plate", agreement=agreed)
    decide(tag=tag, decided=what, grant=bench.grant("eve", "released"), by=eve, now=bench.later(seconds=5))
    assert bench.enter(visit, "15.2", "arc struck").reading.pk


def test_the_page_stands_at_what_waits_and_says_why(bench: Bench, visit: Visit) -> None:
    bench.enter(visit, "15.1", "250", position="1")
    assert visit.axle is not None
    ada = bench.people["ada"].person
    assert ada is not None
    client, here = signed_in_client(ada), [visit.axle.serial, 15, "-"]
    page = client.get(reverse("station", args=here)).content.decode()
    assert 'name="position" value="1"' in page
    entry = with_key(characteristic="15.2", position="", value="arc struck", **{"try": "1"})
    answer = client.post(reverse("station_reading", args=here), entry)
    assert answer.status_code == 422
    assert "Your entry was not saved" in answer.content.decode()


def test_it_is_not_signed_while_it_waits(bench: Bench, visit: Visit) -> None:
    bench.enter(visit, "15.1", "250", position="1")
    with pytest.raises(NotSignable, match="Heat again"):
        bench.sign(visit)
