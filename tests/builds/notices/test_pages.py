"""A notice through its pages, from the reach list to its closing; letters and the customer's page show nobody else."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.contrib.auth.hashers import make_password
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.actions.links import make_link
from builds.models import (
    Axle,
    Closing,
    Notice,
    NoticeClosing,
    NoticeLine,
    NoticeStep,
    Phase,
    RedTag,
    Revision,
    Shipment,
)
from shop.clock import shop_day
from shop.models import Customer, Item, Person, Role
from tests.builds.floor import lot, person, released
from tests.builds.notices.shop import sent, with_bearing
from tests.builds.pages import Browser, text_of, text_of_pdf

pytestmark = pytest.mark.django_db
PIN = "135790"
FOUND, ASK = "One lot of bearings is too soft.", "Please turn the hub by hand and tell us what you hear."


def browser(*roles: Role) -> Browser:
    who = person(*roles)
    assert who.person is not None
    who.person.pin_hash = make_password(PIN)
    who.person.save()
    return Browser(who)


@pytest.fixture
def revision() -> Revision:
    return released()


@pytest.fixture
def quality(revision: Revision) -> Browser:
    return browser(Role.QUALITY)


@pytest.fixture
def axles(revision: Revision) -> dict[str, Axle]:
    """Two gone to two consignees, one on the floor, all with a bearing of the lot; one gone without."""
    lot("bearing", "PB-1")
    lot("bearing", "PB-2")
    made = {name: with_bearing(revision, mark) for name, mark in (
        ("north", "PB-1"), ("south", "PB-1"), ("floor", "PB-1"), ("clean", "PB-2"))}  # fmt: skip
    for name, consignee in (("north", "Nordhof Yard"), ("south", "Südlager Depot"), ("clean", "Nordhof Yard")):
        sent(made[name], consignee)
    return made


def put(quality: Browser, **more: str) -> Notice:
    answer = quality.send(f"{reverse('notice_new')}?cause=PB-1", **{"found": FOUND, "ask": ASK} | more)
    assert answer.status_code == 303, text_of(answer)
    return Notice.objects.get()


def line_of(made: Axle) -> NoticeLine:
    return NoticeLine.objects.get(axle=made, is_axle=True)


def step(who: Browser, *lines: NoticeLine, **fields: str) -> Any:
    day = str(shop_day(timezone.now()))
    given = {"kind": "told", "on": day, "note": "by letter", "group": str(lines[0].pk) if lines else ""} | fields
    return who.send(reverse("notice_step", args=[1]), lines=[str(line.pk) for line in lines], **given)


def test_from_the_reach_list_to_the_notice(quality: Browser, axles: dict[str, Axle]) -> None:
    listed = quality.get(f"{reverse('reach')}?cause=PB-1").content.decode()
    assert f"{reverse('notice_new')}?cause=PB-1" in listed
    before = text_of(quality.get(f"{reverse('notice_new')}?cause=PB-1"))
    assert "2 in the house, 2 axles at consignees" in before
    assert not RedTag.objects.exists()
    put(quality)
    page = text_of(quality.get(reverse("notice", args=[1])))
    assert "4 of 4 open" in page
    for name in ("north", "south", "floor"):
        assert axles[name].serial in page
    assert axles["clean"].serial not in page
    assert RedTag.objects.open().count() == 2
    assert "deadlines in law are for a competent person" in page
    assert "One lot of bearings" in text_of(quality.get(reverse("notices")))


def test_bad_input_is_said_plainly_and_kept(quality: Browser, axles: dict[str, Axle]) -> None:
    answer = quality.send(f"{reverse('notice_new')}?cause=PB-1", found=f"See {axles['north'].serial}.", ask=ASK)
    assert answer.status_code == 422
    assert "leave serials out" in text_of(answer)
    assert ASK in answer.content.decode()
    assert (Notice.objects.count(), RedTag.objects.count()) == (0, 0)
    assert quality.get(f"{reverse('notice_new')}?cause=NOBODY").status_code == 302
    assert quality.get(reverse("notice", args=[7])).status_code == 404


def test_it_is_followed_until_nothing_is_open_and_then_signed(quality: Browser, axles: dict[str, Axle]) -> None:
    put(quality)
    office = browser(Role.OFFICE)
    north, south = line_of(axles["north"]), line_of(axles["south"])
    assert step(office, north, kind="closed").status_code == 422  # nobody told them
    assert step(office, north, south).status_code == 303
    assert step(office, north, kind="answered", note="").status_code == 303
    assert step(office, north, kind="closed", note="").status_code == 422
    assert step(office, north, kind="closed", note="inspected there, bearing measured").status_code == 303
    assert step(office, north, kind="answered").status_code == 409  # closed is closed
    assert step(office, south, kind="exchanged", note="hub sent").status_code == 303
    assert "Südlager Depot 1 of 1 open" in text_of(quality.get(reverse("notice", args=[1])))
    close = reverse("notice_close", args=[1])
    early = quality.send(close, reason="all done", pin=PIN, meaning="released")
    assert early.status_code == 422
    assert f"axle {axles['south'].serial}: exchanged" in text_of(early)
    assert step(office, south, kind="closed", note="old hub is back").status_code == 303
    engineer = browser(Role.ENGINEER)
    for tag in RedTag.objects.open():
        fields = {"decision": "use_as_is", "reason": "measured: hard", "pin": PIN, "meaning": "released"}
        assert engineer.send(reverse("red_tag", args=[tag.number]), **fields).status_code == 303
    assert "0 of 4 open" in text_of(quality.get(reverse("notice", args=[1])))
    assert quality.send(close, reason="all done", pin="000000", meaning="released").status_code == 422
    assert quality.send(close, reason="all done", pin=PIN, meaning="released").status_code == 303
    closing = NoticeClosing.objects.get()
    assert (closing.reason, closing.signature.meaning) == ("all done", "released")
    assert step(office, south, kind="answered").status_code == 422
    assert quality.send(close, reason="again", pin=PIN, meaning="released").status_code == 422


def test_a_step_lacks_nothing(quality: Browser, axles: dict[str, Axle]) -> None:
    put(quality)
    north, floor = line_of(axles["north"]), line_of(axles["floor"])
    tomorrow = str(shop_day(timezone.now()) + timedelta(days=1))
    for fields, said in (
        ({"on": tomorrow}, "still to come"), ({"on": ""}, "Give the day"), ({"kind": "posted"}, "Select a valid"),
        ({"note": "x" * 301}, "at most 300"),
    ):  # fmt: skip
        answer = step(quality, north, **fields)
        assert answer.status_code == 422, fields
        assert said in text_of(answer)
    assert "Choose at least one line" in text_of(step(quality))
    assert "It is decided there" in text_of(step(quality, floor))
    assert NoticeStep.objects.count() == 0
    assert step(quality, north).status_code == 303  # the control


def test_the_shops_own_reminder(quality: Browser, axles: dict[str, Axle], settings: Any) -> None:
    put(quality)
    step(quality, line_of(axles["north"]))
    assert "To be reminded" not in text_of(quality.get(reverse("notice", args=[1])))
    settings.NOTICE_REMINDER_DAYS = 0
    assert "To be reminded: Nordhof Yard about" in text_of(quality.get(reverse("notice", args=[1])))


def test_drawn_again_what_came_is_stopped_and_what_went_is_kept(
    quality: Browser, axles: dict[str, Axle], revision: Revision
) -> None:
    put(quality)
    again = reverse("notice_again", args=[1])
    assert "Nothing has changed" in text_of(quality.get(again))
    assert quality.send(again).status_code == 422
    Axle.objects.filter(pk=axles["north"].pk).update(phase=Phase.BACK)
    page = text_of(quality.get(again))
    assert re.search(rf"Moved 1 axle {axles['north'].serial} : was shipped, shipped, Nordhof Yard; is back", page)
    assert quality.send(again).status_code == 303
    assert RedTag.objects.open().filter(axle=axles["north"]).exists()
    assert "revision 2" in text_of(quality.get(reverse("notice", args=[1])))
    assert [row.number for row in Notice.objects.get().revisions.all()] == [1, 2]
    frozen = quality.get(reverse("notice_frozen", args=[1, 2])).content
    assert b'"revision":2' in frozen
    assert quality.get(reverse("notice_frozen", args=[1, 9])).status_code == 404


def others(of: Axle) -> set[str]:
    """Every serial, customer, consignee, order, mark and name that is not this axle's own."""
    own = {of.serial, of.line.order.number, of.line.order.customer.name, of.shipments.get().consignee}
    found = {*Item.objects.filter(kind="axle").values_list("mark", flat=True)}
    found |= {*Customer.objects.values_list("name", flat=True), *Shipment.objects.values_list("consignee", flat=True)}
    found |= {*Person.objects.values_list("name", flat=True), *Person.objects.values_list("code", flat=True)}
    found |= {*Axle.objects.values_list("line__order__number", flat=True)}
    found |= {*Item.objects.exclude(kind="axle").values_list("mark", flat=True)}
    return {word for word in found - own if len(word) > 2}


