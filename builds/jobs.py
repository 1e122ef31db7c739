"""Handlers of the job table. Loaded by workers only: rendering is heavy to import."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from django.conf import settings

from builds.actions import exposing
from builds.actions.closing import RENDER, frozen_bytes, keep_certificate
from builds.certificates.context import PATTERN, certificate_context, photos
from builds.certificates.pdf import Kept, certificate_html, render_pdf
from builds.certificates.record_parts import moment
from builds.models import Axle, Certificate, Closing
from shop.record.jobs import Work, handler
from shop.record.models import Blob, Signature
from shop.record.who import SYSTEM


@handler(RENDER)
def render_certificate(work: Work) -> None:
    """Make one issue from the frozen record and keep its bytes. An issue that is there already is left alone."""
    axle = Axle.objects.select_related("item").get(pk=work.argument["axle"])
    issue = int(work.argument["issue"])
    if Certificate.objects.filter(axle=axle, issue=issue).exists():
        return
    closing = Closing.objects.select_related("axle__item").get(axle=axle)
    paper, reason = str(work.argument["paper"]), str(work.argument["reason"])
    signed = Signature.objects.select_related("person").get(pk=work.argument["signature"])
    pdf = render_issue(closing, issue, paper, signed, reason)
    keep_certificate(closing=closing, issue=issue, paper=paper, pdf=pdf, reason=reason, by=SYSTEM)


@handler(exposing.LOOK_THROUGH)
def look_through(work: Work) -> None:
    """Look through the axles that left for what returns share; what is kept already is left alone."""
    exposing.work_off(work.renew)


def render_issue(closing: Closing, issue: int, paper: str, signed: Signature, reason: str = "") -> bytes:
    """The PDF of one issue from the frozen bytes alone; its signature and the issue before stand beside them."""
    facts = {
        "number": issue,
        "paper": paper,
        "reason": reason,
        "replaces": issue - 1 if issue > 1 else None,
        "certified_by": signed.person.name,
        "certified_at": moment(signed.at),
        "address": settings.VERIFY_ADDRESS,
    }
    content = frozen_bytes(closing)
    record = json.loads(content)
    pictures = _pictures(record)
    context = certificate_context(record, sha256=closing.sha256, issue=facts, pictures=pictures)
    kept = Kept(f"{record['axle']['serial']}-record.json", content, closing.closed_at, pictures)
    return render_pdf(certificate_html(context), kept)


def _pictures(record: dict[str, Any]) -> dict[str, bytes]:
    """The photos that are printed, by fingerprint; one whose bytes do not match it is not printed."""
    wanted = {row["sha256"] for row in photos(record) if row["name"] in PATTERN}
    rows = Blob.objects.filter(sha256__in=wanted).values_list("sha256", "content")
    found = {sha256: bytes(content) for sha256, content in rows}
    return {sha256: content for sha256, content in found.items() if hashlib.sha256(content).hexdigest() == sha256}
