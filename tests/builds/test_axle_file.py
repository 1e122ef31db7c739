"""The axle file: every try shown, and each form refused and accepted; its queries stay few and constant."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.claiming import OnPaper
from builds.models import (
    Axle,
    Done,
    Fitted,
    Hold,
    KitLine,
    Photo,
    Removal,
    Reopening,
    ShorterWait,
    Visit,
    VisitState,
    Weld,
)
from builds.reports.at_visits import at_visits
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from measurements.models import Reading, Voiding
from shop.actions.people import set_pin
from shop.record.models import Blob
from shop.record.who import SYSTEM
from tests.factories import PIN, signed_in_client, with_key
from tests.shopfloor import SMALLEST_PNG, SMALLEST_SHA, Floor, open_shop

pytestmark = pytest.mark.django_db
#: Seven for the file; the rest says who is asking and finds the axle.
MOST_QUERIES = 10


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture
def dovie(floor: Floor) -> Client:
    return signed_in_client(floor.people["dovie"])


def page_of(client: Client, axle: Axle, **asked: str) -> str:
    return client.get(reverse("axle", args=[axle.serial]), asked).content.decode()


def reading_in_hand(floor: Floor) -> tuple[Builder, Visit, Reading, Client]:
    """A reading at an operation that is in hand, and the browser of its doer."""
    builder = floor.built_until(50)
    visit = builder.begin("50/left")
    return builder, visit, builder.enter_code(visit, "50.3")[0].reading, signed_in_client(visit.claimed_by)


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


def test_every_try_is_shown_with_what_became_of_it(floor: Floor, dovie: Client) -> None:
    builder, visit, first, doer = reading_in_hand(floor)
    place = next(place for place in work_of(visit).places if place.asked.code == "50.3")
    second = builder.enter(visit, place, reason="read askew").reading
    void = with_key(reason="of another tube")
    assert doer.post(reverse("axle_void", args=[builder.axle.serial, second.pk]), void).status_code == 303
    rows = {row["pk"]: row for row in dovie.get(reverse("axle", args=[builder.axle.serial])).context["file"].readings}
    assert (rows[first.pk]["state"], rows[first.pk]["try"]) == ("later try", 1)
    assert (rows[second.pk]["state"], rows[second.pk]["try"]) == ("void", 2)
    assert (rows[second.pk]["void"], rows[second.pk]["reason"]) == ("of another tube", "read askew")
    assert second.gauge is not None
    assert second.calibration is not None
    assert rows[second.pk]["gauge"].startswith(second.gauge.item.mark)
    assert rows[second.pk]["calibration"] == second.calibration.certificate
    assert rows[second.pk]["who"] == visit.claimed_by.name
    assert "void: of another tube" in page_of(dovie, builder.axle)
    assert {row["state"] for row in rows.values()} == {"", "later try", "void"}


def test_work_done_on_paper_is_marked_late_for_ever(floor: Floor, dovie: Client) -> None:
    builder = floor.built_until(20)
    assert "entered late" not in page_of(dovie, builder.axle)
    builder.now += timedelta(hours=6)
    at = builder.now - timedelta(hours=5)
    builder.do("200/", paper=OnPaper(floor.people["rusk"], at))
    assert Reading.objects.filter(late=True, sheet__visit_links__visit__axle=builder.axle).exists()
    assert "entered late, done" in page_of(dovie, builder.axle)


def test_a_reading_is_not_voided_without_a_reason_and_the_form_stays(floor: Floor) -> None:
    builder, _, reading, doer = reading_in_hand(floor)
    path = reverse("axle_void", args=[builder.axle.serial, reading.pk])
    refused = doer.post(path, with_key(reason=" "))
    assert refused.status_code == 422
    assert f'action="{path}"' in refused.content.decode()
    assert not Voiding.objects.filter(reading=reading).exists()


def test_what_was_typed_stays_when_a_void_is_refused(floor: Floor, dovie: Client) -> None:
    builder, _, reading, _ = reading_in_hand(floor)
    refused = dovie.post(reverse("axle_void", args=[builder.axle.serial, reading.pk]), with_key(reason="not ours"))
    assert refused.status_code == 422
    assert 'value="not ours"' in refused.content.decode()
    assert not Voiding.objects.filter(reading=reading).exists()


def test_a_reading_or_part_of_another_axle_is_not_found_under_this_one(floor: Floor) -> None:
    builder, visit, reading, doer = reading_in_hand(floor)
    other = floor.axle()
    fields = with_key(reason="of another tube")
    assert doer.post(reverse("axle_void", args=[other.serial, reading.pk]), fields).status_code == 404
    assert not Voiding.objects.filter(reading=reading).exists()
    fitted = Fitted.objects.now().filter(axle=builder.axle)[0]
    out = with_key(reason="cracked", to="quarantine")
    assert doer.post(reverse("axle_take_out", args=[other.serial, fitted.pk]), out).status_code == 404
    assert not Removal.objects.filter(fitted=fitted).exists()
    assert (
        doer.post(reverse("axle_void", args=[builder.axle.serial, reading.pk]), with_key(reason="x")).status_code == 303
    )
    assert Visit.objects.get(pk=visit.pk).state == VisitState.IN_HAND


def test_a_part_comes_out_with_a_reason_and_is_shown_as_formerly_fitted(floor: Floor) -> None:
    axle = floor.built_until(60).axle
    calla = signed_in_client(floor.people["calla"])
    fitted = Fitted.objects.now().filter(axle=axle).select_related("part")[0]
    path = reverse("axle_take_out", args=[axle.serial, fitted.pk])
    to = calla.get(reverse("axle", args=[axle.serial]), {"out": fitted.pk}).context["destinations"][-1][0]
    refused = calla.post(path, with_key(reason="", to=to, note="dropped"))
    assert 'value="dropped"' in refused.content.decode()
    assert refused.status_code == 422
    assert f'value="{to}" selected' in refused.content.decode()
    assert not Removal.objects.filter(fitted=fitted).exists()
    long = calla.post(path, with_key(reason="cracked lip", to=to, note="x" * 121))
    assert long.status_code == 422
    assert "The note is longer than 120 characters" in long.content.decode()
    assert not Removal.objects.filter(fitted=fitted).exists()
    assert "Formerly in it" not in page_of(calla, axle)
    assert calla.post(path, with_key(reason="cracked lip", to=to, note="x" * 120)).status_code == 303
    assert Removal.objects.get(fitted=fitted).note == "x" * 120
    assert "cracked lip" in page_of(calla, axle).partition("Formerly in it")[2]


def test_a_pass_that_waits_for_a_signature_is_sent_back_with_a_reason(floor: Floor, dovie: Client) -> None:
    builder, visit = waiting_for_sign(floor)
    number, side = visit.operation.number, builder.slot_key.partition("/")[2] or "-"
    path = reverse("axle_send_back", args=[builder.axle.serial, number, side])
    calla = signed_in_client(floor.people["calla"])
    assert f"?back={number}%2F" in page_of(calla, builder.axle)
    assert f'action="{path}"' in page_of(calla, builder.axle, back=builder.slot_key)
    assert calla.post(path, with_key(reason="")).status_code == 422
    assert signed_in_client(visit.claimed_by).post(path, with_key(reason="mine")).status_code == 422
    visit.refresh_from_db()
    assert visit.state == VisitState.WAIT_SIGN
    assert calla.post(path, with_key(reason="burr left at the bore")).status_code == 303
    visit.refresh_from_db()
    assert visit.state == VisitState.REDO
    assert Reopening.objects.get(visit=visit).reason == "burr left at the bore"
    assert "burr left at the bore" in page_of(dovie, builder.axle)
    assert calla.post(path, with_key(reason="once more")).status_code == 422


def test_a_wait_is_shortened_only_by_a_signed_reason(floor: Floor) -> None:
    builder = floor.builder(floor.axle())
    builder.now = datetime.now(UTC) - timedelta(days=1)
    builder.kit()
    builder.run(until=165)
    engineer = floor.people["wenzel"]
    set_pin(person=engineer, pin=PIN, by=SYSTEM)
    client = signed_in_client(engineer)
    path = reverse("axle_shorten", args=[builder.axle.serial, 165, "-"])
    assert "?shorten=165%2F" in page_of(client, builder.axle)
    wrong = client.post(path, with_key(reason="flown tomorrow", pin="000000", meaning="released"))
    assert wrong.status_code == 422
    assert 'value="flown tomorrow"' in wrong.content.decode()
    assert not ShorterWait.objects.filter(axle=builder.axle).exists()
    assert client.post(path, with_key(reason="flown tomorrow", pin=PIN, meaning="released")).status_code == 303
    assert ShorterWait.objects.get(axle=builder.axle).reason == "flown tomorrow"
    assert "?shorten=" not in page_of(client, builder.axle)


def test_a_photo_is_served_as_a_picture_that_can_do_nothing(floor: Floor, dovie: Client) -> None:
    builder = floor.built_until(20)
    visit = Visit.objects.filter(axle=builder.axle)[0]
    facts = {"content": SMALLEST_PNG, "content_type": "image/png", "size": len(SMALLEST_PNG)}
    Blob.objects.get_or_create(sha256=SMALLEST_SHA, defaults=facts)
    person = floor.people["tam"]
    row = Photo.objects.create(visit=visit, name="look", sha256=SMALLEST_SHA, person=person, at=builder.now)
    answer = dovie.get(reverse("photo", args=[row.pk]))
    assert answer.content == SMALLEST_PNG
    assert answer["Content-Type"] == "image/png"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Security-Policy"].startswith("sandbox")
    assert reverse("photo", args=[row.pk]) in page_of(dovie, builder.axle)
    Blob.objects.create(sha256="f" * 64, content=b"<script>", content_type="text/html", size=8)
    other = Photo.objects.create(visit=visit, name="look", sha256="f" * 64, person=person, at=builder.now)
    assert dovie.get(reverse("photo", args=[other.pk])).status_code == 404


def test_the_file_takes_few_queries_however_much_was_read(floor: Floor, dovie: Client) -> None:
    counts, read = [], []
    for until in (20, 165):
        axle = floor.built_until(until).axle
        page_of(dovie, axle)
        with CaptureQueriesContext(connection) as caught:
            page_of(dovie, axle)
        counts.append(len(caught))
        read.append(Reading.objects.filter(sheet__visit_links__visit__axle=axle).count())
    assert read[1] > read[0] + 60
    assert counts[0] == counts[1] <= MOST_QUERIES


def test_the_one_statement_has_what_each_table_has(floor: Floor) -> None:
    """Welds, holds, photos and kit asked apart say the same; of one moment, the doer stands before the hold."""
    axle = floor.built_until(100).axle
    found = at_visits(axle)
    welds = Weld.objects.filter(visit__axle=axle).select_related("item", "procedure", "welder", "wire").order_by("pk")
    names = ("joint", "mark", "procedure", "welder", "wire", "at")
    assert [tuple(row[name] for name in names) for row in found.welds] == [
        (one.joint, one.item.mark, str(one.procedure), one.welder.name, one.wire.mark if one.wire else "", one.ended_at)
        for one in welds
    ]
    assert len(found.welds) > 1
    photos = Photo.objects.filter(visit__axle=axle).order_by("pk").values_list("pk", "name", "at")
    assert [(row["pk"], row["name"], row["at"]) for row in found.photos] == list(photos)
    kit = KitLine.objects.filter(axle=axle, returned_at=None).values_list("host_id", "role")
    assert found.aside == set(kit) != set()
    times = [(row["at"], row["as"] == "hold") for row in found.signatures]
    assert times == sorted(times)
    assert len(times) == sum(kind.objects.filter(visit__axle=axle).count() for kind in (Done, Hold))
    assert any(held for _, held in times)


def test_the_file_begins_with_where_the_axle_stands(floor: Floor, dovie: Client) -> None:
    builder = floor.built_until(40)
    page = dovie.get(reverse("axle", args=[builder.axle.serial])).content.decode()
    now = page[page.index('<ul class="now">') : page.index("</ul>", page.index('<ul class="now">'))]
    assert reverse("station", args=[builder.axle.serial, 40, "left"]) in now
    assert "ready" in now
    assert "Pick the kit" not in now  # it is done, and stands in the list below
    assert now.count("<li>") <= 7


def test_a_closed_axle_has_nothing_to_do_now(floor: Floor, dovie: Client) -> None:
    axle = floor.axle()
    Axle.objects.filter(pk=axle.pk).update(closed_at=datetime(2025, 11, 20, tzinfo=UTC))
    assert 'class="now"' not in dovie.get(reverse("axle", args=[axle.serial])).content.decode()
