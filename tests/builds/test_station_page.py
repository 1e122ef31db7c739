"""The station page, through the pages: one Enter, one reading; refusals draw everything again."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from builds.models import Visit
from measurements.models import Reading
from shop.actions.people import set_pin
from shop.models import Person
from shop.record.who import SYSTEM
from tests.factories import signed_in_client, with_key
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def bolts(floor: Floor) -> Visit:
    """Ring-gear bolts in hand: the gear's temperature is read and the parts are in."""
    builder = floor.builder(floor.axle())
    builder.kit()
    for key in ("10/", "200/", "210/"):
        builder.do(key)
    visit = builder.begin("220/")
    builder.enter_code(visit, "220.3")
    return visit


@pytest.fixture
def rusk(floor: Floor) -> Client:
    return signed_in_client(floor.people["rusk"])


def at(visit: Visit, act: str = "") -> str:
    assert visit.axle is not None
    return reverse(f"station{act and '_'}{act}", args=[visit.axle.serial, visit.operation.number, "-"])


def enter(client: Client, visit: Visit, position: str, value: str, **more: Any) -> HttpResponse:
    fields = {"characteristic": "220.1", "position": position, "value": value, "gauge": "G-042", "try": "1"}
    response: HttpResponse = client.post(at(visit, "reading"), with_key(**(fields | more)))
    return response


def torques(visit: Visit) -> list[str]:
    rows = Reading.objects.filter(sheet__visit_links__visit=visit, characteristic__code="220.1")
    return [row.typed for row in rows.order_by("pk")]


def test_page_names_the_next_bolt(rusk: Client, bolts: Visit) -> None:
    page = rusk.get(at(bolts)).content.decode()
    assert "Bolt <b>1</b> of 12" in page
    assert "100 to 110 ft-lb" in page


@pytest.mark.parametrize("name", ["station", "waiting", "take up", "axle", "mine"])
def test_the_bench_book_is_one_press_away(rusk: Client, bolts: Visit, name: str) -> None:
    assert bolts.axle is not None
    serial = bolts.axle.serial
    addresses = {
        "station": at(bolts), "waiting": reverse("waiting", args=["GB"]), "axle": reverse("axle", args=[serial]),
        "take up": reverse("station", args=[serial, 230, "-"]), "mine": reverse("mine"),
    }  # fmt: skip
    assert f'href="{reverse("bench_book")}"' in rusk.get(addresses[name]).content.decode()


def test_one_enter_is_one_reading(rusk: Client, bolts: Visit) -> None:
    assert enter(rusk, bolts, "1", "105").status_code == 303
    assert torques(bolts) == ["105"]
    assert "Bolt <b>2</b> of 12" in rusk.get(at(bolts)).content.decode()


def test_double_press_makes_one_entry(rusk: Client, bolts: Visit) -> None:
    fields = with_key(characteristic="220.1", position="1", value="105", gauge="G-042", **{"try": "1"})
    first, second = (rusk.post(at(bolts, "reading"), fields) for _ in range(2))
    assert (first.status_code, second.status_code) == (303, 303)
    assert torques(bolts) == ["105"]


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("", "Blank is not zero"),
        ("10,5", "has a comma"),
        ("abc", "is not a figure"),
        ("105.5", "finer than the gauge reads"),
        ("99999999999", "too large"),
    ],
)
def test_bad_figure_is_refused_and_kept(rusk: Client, bolts: Visit, value: str, said: str) -> None:
    response = enter(rusk, bolts, "1", value)
    assert response.status_code == 422
    assert said in response.content.decode()
    assert f'value="{value}"' in response.content.decode() or value == ""
    assert torques(bolts) == []


def test_figure_far_off_is_asked_about_once(rusk: Client, bolts: Visit) -> None:
    asked = enter(rusk, bolts, "1", "11", gauge="G-044")
    assert asked.status_code == 422
    assert "11 is out of limits, but 110 would be in" in asked.content.decode()
    assert torques(bolts) == []


def test_figure_far_off_is_kept_when_it_is_sure(rusk: Client, bolts: Visit) -> None:
    assert enter(rusk, bolts, "1", "590", gauge="G-043", sure="590").status_code == 303
    reading = Reading.objects.get(characteristic__code="220.1")
    assert (reading.verdict, reading.questioned) == ("above", True)


def test_the_answer_to_one_figure_does_not_keep_another(rusk: Client, bolts: Visit) -> None:
    asked = enter(rusk, bolts, "1", "580", gauge="G-043", sure="590")
    assert asked.status_code == 422
    assert "more than five times the tolerance" in asked.content.decode()
    assert torques(bolts) == []