def seen_in(text: str, words: set[str]) -> set[str]:
    return {word for word in words if re.search(rf"(?<!\w){re.escape(word)}(?!\w)", text)}


def letter(quality: Browser, made: Axle) -> str:
    answer = quality.get(reverse("notice_letter", args=[1, line_of(made).pk]))
    assert answer["Content-Type"] == "application/pdf"
    return " ".join(text_of_pdf(answer.content).split())


def test_a_letter_shows_its_own_axles_and_nothing_of_others(quality: Browser, axles: dict[str, Axle]) -> None:
    put(quality)
    for name in ("north", "south"):
        text = letter(quality, axles[name])
        assert axles[name].serial in text
        assert FOUND in text
        assert ASK in text
        assert axles[name].shipments.get().consignee in text
        assert "1 Quarry Lane" in text
        assert seen_in(text, others(axles[name])) == set()
        assert "It does not say whether an axle may be used on any vehicle or road" in text
    assert quality.get(reverse("notice_letter", args=[1, line_of(axles["floor"]).pk])).status_code == 404
    # The control: the same look finds what stands on the notice's own page.
    page = text_of(quality.get(reverse("notice", args=[1])))
    assert axles["south"].serial in seen_in(page, others(axles["north"]))


def test_a_letter_is_the_same_bytes_again(quality: Browser, axles: dict[str, Axle]) -> None:
    put(quality)
    url = reverse("notice_letter", args=[1, line_of(axles["north"]).pk])
    assert quality.get(url).content == quality.get(url).content


