"""Ticks that may stay blank: who signs is asked about those left out, and the answer is kept with the signature."""

from __future__ import annotations

import json
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from builds.actions.finishing import finish
from builds.certificates.record import not_recorded
from builds.errors import NotTicked
from builds.models import Visit, VisitState
from builds.reports.pending import not_signable, ticks_left_out
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from shop.actions.people import set_pin
from shop.models import Person
from shop.record.models import Event
from shop.record.who import SYSTEM
from tests.builds.test_station_page import at
from tests.factories import signed_in_client, with_key
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
PIN = "271828"
FIRST, SECOND, THIRD = (
    "220.b First pass, 30 %: bolts ticked", "220.c Second pass, 70 %: bolts ticked",
    "220.d Third pass, full torque: bolts ticked",
)  # fmt: skip


@pytest.fixture(scope="module")
def bolts(once_per_module: None) -> tuple[Floor, Builder, Visit]:
    """Every bolt has its figure. The first pass is ticked but for bolts 4 and 3, the second whole, the third not."""
    floor = open_shop()
    builder = floor.builder(floor.axle())
    builder.kit()
    for key in ("10/", "200/", "210/"):
        builder.do(key)
    visit = builder.begin("220/")
    builder.fill(visit)
    for place in work_of(visit).places:
        if place.asked.code == "220.c" or (place.asked.code == "220.b" and place.position not in ("3", "4")):
            builder.enter(visit, place, "pulled")
    return floor, builder, visit


@pytest.fixture
def rusk(bolts: tuple[Floor, Builder, Visit]) -> Client:
    person = bolts[0].people["rusk"]
    set_pin(person=person, pin=PIN, by=SYSTEM)
    return signed_in_client(Person.objects.get(pk=person.pk))


def kept(visit: Visit) -> list[str]:
    event = Event.objects.filter(subject=visit.subject, kind="operation.signed").latest("pk")
    found: list[str] = json.loads(bytes(event.content))["notes"].get("not_ticked", [])
    return found


def test_what_is_left_out_is_named_row_by_row_and_forbids_nothing(bolts: tuple[Floor, Builder, Visit]) -> None:
    work = work_of(bolts[2])
    assert ticks_left_out(work) == [f"{FIRST}: all but 4, 3.", f"{THIRD}: none."]
    assert not_signable(work) == []


def test_a_signature_that_was_not_asked_is_asked_first(rusk: Client, bolts: tuple[Floor, Builder, Visit]) -> None:
    visit = bolts[2]
    drawn = unescape(rusk.get(at(visit)).content.decode())
    assert f'name="without" value="{FIRST}: all but 4, 3."' in drawn
    response = rusk.post(at(visit, "finish"), with_key(pin=PIN, meaning="did"))
    assert response.status_code == 422
    said = unescape(response.content.decode())
    assert f"Not ticked: {FIRST}: all but 4, 3. {THIRD}: none. Tick what was done, or give the PIN again" in said
    assert Visit.objects.get(pk=visit.pk).state == VisitState.IN_HAND


def test_who_was_asked_signs_and_it_is_kept(rusk: Client, bolts: tuple[Floor, Builder, Visit]) -> None:
    visit = bolts[2]
    left = [f"{FIRST}: all but 4, 3.", f"{THIRD}: none."]
    assert rusk.post(at(visit, "finish"), with_key(pin=PIN, meaning="did", without=left)).status_code == 303
    assert kept(visit) == left
    assert visit.done_signatures.get().without.splitlines() == left
    shown = unescape(rusk.get(reverse("axle", args=[bolts[1].axle.serial])).content.decode())
    assert f"Signed without these ticks: {' '.join(left)}" in shown


def test_the_certificate_says_which_ticks_were_not_made(bolts: tuple[Floor, Builder, Visit]) -> None:
    said = not_recorded([work_of(bolts[2])])
    assert f"{FIRST}: all ticked but 4, 3, signed without those (operation 220)." in said
    assert f"{THIRD}: none ticked, signed without (operation 220)." in said
    assert not any(SECOND in sentence for sentence in said)


def test_a_tick_taken_back_meanwhile_is_asked_about_anew(bolts: tuple[Floor, Builder, Visit]) -> None:
    floor, builder, visit = bolts
    by = floor.who("rusk", "GB")
    with pytest.raises(NotTicked) as refused:
        finish(visit=visit, grant=builder.grant(by, "did"), by=by, now=builder.now, without=[f"{THIRD}: none."])
    assert refused.value.left_out == (f"{FIRST}: all but 4, 3.", f"{THIRD}: none.")


def test_with_every_tick_nobody_is_asked_and_nothing_is_kept(rusk: Client, bolts: tuple[Floor, Builder, Visit]) -> None:
    """The control: the same press as the one that was refused."""
    _, builder, visit = bolts
    for place in work_of(visit).places:
        if place.asked.code in ("220.b", "220.d") and place.last is None:
            builder.enter(visit, place, "pulled")
    assert 'name="without"' not in rusk.get(at(visit)).content.decode()
    assert rusk.post(at(visit, "finish"), with_key(pin=PIN, meaning="did")).status_code == 303
    assert kept(visit) == []
    assert visit.done_signatures.get().without == ""
    assert "Signed without" not in rusk.get(reverse("axle", args=[builder.axle.serial])).content.decode()