def test_a_unit_that_is_none_is_refused(rusk: Client, bolts: Visit) -> None:
    response = enter(rusk, bolts, "1", "105", unit="furlong")
    assert (response.status_code, "is not a unit of the same kind" in response.content.decode()) == (422, True)


def test_no_gauge_is_refused(rusk: Client, bolts: Visit) -> None:
    response = enter(rusk, bolts, "1", "105", gauge="")
    assert response.status_code == 422
    assert "No gauge was scanned" in response.content.decode()


def test_wrong_kind_of_gauge_is_refused(rusk: Client, bolts: Visit) -> None:
    response = enter(rusk, bolts, "1", "105", gauge="G-017")
    assert "G-017 is a bore gauge; this needs a torque wrench" in response.content.decode()
    assert torques(bolts) == []


def test_gauge_out_of_its_range_is_refused(rusk: Client, bolts: Visit) -> None:
    response = enter(rusk, bolts, "1", "105", gauge="G-044")
    assert "outside the range of G-044" in response.content.decode()


def test_scanned_gauge_stays_chosen(rusk: Client, bolts: Visit) -> None:
    assert rusk.post(at(bolts, "scan"), with_key(scan="~G:G-042")).status_code == 303
    assert 'name="gauge" value="G-042"' in rusk.get(at(bolts)).content.decode()


def test_second_terminal_sees_the_first_ones_entry(floor: Floor, rusk: Client, bolts: Visit) -> None:
    noor = signed_in_client(floor.people["noor"])
    assert enter(rusk, bolts, "1", "105").status_code == 303
    late = enter(noor, bolts, "1", "107")
    assert late.status_code == 409
    assert "was entered meanwhile by Rusk A." in late.content.decode()
    assert torques(bolts) == ["105"]


def test_new_try_needs_a_reason(rusk: Client, bolts: Visit) -> None:
    enter(rusk, bolts, "1", "98")
    assert enter(rusk, bolts, "1", "104", **{"try": "2"}).status_code == 422
    assert enter(rusk, bolts, "1", "104", reason="loosened, new adhesive", **{"try": "2"}).status_code == 303
    assert torques(bolts) == ["98", "104"]


def test_second_low_torque_opens_a_red_tag(rusk: Client, bolts: Visit) -> None:
    enter(rusk, bolts, "1", "98")
    assert not bolts.axle.red_tags.exists()  # type: ignore[union-attr]
    enter(rusk, bolts, "1", "97", reason="new adhesive", **{"try": "2"})
    assert bolts.axle.red_tags.open().count() == 1  # type: ignore[union-attr]


def test_over_torque_opens_a_red_tag_at_once(rusk: Client, bolts: Visit) -> None:
    enter(rusk, bolts, "1", "112")
    assert bolts.axle.red_tags.open().count() == 1  # type: ignore[union-attr]


def test_missing_position_is_named_at_the_signature(floor: Floor, bolts: Visit) -> None:
    client = signed_in_client(_with_pin(floor.people["rusk"]))
    for position in [str(number) for number in range(1, 13) if number != 7]:
        enter(client, bolts, position, "105")
    response = client.post(at(bolts, "finish"), with_key(pin="271828", meaning="did"))
    assert response.status_code == 422
    assert "220.1 Ring-gear bolt torque, position 7: no reading" in response.content.decode()


def _with_pin(person: Person) -> Person:
    set_pin(person=person, pin="271828", by=SYSTEM)
    return Person.objects.get(pk=person.pk)


def test_htmx_gets_the_fragment(rusk: Client, bolts: Visit) -> None:
    fields = with_key(characteristic="220.1", position="1", value="105", gauge="G-042", **{"try": "1"})
    response = rusk.post(at(bolts, "reading"), fields, headers={"HX-Request": "true"})
    assert response.status_code == 200
    assert response.content.decode().lstrip().startswith('<main id="work"')
    assert "Bolt <b>2</b> of 12" in response.content.decode()


def in_place(client: Client, visit: Visit, position: str, value: str, shown: str, **more: str) -> str:
    """One entry as a page that a script keeps up to date posts it: with the mark of what it shows."""
    fields = with_key(
        characteristic="220.1", position=position, value=value, gauge="G-042", shown=shown, **{"try": "1"}, **more
    )
    response = client.post(at(visit, "reading"), fields, headers={"HX-Request": "true"})
    assert response.status_code in (200, 409, 422)
    return response.content.decode()


def shown_on(page: str) -> str:
    return page.partition('name="shown" value="')[2].partition('"')[0]


PARTS = ("now-watch", "now-entry", "now-picture", "now-result", "now-progress", "now-sign")


