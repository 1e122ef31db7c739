"""From a third axle model that only the tests know to its certificate: load, build, close, certify, render, ship."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from datetime import timedelta
from io import BytesIO

import pytest
from django.db import IntegrityError, connection, transaction
from django.urls import reverse
from django.utils.html import escape
from pypdf import PdfReader

from builds.actions.closing import close_axle, frozen_bytes
from builds.actions.shipping import Going, ship
from builds.certificates.pdf import ClosedFetcher, Refused, render_pdf
from builds.certificates.symbols import data_matrix, qr
from builds.errors import NotReady, NotSignable, Stopped
from builds.jobs import render_issue
from builds.models import Axle, Closing, Phase, Visit
from builds.reports.closing import missing_for_closing
from builds.scenario.driver import Builder
from measurements.models import Reading
from shop.errors import Refusal
from shop.record.models import Blob, Job, Signature
from tests.builds.pages import text_of_pdf
from tests.factories import signed_in_client
from tests.shopfloor import THIRD, Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop(THIRD)


def test_an_unfinished_axle_says_what_is_missing(floor: Floor) -> None:
    axle = floor.axle()
    missing = missing_for_closing(axle, floor.now)
    closing = [slot for slot in axle.plan.slots if slot.operation.closing]
    assert len([found for found in missing if found.number is not None]) == len(closing)
    with pytest.raises(NotSignable):
        close_axle(axle=axle, by=floor.who("calla"), now=floor.now)


def test_a_whole_axle_can_close(built: Builder) -> None:
    assert built.axle.phase == Phase.BOUGHT_OFF
    assert missing_for_closing(built.axle, built.now) == []


def test_the_frozen_record_is_kept_under_its_fingerprint(closed: Closing) -> None:
    content = frozen_bytes(closed)
    assert hashlib.sha256(content).hexdigest() == closed.sha256
    record = json.loads(content)
    assert record["axle"]["serial"] == closed.axle.serial
    assert record["bought_off"]["name"] != ""


def test_a_record_closes_once(floor: Floor, built: Builder, closed: Closing) -> None:
    with pytest.raises(Stopped, match="closed already"):
        close_axle(axle=built.axle, by=floor.who("calla"), now=built.now)


def test_the_quality_signature_asks_for_the_certificate(closed: Closing) -> None:
    assert Job.objects.filter(key=f"certificate:{closed.axle_id}:1").count() == 1
    assert Axle.objects.get(pk=closed.axle_id).phase == Phase.CERTIFIED


def test_the_database_refuses_a_reading_after_closing(closed: Closing) -> None:
    row = Reading.objects.filter(sheet__visit_links__visit__axle=closed.axle).order_by("pk")[0]
    with pytest.raises(IntegrityError), transaction.atomic():
        Reading.objects.create(
            sheet_id=row.sheet_id, item_id=row.item_id, characteristic_id=row.characteristic_id, position="99",
            attempt=1, verdict="in", entered_at=row.entered_at, happened_at=row.happened_at,
        )  # fmt: skip


def test_the_database_refuses_to_change_a_visit_after_closing(closed: Closing) -> None:
    visit = Visit.objects.filter(axle=closed.axle).order_by("pk")[0]
    with pytest.raises(IntegrityError), transaction.atomic():
        Visit.objects.filter(pk=visit.pk).update(set_down_note="changed")


def test_before_closing_the_same_change_is_possible(floor: Floor) -> None:
    builder = floor.builder(floor.axle())
    builder.now = floor.now + timedelta(days=9)
    first = builder.axle.plan.slots[0].key
    visit = builder.begin(first)
    assert Visit.objects.filter(pk=visit.pk).update(set_down_note="changed") == 1


def test_the_certificate_prints_serial_sections_and_fingerprint(closed: Closing, pdf: bytes) -> None:
    text = text_of_pdf(pdf)
    assert closed.axle.serial in text
    for heading in ("3 Options and identification", "4 Measured results", "9 Not recorded", "12 Signatures"):
        assert heading in text
    assert closed.sha256[:8] in text
    assert "roadworthy" not in text


def test_every_page_names_serial_issue_and_its_number(closed: Closing, pdf: bytes) -> None:
    pages = PdfReader(BytesIO(pdf)).pages
    for number, page in enumerate(pages, 1):
        assert f"{closed.axle.serial} · issue 1" in page.extract_text()
        assert f"Page {number} of {len(pages)}" in page.extract_text()


def test_no_staff_name_but_the_two_that_sign(floor: Floor, pdf: bytes) -> None:
    text = text_of_pdf(pdf)
    printed = {person.name for person in floor.people.values() if person.name in text}
    record_names = {"Ingrith Solvaag"} | {name for name in printed if name in ("Calla Brightnell", "Wenzel Orbach")}
    assert printed == record_names


def test_the_same_record_gives_the_same_bytes(closed: Closing, signed: Signature, pdf: bytes) -> None:
    assert render_issue(closed, 1, "A4", signed) == pdf
    assert render_issue(closed, 1, "Letter", signed) != pdf


def test_live_rows_do_not_reach_the_certificate(closed: Closing, signed: Signature, pdf: bytes) -> None:
    """Past every guard, live rows are changed; the issue is still made from the frozen bytes."""
    with connection.cursor() as cursor:
        cursor.execute("UPDATE builds_line SET quantity = 77")
        cursor.execute("UPDATE shop_customer SET name = 'Somebody Else' WHERE code = 'LRRC'")
        cursor.execute("UPDATE shop_item SET mark = 'XX' WHERE kind = 'lot'")
    assert render_issue(closed, 1, "A4", signed) == pdf


def test_a_damaged_record_is_refused(closed: Closing) -> None:
    """A stored file may not be changed, so one is stored under a fingerprint that is not its own."""
    Blob.objects.create(sha256="f" * 64, content=b"{}", content_type="application/json", size=2)
    with pytest.raises(Refusal, match="does not match its fingerprint"):
        frozen_bytes(Closing(axle=closed.axle, sha256="f" * 64))


@pytest.mark.parametrize(
    "address",
    [
        "file:///etc/passwd",
        "http://127.0.0.1/x.png",
        "https://example.invalid/x",
        "data:image/png;base64,AAAA",
        "axlebook:../x",
        "axlebook:picture/" + "0" * 64,
    ],
)
def test_a_document_fetches_nothing(address: str) -> None:
    with pytest.raises(Refused):
        from_fetcher(address)


def from_fetcher(address: str) -> None:
    ClosedFetcher().fetch(address)


def test_the_shops_own_face_is_served() -> None:
    assert render_pdf("<p>x</p>").startswith(b"%PDF-")


def test_only_a_certified_axle_is_shipped(floor: Floor, built: Builder) -> None:
    by = floor.who("jory")
    going = Going("A Consignee", "A Carrier")
    with pytest.raises(NotReady, match="Only a certified axle"):
        ship(axle=floor.axle(), going=going, grant=built.grant(by, "released"), by=by, now=built.now)


@pytest.mark.parametrize(("field", "fits"), [("consignee", 120), ("carrier", 80), ("address", 500),
                                             ("control_numbers", 120)])  # fmt: skip
def test_what_does_not_fit_the_shipping_record_is_refused(
    floor: Floor, built: Builder, closed: Closing, field: str, fits: int
) -> None:
    by = floor.who("jory")
    going = replace(Going("A Consignee", "A Carrier"), **{field: "x" * (fits + 1)})
    with pytest.raises(Refusal, match=f"at most {fits} fit"):
        ship(axle=closed.axle, going=going, grant=built.grant(by, "released"), by=by, now=built.now)


@pytest.mark.parametrize(("field", "fits"), [("consignee", 120), ("address", 500)])
def test_control_what_just_fits_is_kept_whole(
    floor: Floor, built: Builder, closed: Closing, field: str, fits: int
) -> None:
    by = floor.who("jory")
    built.now += timedelta(hours=1)
    going = replace(Going("A Consignee", "A Carrier"), **{field: "x" * fits})
    row = ship(axle=closed.axle, going=going, grant=built.grant(by, "released"), by=by, now=built.now)
    assert getattr(row, field) == "x" * fits


def test_shipping_leaves_a_record(floor: Floor, built: Builder, closed: Closing) -> None:
    by = floor.who("jory")
    built.now += timedelta(hours=1)
    row = ship(axle=closed.axle, going=Going("A Consignee", "A Carrier", control_numbers="N-1"),
               grant=built.grant(by, "released"), by=by, now=built.now)  # fmt: skip
    assert (row.consignee, Axle.objects.get(pk=closed.axle_id).phase) == ("A Consignee", Phase.GONE)


def test_codes_are_square_drawings() -> None:
    assert str(qr("http://127.0.0.1/verify")).startswith("<svg")
    assert str(data_matrix("~A:TBK-25-0143-D")).startswith("<svg")


def test_the_shipping_form_begins_with_the_customer_and_stands_for_the_shipper_alone(
    floor: Floor, built: Builder, closed: Closing
) -> None:
    address = reverse("closing", args=[closed.axle.serial])
    page = signed_in_client(floor.people["jory"]).get(address).content.decode()
    customer = built.axle.line.order.customer
    assert f'name="consignee" type="text" value="{escape(customer.name)}"' in page
    assert page.count('name="carrier"') == 1
    assert "autofocus" not in page  # the PIN comes after what is filled in
    page = signed_in_client(floor.people["calla"]).get(address).content.decode()
    assert 'name="carrier"' not in page
    assert "Somebody with the role shipper sends it" in page
