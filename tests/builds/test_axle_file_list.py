"""What an axle file begins with: where it stands, what stops it, its operations with who signed them and when; the rest
is folded away."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.actions.finishing import second_signatures, sign_second
from builds.models import Axle, Done, Hold, RedTag, Visit, VisitState
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from tests.factories import signed_in_client, with_key
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
FOLD = re.compile(r'<details class="more"( open)?><summary><h2 id="(\w+)"')


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture
def dovie(floor: Floor) -> Client:
    return signed_in_client(floor.people["dovie"])


def page_of(client: Client, axle: Axle, **asked: str) -> str:
    return client.get(reverse("axle", args=[axle.serial]), asked).content.decode()


def waiting_for_sign(floor: Floor) -> tuple[Builder, Visit]:
    """The first operation of the card that waits for a second signature."""
    builder = floor.builder(floor.axle())
    builder.kit()
    for slot in builder.axle.plan.slots:
        visit = builder.begin(slot.key)
        builder.fill(visit)
        visit = builder.sign_doer(visit)
        if visit.state == VisitState.WAIT_SIGN:
            return builder, visit
    raise AssertionError("no operation of this card is held")


def row_of(page: str, key: str) -> str:
    """What the list of operations says in the row of this one, as text."""
    rows = re.findall(r'<tr><th scope="row" data-label="Operation">.*?</tr>', page, re.DOTALL)
    number, _, side = key.partition("/")
    found = [row for row in rows if f'/{number}/{side or "-"}/"' in row]
    assert len(found) == 1, key
    return " ".join(re.sub(r"<[^>]+>", " ", found[0]).split())


def test_a_done_operation_says_who_signed_and_when(floor: Floor, dovie: Client) -> None:
    builder = floor.built_until(50)
    page = page_of(dovie, builder.axle)
    visit = Visit.objects.get(axle=builder.axle, operation__number=10)
    signed = Done.objects.select_related("signature__person").get(visit=visit).signature
    at = timezone.localtime(signed.at)
    assert f"done {signed.person.name}, {at:%Y-%m-%d %H:%M}" in row_of(page, "10/")
    left, right = row_of(page, "30/left"), row_of(page, "50/left")
    assert floor.people["tam"].name in left
    assert not any(person.name in right for person in floor.people.values())  # nobody signed it yet
    assert page.index('id="ops"') < page.index('id="signs"')


def test_the_second_signature_is_named_as_what_it_is(floor: Floor, dovie: Client) -> None:
    builder, visit = waiting_for_sign(floor)
    waits = row_of(page_of(dovie, builder.axle), builder.slot_key)
    assert waits.count(visit.claimed_by.name) == 1
    calla = floor.who("calla")
    grant = builder.grant(calla, "checked")
    sign_second(visit=visit, part=next(iter(second_signatures(work_of(visit)))), grant=grant, by=calla, now=builder.now)
    hold = Hold.objects.select_related("signature__person").get(visit=visit)
    assert f"{hold.signature.person.name}, hold, " in row_of(page_of(dovie, builder.axle), builder.slot_key)


def test_what_is_to_be_done_again_shows_no_signature_of_the_pass_before(floor: Floor) -> None:
    """The signatures of every pass stand below; in the list one beside "to redo" would read as if it were done."""
    builder, visit = waiting_for_sign(floor)
    calla = signed_in_client(floor.people["calla"])
    number, _, side = builder.slot_key.partition("/")
    assert visit.claimed_by.name in row_of(page_of(calla, builder.axle), builder.slot_key)
    path = reverse("axle_send_back", args=[builder.axle.serial, number, side or "-"])
    calla.post(path, with_key(reason="burr left at the bore"))
    page = page_of(calla, builder.axle)
    assert visit.claimed_by.name not in row_of(page, builder.slot_key)
    assert visit.claimed_by.name in page.partition('id="signs"')[2]


def test_now_and_the_operations_stand_open_and_what_few_ask_for_is_folded(floor: Floor, dovie: Client) -> None:
    builder = floor.built_until(50)
    page = page_of(dovie, builder.axle)
    first, _, _ = page.partition('<details class="more"')
    assert first.index('id="now"') < first.index('id="ops"')
    folded = FOLD.findall(page)
    assert folded == [("", name) for name in ("built", "reads", "parts", "photos", "signs", "wrong", "line")]
    to_print = page_of(dovie, builder.axle, all="open")
    opened = FOLD.findall(to_print)
    assert [name for is_open, name in opened if not is_open] == ["wrong"]


def test_a_cause_that_was_refused_stands_open_with_what_was_typed(floor: Floor, dovie: Client) -> None:
    axle = floor.axle()
    answer = dovie.post(reverse("axle_tag", args=[axle.serial]), with_key(cause="x" * 401))
    assert answer.status_code == 422
    assert re.search(r'<details class="more" open><summary><h2 id="wrong"', answer.content.decode())
    assert f'value="{"x" * 401}"' in answer.content.decode()


def test_what_stops_an_axle_leads_to_its_red_tag(floor: Floor, dovie: Client) -> None:
    axle = floor.axle()
    dovie.post(reverse("axle_tag", args=[axle.serial]), with_key(cause="dropped"))
    tag = RedTag.objects.get(axle=axle)
    now = page_of(dovie, axle).partition('class="now"')[2].partition("</ul>")[0]
    assert f'<a href="{reverse("red_tag", args=[tag.number])}">red tag {tag.number}: dropped</a>' in now