def part(page: str, name: str) -> str:
    """One element of the page, without what sends it to its own place or sounds once, and without keys."""
    begin = re.search(rf'<(\w+) id="{name}"', page)
    assert begin is not None, name
    depth = 0
    for tag in re.finditer(rf"<(/?){begin[1]}\b", page[begin.start() :]):
        depth += -1 if tag[1] else 1
        if depth == 0:
            break
    text = page[begin.start() : begin.start() + tag.end()]
    text = re.sub(r' hx-swap-oob="true"| data-tone="\w+"', "", text)
    text = re.sub(r'name="(submission|csrfmiddlewaretoken)" value="[^"]*"', "", text)
    return " ".join(text.split())


def test_an_entry_at_a_page_that_shows_all_before_it_gets_only_what_changed(rusk: Client, bolts: Visit) -> None:
    """And each part is what the whole page, loaded anew, holds at its place."""
    whole = rusk.get(at(bolts)).content.decode()
    for position, value in (("1", "105"), ("2", "104"), ("3", "120")):
        answer = in_place(rusk, bolts, position, value, shown_on(whole))
        assert 'id="work"' not in answer
        whole = rusk.get(at(bolts)).content.decode()
        assert shown_on(answer) == shown_on(whole) != ""
        for name in PARTS:
            assert part(answer, name) == part(whole, name)
    assert "120, 10 ft-lb over" in part(answer, "now-result")


def test_the_whole_page_comes_where_somebody_else_entered_meanwhile(floor: Floor, rusk: Client, bolts: Visit) -> None:
    shown = shown_on(rusk.get(at(bolts)).content.decode())
    noor = signed_in_client(floor.people["noor"])
    enter(noor, bolts, "5", "103")
    answer = in_place(rusk, bolts, "1", "105", shown)
    assert answer.lstrip().startswith('<main id="work"')
    assert "Orne" in answer or "Noor" in answer
    assert bolts.axle is not None
    assert 'id="work"' not in in_place(rusk, bolts, "2", "105", shown_on(answer))


def test_a_refused_entry_gets_the_whole_page_and_the_next_one_too(rusk: Client, bolts: Visit) -> None:
    shown = shown_on(rusk.get(at(bolts)).content.decode())
    refused = in_place(rusk, bolts, "1", "10.55", shown)
    assert refused.lstrip().startswith('<main id="work"')
    assert shown_on(refused) == ""
    assert 'id="work"' in in_place(rusk, bolts, "1", "105", "")


def test_a_press_repeated_in_place_makes_one_entry_and_draws_the_record(rusk: Client, bolts: Visit) -> None:
    shown = shown_on(rusk.get(at(bolts)).content.decode())
    fields = with_key(characteristic="220.1", position="1", value="105", gauge="G-042", shown=shown, **{"try": "1"})
    first, second = (rusk.post(at(bolts, "reading"), fields, headers={"HX-Request": "true"}) for _ in range(2))
    assert 'id="work"' not in first.content.decode()
    assert second.content.decode().lstrip().startswith('<main id="work"')
    assert torques(bolts) == ["105"]


def test_set_down_keeps_the_place_and_the_note(floor: Floor, rusk: Client, bolts: Visit) -> None:
    for position in ("1", "2", "3"):
        enter(rusk, bolts, position, "105")
    rusk.post(at(bolts, "set_down"), with_key(note="phone"))
    noor = signed_in_client(floor.people["noor"])
    page = noor.get(at(bolts)).content.decode()
    assert "set down</span></span> by Rusk Adeholm, at 4 of 14, next 4, phone" in page
    noor.post(at(bolts, "take_up"), with_key())
    assert "Bolt <b>4</b> of 12" in noor.get(at(bolts)).content.decode()


def test_stranger_to_the_work_is_refused(floor: Floor, bolts: Visit) -> None:
    response = enter(signed_in_client(floor.people["pia"]), bolts, "1", "105")
    assert response.status_code == 422
    assert "Pia Venneker does not hold that role" in response.content.decode()


def test_vanished_axle_is_not_found(rusk: Client) -> None:
    assert rusk.get(reverse("station", args=["TBK-26-9999-9", 220, "-"])).status_code == 404


def test_before_it_is_taken_up_the_way_back_is_the_waiting_list(floor: Floor, rusk: Client) -> None:
    axle = floor.axle()
    for number in (200, 220):  # one that can begin and one that cannot
        page = rusk.get(reverse("station", args=[axle.serial, number, "-"])).content.decode()
        assert f'href="{reverse("waiting", args=["GB"])}"' in page
