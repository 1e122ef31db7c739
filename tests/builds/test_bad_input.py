"""Every form of the build against senseless input: a sentence, nothing stored, and what was typed still there."""

from __future__ import annotations

import html

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.files import LARGEST_PICTURE
from shop.models import SignIn
from tests import factories
from tests.bad_input import FORM, body, cases, tallies
from tests.builds.cards import SMALL_CARD
from tests.builds.forms_table import FORMS
from tests.builds.scene import Form, Scene, set_scene
from tests.factories import with_key

pytestmark = pytest.mark.django_db
#: Chosen from a list, or scanned and kept by the browser: a page does not draw what it never offered.
NOT_TYPED = {"part", "worked_by", "to", "supplier", "kind", "heat", "lot", "customer", "sha256", "characteristic",
             "position", "unit", "gauge", "ring", "role", "cause", "decision", "certificate_type", "paper", "process",
             "option-ratio", "option-lock", "pin", "try", "worked_at", "lines", "group"}  # fmt: skip
SAYS = ('role="alert"', "is-wrong", "errorlist", "Nothing was saved")


@pytest.fixture(scope="module")
def scene(once_per_module: None) -> Scene:
    return set_scene()


@pytest.fixture
def omni(scene: Scene) -> Client:
    return factories.signed_in_client(scene.omni)


def press(client: Client, url: str, fields: dict[str, str]) -> tuple[int, str, bool]:
    """The answer to one press, its page, and whether anything was stored; then all is as before."""
    with transaction.atomic():
        before = tallies()
        answer = client.post(url, body(fields), content_type=FORM)
        stored = tallies() != before
        transaction.set_rollback(True)
    return answer.status_code, answer.content.decode(), stored


@pytest.mark.parametrize("name", FORMS)
def test_senseless_input_is_answered_with_a_sentence_and_changes_nothing(scene: Scene, omni: Client, name: str) -> None:
    form = FORMS[name]
    url, filled = form.url(scene), form.filled(scene)
    for field, value in cases(filled):
        status, page, stored = press(omni, url, filled | {field: value})
        told = f"{name}: {field}={value[:30]!r} was answered with {status}"
        assert status in (200, 303, 400, 404, 409, 422), told
        if status in (200, 303):
            assert not stored or _may(form, field, value), told
            continue
        assert not stored, told
        assert any(word in page for word in SAYS), told
        if status in (409, 422) and "cannot be stored" not in page:
            kept = {other: text for other, text in (filled | {field: value}).items() if other not in NOT_TYPED}
            lost = [other for other, text in kept.items() if _shows(text) and html.escape(text) not in page]
            assert not lost, f"{told} and lost {lost}"


def _may(form: Form, field: str, value: str) -> bool:
    return field in form.may and form.may[field](value)


def _shows(text: str) -> bool:
    return bool(text.strip()) and text.isprintable() and len(text) < 40


@pytest.mark.parametrize("name", FORMS)
def test_control_the_same_form_filled_in_right_is_taken(scene: Scene, omni: Client, name: str) -> None:
    form = FORMS[name]
    status, _, stored = press(omni, form.url(scene), form.filled(scene))
    assert (status, stored) == (200 if name == "a customer's link" else 303, True)


@pytest.mark.parametrize("name", FORMS)
def test_a_form_without_its_key_changes_nothing(scene: Scene, omni: Client, name: str) -> None:
    form, before = FORMS[name], tallies()
    for key in (None, "", "nonsense", "😀"):
        fields = form.filled(scene) if key is None else {**form.filled(scene), "submission": key}
        assert omni.post(form.url(scene), fields).status_code in (400, 422)
    assert tallies() == before


@pytest.mark.parametrize("name", FORMS)
def test_a_repeated_press_is_taken_once(scene: Scene, omni: Client, name: str) -> None:
    form = FORMS[name]
    fields = with_key(**form.filled(scene))
    with transaction.atomic():
        first = omni.post(form.url(scene), fields).status_code
        between = tallies()
        second = omni.post(form.url(scene), fields).status_code
        # The address of a customer's link is shown once, so a repeat does not show it.
        assert second == (303 if name == "a customer's link" else first)
        assert tallies() == between
        transaction.set_rollback(True)