def window(of: Axle) -> str:
    """The customer's page of this axle's order."""
    _, token = make_link(order=of.line.order, days=30, by=person(Role.OFFICE))
    client = Client()
    client.post(reverse("customer_enter"), {"token": token})
    return unescape(text_of(client.get(reverse("customer_order"))))


def test_the_customers_page_says_so_for_that_axle_only(quality: Browser, axles: dict[str, Axle]) -> None:
    assert "Notice" not in window(axles["north"])
    put(quality)
    north = window(axles["north"])
    assert "is about this axle" in north
    assert FOUND in north
    assert ASK in north
    assert seen_in(north, others(axles["north"])) == set()
    assert "PB-1" not in north
    assert "Notice" not in window(axles["clean"])
    floor = window(axles["floor"])
    assert "nothing is done with it until our engineer or inspector has decided" in floor
    assert ASK not in floor
    step(quality, line_of(axles["north"]), note="called Mr Grubb")
    told = window(axles["north"])
    assert "You were told on" in told
    assert "Grubb" not in told
    step(quality, line_of(axles["north"]), kind="closed", note="measured there")
    closed = window(axles["north"])
    assert "Closed for this axle on" in closed
    assert ASK not in closed


def checked(of: Axle) -> str:
    """The public check of this axle's record, asked by a stranger."""
    answer = Client().post(reverse("verify"), {"serial": of.serial, "fingerprint": f"{of.pk:064x}"})
    return unescape(text_of(answer))


