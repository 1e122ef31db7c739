"""The Revision room (builds.views.cards)."""

from __future__ import annotations

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from builds.models import Document, Revision
from shop.models import Role
from shop.record.models import Blob, Event
from tests.builds.cards import SMALL_CARD, SMALL_CARD_B
from tests.builds.floor import axle, load_definition, person, released
from tests.builds.pages import Browser, text_of

pytestmark = pytest.mark.django_db


def engineer() -> Browser:
    return Browser(person(Role.ENGINEER))


def upload(text: str | bytes, name: str = "small.toml") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, text.encode() if isinstance(text, str) else text, "text/plain")


def picture() -> SimpleUploadedFile:
    kept = io.BytesIO()
    Image.new("RGB", (4, 4)).save(kept, "PNG")
    return SimpleUploadedFile("sheet.png", kept.getvalue(), "image/png")


def test_a_file_is_loaded_looked_at_and_released() -> None:
    browser = engineer()
    response = browser.send("/cards/", file=upload(SMALL_CARD))
    assert (response.status_code, response["Location"]) == (303, "/cards/small_axle/A/")
    page = browser.get("/cards/small_axle/A/")
    assert "a draft: nothing is built to it" in text_of(page)
    response = browser.send("/cards/small_axle/A/release/", sha256=Revision.objects.get().sha256)
    assert response.status_code == 303
    assert "and frozen since" in text_of(browser.get("/cards/small_axle/A/"))


def test_the_page_shows_operations_limits_needs_and_reactions() -> None:
    released()
    said = text_of(engineer().get("/cards/small_axle/A/"))
    assert "20 Look at the steel" in said
    assert "0.28 to 0.33 %" in said
    assert "red tag, reject the heat" in said
    assert "Axle shaft, 1 each left and right, with the kit" in said
    assert "first heat: inspector" in said


def test_the_list_counts_axles_by_revision() -> None:
    first = axle(released())
    released(SMALL_CARD_B)
    page = engineer().get("/cards/small_axle/A/")
    assert first.serial in text_of(page)
    rows = text_of(engineer().get("/cards/"))
    assert "A released" in rows
    assert "B released" in rows


def test_the_difference_between_two_revisions_is_told() -> None:
    released()
    released(SMALL_CARD_B)
    said = text_of(engineer().get("/cards/small_axle/A/to/B/"))
    assert "changed 20.1 high 0.330 -&gt; 0.320" in said
    assert "added operation 50" in said


def test_the_definition_comes_back_as_it_was_loaded() -> None:
    released()
    response = engineer().get("/cards/small_axle/A/definition/")
    assert response.content.decode() == SMALL_CARD
    assert response["Content-Disposition"].startswith("attachment")


def test_broken_definitions_list_every_fault_and_change_nothing() -> None:
    broken = SMALL_CARD.replace('"bulk"', '"heap"').replace("starts_after = [20, 30]", "starts_after = [99]")
    response = engineer().send("/cards/", file=upload(broken))
    said = text_of(response)
    assert response.status_code == 422
    assert "small.toml, line" in said
    assert "heap" in said
    assert "99" in said
    assert not Revision.objects.exists()


@pytest.mark.parametrize(
    ("file", "said"),
    [
        (upload(b"", "card.toml"), "is empty"),
        (upload(b"\x89PNG\r\n\x1a\n\x00", "card.png"), "expected plain text"),
        (upload(b"%PDF-1.7\n%%EOF", "card.pdf"), "expected TOML"),
        (upload(b"a = 1\n" * 400_000, "big.toml"), "expected at most"),
        ("not a file", "No file was submitted"),
        ("", "This field is required"),
    ],
)
def test_what_is_no_definition_is_said_plainly(file: object, said: str) -> None:
    response = engineer().send("/cards/", file=file)
    assert response.status_code == 422
    assert said in text_of(response) or "This field is required" in text_of(response)
    assert not Revision.objects.exists()


def test_a_repeated_press_loads_once() -> None:
    browser = engineer()
    key = browser.key_on("/cards/")
    for _ in range(2):
        assert browser.send("/cards/", file=upload(SMALL_CARD), submission=key).status_code == 303
    assert Event.objects.filter(kind="card.loaded").count() == 1


def test_a_form_without_its_key_is_not_taken() -> None:
    response = engineer().send("/cards/", file=upload(SMALL_CARD), submission="")
    assert response.status_code == 400
    assert not Revision.objects.exists()


def test_a_draft_replaced_meanwhile_is_not_released() -> None:
    browser = engineer()
    draft = load_definition(text=SMALL_CARD, name="a.toml", by=person(Role.ENGINEER))
    load_definition(text=SMALL_CARD.replace("Pick the kit", "Pick"), name="a.toml", by=person(Role.ENGINEER))
    response = browser.send("/cards/small_axle/A/release/", sha256=draft.sha256)
    assert response.status_code == 422
    assert "loaded again in the meantime" in text_of(response)
    assert Revision.objects.get().state == "draft"


def test_a_document_the_card_names_is_attached_once_and_served_as_attachment() -> None:
    released()
    browser = engineer()
    address = "/cards/small_axle/A/10/documents/IS-10/"
    assert browser.get(address).status_code == 404
    assert browser.send(address, file=picture()).status_code == 303
    served = browser.get(address)
    assert served["Content-Type"] == "image/png"
    assert served["Content-Disposition"].startswith("attachment")
    assert "sandbox" in served["Content-Security-Policy"]
    again = browser.send(address, file=picture())
    assert (again.status_code, "already attached" in text_of(again)) == (409, True)
    assert Blob.objects.count() == Document.objects.count() == 1


@pytest.mark.parametrize("file", [upload(b"<script>", "x.pdf"), upload(b"%PDF-1.7\n/JavaScript\n%%EOF", "x.pdf")])
def test_a_harmful_document_is_refused(file: SimpleUploadedFile) -> None:
    released()
    response = engineer().send("/cards/small_axle/A/10/documents/IS-10/", file=file)
    assert response.status_code == 422
    assert not Document.objects.exists()


def test_a_document_the_card_does_not_name_is_refused() -> None:
    released()
    response = engineer().send("/cards/small_axle/A/10/documents/OTHER/", file=picture())
    assert response.status_code == 422
    assert "names no document OTHER" in text_of(response)


@pytest.mark.parametrize(
    "address",
    [
        "/cards/none/A/",
        "/cards/small_axle/Z/",
        "/cards/small_axle/A/to/Z/",
        "/cards/small_axle/A/77/documents/x/",
    ],
)
def test_what_is_not_there_is_a_404(address: str) -> None:
    released()
    assert engineer().get(address).status_code == 404


def test_a_worker_does_not_see_it_and_the_office_does_not_load() -> None:
    released()
    assert Browser(person(Role.WELDER)).get("/cards/").status_code == 403
    office = Browser(person(Role.OFFICE))
    assert office.get("/cards/small_axle/A/").status_code == 200
    assert office.send("/cards/", file=upload(SMALL_CARD_B)).status_code == 422
    assert office.send("/cards/small_axle/A/release/").status_code == 403
    assert Revision.objects.count() == 1


def test_nobody_signed_in_is_sent_to_sign_in() -> None:
    assert Browser().get("/cards/").status_code in (302, 303)


def test_looking_writes_nothing() -> None:
    released()
    before = Event.objects.count()
    for address in ("/cards/", "/cards/small_axle/A/", "/cards/small_axle/A/definition/"):
        engineer().get(address)
    assert Event.objects.count() == before
