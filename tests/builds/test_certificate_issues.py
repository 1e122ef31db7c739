"""Issues of a certificate: kept once, corrected by a new one, checked by anybody."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.actions.closing import frozen_bytes, keep_certificate, reissue
from builds.certificates.record_parts import moment
from builds.errors import Stopped
from builds.jobs import render_certificate, render_issue
from builds.models import Certificate, Closing
from builds.reports.checking import LARGEST_FILE
from builds.reports.closing import Making, being_made
from builds.scenario.driver import Builder
from shop.actions.people import give_role
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Role
from shop.record.jobs import Work
from shop.record.models import Blob, Job, Signature
from shop.record.who import SYSTEM
from tests.builds.pages import Browser, text_of_pdf
from tests.shopfloor import THIRD, Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop(THIRD)


def test_an_issue_is_kept_once(floor: Floor, built: Builder, closed: Closing, pdf: bytes) -> None:
    built.now += timedelta(minutes=1)
    first = keep_certificate(closing=closed, issue=1, paper="A4", pdf=pdf, reason="", by=SYSTEM, now=built.now)
    again = keep_certificate(closing=closed, issue=1, paper="A4", pdf=b"other", reason="", by=SYSTEM, now=built.now)
    assert first == again
    assert Certificate.objects.filter(axle=closed.axle).count() == 1


def test_a_correction_is_a_new_issue_that_names_the_old_one(
    floor: Floor, built: Builder, closed: Closing, pdf: bytes
) -> None:
    keep_certificate(closing=closed, issue=1, paper="A4", pdf=pdf, reason="", by=SYSTEM, now=built.now)
    quality = floor.who("ingrith")
    built.now += timedelta(minutes=1)

    def ask(reason: str, meaning: str = "released") -> int:
        grant = built.grant(quality, meaning)
        return reissue(axle=closed.axle, reason=reason, grant=grant, by=quality, now=built.now)

    with pytest.raises(Refusal, match="Say what the new issue corrects"):
        ask(" ")
    with pytest.raises(Refusal, match="at most 300 characters"):
        ask("x" * 301)
    assert ask("customer's address") == 2
    with pytest.raises(Stopped, match=r"Issue 2 of .* is being made already"):
        ask("another reason, which would be lost")
    assert being_made(closed.axle) == Making(2, "", given_up=False)
    job = Job.objects.get(key=f"certificate:{closed.axle_id}:2")
    render_certificate(Work(job.pk, job.kind, job.argument, 1, "test"))
    assert being_made(closed.axle) is None
    second = Certificate.objects.get(axle=closed.axle, issue=2)
    assert second.replaces == Certificate.objects.get(axle=closed.axle, issue=1)
    text = text_of_pdf(bytes(Blob.objects.get(sha256=second.sha256).content))
    assert "replaces issue 1" in text
    assert "customer's address" in text
    assert moment(Signature.objects.get(pk=job.argument["signature"]).at) in text
    built.now = timezone.now() + timedelta(seconds=1)
    assert ask("a second correction") == 3


def kept_certificate(closed: Closing, pdf: bytes, built: Builder, issue: int = 1) -> None:
    reason = "another paper" if issue > 1 else ""
    keep_certificate(closing=closed, issue=issue, paper="A4", pdf=pdf, reason=reason, by=SYSTEM, now=built.now)


def asked(**given: object) -> str:
    page = Client().post(reverse("verify"), given)
    assert page.status_code == 200
    found = re.search(r'<p class="verdict">.*?</p>', page.content.decode(), re.DOTALL)
    assert found is not None
    return " ".join(re.sub(r"<[^>]+>", " ", found[0]).split())


def upload(content: bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile("certificate.pdf", content, "application/pdf")


def test_the_public_check_tells_ours_from_altered_and_replaced(
    built: Builder, closed: Closing, signed: Signature, pdf: bytes
) -> None:
    fingerprint = {"serial": closed.axle.serial.lower(), "fingerprint": closed.sha256.upper()}
    assert "no certificate has been issued from it" in asked(**fingerprint)
    assert "not, byte for byte" in asked(file=upload(pdf))
    kept_certificate(closed, pdf, built)
    assert "issue 1 for" in asked(file=upload(pdf))
    assert "unchanged and the latest" in asked(file=upload(pdf))
    assert "not, byte for byte" in asked(file=upload(pdf[:-1] + b"x"))
    assert "belongs to the record" in asked(**fingerprint)
    assert "belongs to the record" in asked(file=upload(frozen_bytes(closed)))
    kept_certificate(closed, render_issue(closed, 2, "Letter", signed), built, issue=2)
    assert "issue 2 has replaced it" in asked(file=upload(pdf))


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({}, "Give a file, or the serial"),
        ({"serial": "TBK-26-0001-9"}, "Give a file, or the serial"),
        ({"serial": "TBK-26-0001-9", "fingerprint": "abc"}, "This one has 3; copy it whole"),
        ({"serial": "TBK-26-0001-9", "fingerprint": "0" * 65}, "This one has 65; copy it whole"),
        ({"serial": "TBK-26-0001-9", "fingerprint": "0" * 64}, "No certificate of ours"),
        ({"file": b""}, "This file is empty"),
        ({"file": b"x" * (LARGEST_FILE + 1)}, "larger than 10 MB"),
        ({"file": b"x" * LARGEST_FILE}, "not, byte for byte"),
    ],
)
def test_the_public_check_says_what_is_wrong_with_the_question(given: dict[str, object], said: str) -> None:
    files = {name: upload(value) for name, value in given.items() if isinstance(value, bytes)}
    assert said in asked(**given | files)


def test_a_wrong_pin_keeps_what_the_new_issue_corrects(
    floor: Floor, built: Builder, closed: Closing, pdf: bytes
) -> None:
    """Who holds both roles has two signatures on one page: that of shipping, and that of the new issue."""
    kept_certificate(closed, pdf, built)
    give_role(person=floor.people["ingrith"], role=Role.SHIPPER, valid_from=shop_day(timezone.now()), by=SYSTEM)
    browser = Browser(floor.who("ingrith"))
    here = reverse("closing_reissue", args=[closed.axle.serial])
    page = browser.send(here, reason="the consignee's name", pin="000000", meaning="released")
    assert page.status_code == 422
    said = page.content.decode()
    assert 'value="the consignee&#x27;s name"' in said
    assert (said.count('id="f-pin"'), said.count('id="f-reissue-pin"')) == (1, 1)
    assert not Job.objects.filter(key=f"certificate:{closed.axle_id}:2").exists()