def test_the_public_check_says_that_a_notice_is_about_it_and_not_what(quality: Browser, axles: dict[str, Axle]) -> None:
    for name in ("north", "south", "clean"):
        of = axles[name]
        Closing.objects.create(
            axle=of,
            sha256=f"{of.pk:064x}",
            closed_at=of.closed_at or timezone.now(),
            closed_by=person(Role.SHIPPER).person,
        )
    assert "There is more since then" not in checked(axles["north"])
    put(quality)
    north = checked(axles["north"])
    assert "Since then one notice is about it." in north
    assert "give the serial on the plate. If in doubt, take the axle out of use" in north
    assert [said for said in (FOUND, ASK, "PB-1") if said in north] == []
    assert seen_in(north, others(axles["north"])) == set()
    assert "There is more since then" not in checked(axles["clean"])
    step(quality, line_of(axles["north"]))
    step(quality, line_of(axles["north"]), kind="closed", note="measured there")
    closed = checked(axles["north"])
    assert "one notice is about it" in closed
    assert "If in doubt" not in closed


def test_lists_as_csv(quality: Browser, axles: dict[str, Axle]) -> None:
    put(quality)
    lines = quality.get(reverse("notice", args=[1]) + "?as=csv").content.decode().splitlines()
    assert len(lines) == 5
    assert sum(",stopped," in line for line in lines) == 2
    assert len(quality.get(reverse("notices") + "?as=csv").content.decode().splitlines()) == 2


@pytest.fixture
def paged(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if these few lines were many: one to a page."""
    monkeypatch.setattr("builds.views.notice_parts.WHOLE", 1)
    monkeypatch.setattr("builds.views.notice_parts.PER_PAGE", 1)


@pytest.mark.usefixtures("paged")
def test_a_great_notice_shows_its_parts_and_a_page_of_the_one_that_is_asked(
    quality: Browser, axles: dict[str, Axle]
) -> None:
    put(quality)
    north, south, url = axles["north"], axles["south"], reverse("notice", args=[1])
    whole = text_of(quality.get(url))
    assert "4 of 4 open" in whole
    assert "Nordhof Yard 1 of 1 open" in whole
    assert "The lines of Nordhof Yard" in whole
    assert "The lines of what is stopped" in whole
    assert not any(axle.serial in whole for axle in axles.values())
    stopped = [text_of(quality.get(f"{url}?part=stopped&page={number}")) for number in (1, 2)]
    assert "all 2 , 2 open , 0 closed . Page 1 2" in stopped[0]
    assert [axles["floor"].serial in one for one in stopped].count(True) == 1
    key = str(line_of(north).pk)
    one = text_of(quality.get(f"{url}?part={key}&state=open"))
    assert north.serial in one
    assert south.serial not in one
    answer = quality.send(
        f"{reverse('notice_step', args=[1])}?part={key}", lines=[key], kind="told", note="by letter", group=key,
        on=str(shop_day(timezone.now())),
    )  # fmt: skip
    assert answer.headers["Location"] == f"{url}?part={key}"
    refused = quality.send(f"{reverse('notice_step', args=[1])}?part={key}", lines=[], kind="told", group=key)
    assert refused.status_code == 422
    assert "Choose at least one line" in text_of(refused)
    assert north.serial in text_of(refused)
    csv = quality.get(f"{url}?as=csv").content.decode()
    assert all(axles[name].serial in csv for name in ("north", "south", "floor"))


@pytest.mark.usefixtures("paged")
@pytest.mark.parametrize("query", ["part=nobody", "part=stopped&page=99", "part=stopped&page=-1", "part=<b>&state=x",
                                   "part=stopped&page=²", "state=open"])  # fmt: skip
def test_an_address_that_makes_no_sense_shows_what_there_is(
    quality: Browser, axles: dict[str, Axle], query: str
) -> None:
    put(quality)
    answer = quality.get(f"{reverse('notice', args=[1])}?{query}")
    assert answer.status_code == 200
    assert "4 of 4 open" in text_of(answer)


@pytest.mark.usefixtures("paged")
def test_the_page_takes_as_many_statements_for_twice_the_lines(quality: Browser, revision: Revision) -> None:
    counts = []
    for size in (3, 6):
        with transaction.atomic():
            lot("bearing", "PB-1")
            for _ in range(size):
                sent(with_bearing(revision, "PB-1"), "Nordhof Yard")
            put(quality)
            with CaptureQueriesContext(connection) as asked:
                assert "Nordhof Yard" in text_of(quality.get(f"{reverse('notice', args=[1])}?part=stopped"))
            counts.append(len(asked))
            transaction.set_rollback(True)
    assert counts[0] == counts[1]