@pytest.mark.parametrize("name", FORMS)
def test_an_expired_session_keeps_the_draft_and_changes_nothing(scene: Scene, omni: Client, name: str) -> None:
    form, before = FORMS[name], tallies()
    SignIn.objects.filter(person=scene.omni).update(ended_at=timezone.now())
    answer = omni.post(form.url(scene), with_key(**form.filled(scene)))
    assert answer.status_code in (200, 303, 401)
    assert tallies() == before
    page = answer.content.decode()
    # A scan may have been a badge, so it is not carried past the sign-in; nor is a PIN.
    typed = {field: text for field, text in form.filled(scene).items() if field not in ("pin", "scan")}
    assert not [text for text in typed.values() if html.escape(text) not in page]
    assert factories.PIN not in page


@pytest.mark.parametrize("name", [name for name, form in FORMS.items() if form.page.startswith(("station_", "axle_"))])
def test_a_vanished_axle_is_told_so(scene: Scene, omni: Client, name: str) -> None:
    form = FORMS[name]
    arguments = ["TBK-26-9999-9", *form.args(scene)[1:]]
    answer = omni.post(reverse(form.page, args=arguments), with_key(**form.filled(scene)))
    assert answer.status_code == 404
    assert "<h1" in answer.content.decode()


@pytest.mark.parametrize(
    ("axle", "said"), [("off", "is no longer in hand: it is done"), ("closed", "is closed. Nothing can be added")]
)
def test_a_press_on_a_pass_that_has_ended_is_told_so(scene: Scene, omni: Client, axle: str, said: str) -> None:
    """The page of a second terminal may be older than the signature; its figure is not lost without a word."""
    url = reverse("station_reading", args=[scene.axles[axle].serial, 10, "-"])
    status, page, stored = press(omni, url, FORMS["one Enter"].filled(scene) | {"reason": "again", "try": "2"})
    assert (said in page, stored) == (True, False)
    assert status == (409 if axle == "off" else 422)


SCANS = {
    "nobody's mark": "NO-SUCH-THING",
    "another sort of thing": "~G:KS-2",
    "a part that is in a kit": "KS-1",
    "a part of another kind": "HH1",
    "a megabyte": "x" * 1_000_000,
}


@pytest.mark.parametrize("what", SCANS)
@pytest.mark.parametrize("where", ["a scan at the bench", "a kit's scan"])
def test_a_scan_that_does_not_belong_here_is_refused(scene: Scene, omni: Client, where: str, what: str) -> None:
    form = FORMS[where]
    filled = form.filled(scene) | {"scan": SCANS[what]}
    status, page, stored = press(omni, form.url(scene), filled)
    assert (status in (409, 422), stored) == (True, False), status
    assert any(word in page for word in SAYS)


FILES = {
    "empty": (b"", "a.toml"),
    "no text": (bytes(range(256)) * 4, "a.toml"),
    "no TOML": (b"operation: 10", "a.toml"),
    "half a card": (SMALL_CARD.encode()[:400], "a.toml"),
    "a wrong word": (SMALL_CARD.replace('tracking = "serial"', 'tracking = "sometimes"').encode(), "a.toml"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + b"x" * 400, "a.png"),
    "a released revision": (SMALL_CARD.replace("Small axle for tests", "Other words").encode(), "a.toml"),
    "too large": (b"# " + b"x" * 3_000_000, "a.toml"),
    "a name that climbs": (b"x = 1", "../../../etc/passwd"),
}


@pytest.mark.parametrize("what", FILES)
def test_a_broken_definition_file_is_refused_with_its_faults(scene: Scene, omni: Client, what: str) -> None:
    content, name = FILES[what]
    before = tallies()
    answer = omni.post(reverse("cards"), with_key(file=SimpleUploadedFile(name, content, "text/plain")))
    assert (answer.status_code, tallies()) == (422, before)
    assert any(word in answer.content.decode() for word in SAYS)


@pytest.mark.parametrize(
    ("content", "name"),
    [(b"", "a.png"), (b"GIF89a nothing", "a.gif"), (b"%PDF-1.7", "a.png"), (b"\x89PNG\r\n\x1a\nbroken", "a.png"),
     (b"x" * (LARGEST_PICTURE + 1), "a.png"), (b"<svg onload='alert(1)'/>", "a.svg")],
)  # fmt: skip
def test_a_file_that_is_no_picture_is_not_kept(scene: Scene, omni: Client, content: bytes, name: str) -> None:
    visit, before = scene.visits[10], tallies()
    assert visit.axle is not None
    url = reverse("station_reading", args=[visit.axle.serial, 10, "-"])
    answer = omni.post(url, with_key(photo_name="bench", photo=SimpleUploadedFile(name, content, "image/png")))
    assert (answer.status_code, tallies()) == (422, before)
