"""Close an axle: the full record is frozen, and from it, by a job, the certificate is made."""

from __future__ import annotations

import hashlib
from datetime import datetime

from builds.actions.attaching import keep_file
from builds.certificates.record import full_record
from builds.errors import NotReady, NotSignable, Stopped
from builds.models import Axle, Certificate, Certifying, Closing, Phase
from builds.reports.closing import against_leaving, being_made, missing_for_closing, render_key
from shop.actions.signing import Grant, signature
from shop.clock import shop_day
from shop.errors import Conflict, Refusal
from shop.models import Role
from shop.permissions import require_role
from shop.record import chain
from shop.record.act import Act, act
from shop.record.jobs import try_again
from shop.record.models import Blob, Signature
from shop.record.who import Who

CLOSERS = (Role.INSPECTOR, Role.QUALITY)
AGAIN = (Role.QUALITY, Role.MANAGER)
RENDER = "certificate.render"
RECORD_TYPE = "application/json"
LONGEST_REASON = 300


def close_axle(*, axle: Axle, by: Who, now: datetime | None = None) -> Closing:
    """Freeze the record as canonical JSON under its SHA-256. What comes later is marked after closing.

    Race: closing and adding both lock the axle's chain, and the database refuses what slips past it.
    """
    with act("axle.closed", subject=axle.subject, by=by, now=now) as a:
        axle = Axle.objects.select_related(
            "item", "line__order__customer", "revision__model", "takes_place_of__item"
        ).get(pk=axle.pk)
        require_role(by, CLOSERS, shop_day(a.now))
        if Closing.objects.filter(axle=axle).exists():
            raise Stopped(f"The record of {axle.serial} is closed already.")
        if missing := missing_for_closing(axle, a.now):
            raise NotSignable([found.text for found in missing])
        content = chain.canonical(full_record(axle, a.now))
        sha256 = hashlib.sha256(content).hexdigest()
        keep_file(sha256, content, RECORD_TYPE)
        a.update(axle, closed_at=a.now)
        a.note(sha256=sha256)
        assert by.person is not None
        return a.create(Closing, axle=axle, sha256=sha256, closed_at=a.now, closed_by=by.person)


def certify(*, closing: Closing, grant: Grant, by: Who, now: datetime | None = None) -> Certifying:
    """The quality signature under the frozen record; the certificate is then rendered by a job. Refuses while something
    that happened since the closing stands against it."""
    axle = closing.axle
    with act("axle.certified", subject=axle.subject, by=by, now=now) as a:
        require_role(by, Role.QUALITY, shop_day(a.now))
        axle = Axle.objects.select_related("item", "line__order", "revision__model").get(pk=axle.pk)
        if Certifying.objects.filter(closing=closing).exists():
            raise Stopped(f"{axle.serial} is certified already.")
        if why := against_leaving(axle):
            raise NotReady(why)
        row = a.create(Certifying, closing=closing, signature=signature(a, grant, Signature.Meaning.RELEASED))
        if axle.phase == Phase.BOUGHT_OFF:
            a.update(axle, phase=Phase.CERTIFIED)
        _ask(a, axle, 1, row.signature)
        a.note(sha256=closing.sha256)
        return row


def reissue(*, axle: Axle, reason: str, grant: Grant, by: Who, now: datetime | None = None) -> int:
    """A corrected issue that names the old one; the old one stays, and its page says so. Returns the number.

    It is signed anew, as the first one was. One at a time: a second one asked for before the first is made
    would have the same number, and its reason would reach no certificate.
    """
    reason = " ".join(reason.split())
    if not reason:
        raise Refusal("Say what the new issue corrects.", field="reason")
    if len(reason) > LONGEST_REASON:
        raise Refusal(f"Say in at most {LONGEST_REASON} characters what the new issue corrects.", field="reason")
    with act("certificate.reissued", subject=axle.subject, by=by, now=now) as a:
        require_role(by, Role.QUALITY, shop_day(a.now))
        last = Certificate.objects.filter(axle=axle).order_by("-issue").first()
        if last is None:
            raise NotReady(f"{axle.serial} has no certificate yet that could be corrected.")
        issue = last.issue + 1
        if (making := being_made(axle)) is not None:
            state = "could not be made; have it made again" if making.given_up else "is being made already"
            raise Stopped(f"Issue {issue} of {axle.serial} {state}. Correct it when it is there.")
        axle = Axle.objects.select_related("item", "line__order").get(pk=axle.pk)
        _ask(a, axle, issue, signature(a, grant, Signature.Meaning.RELEASED), reason)
        a.note(issue=issue, reason=reason)
        return issue


def make_again(*, axle: Axle, by: Who, now: datetime | None = None) -> int:
    """The job of the issue that was signed and could not be made goes back into the queue, with all its tries."""
    with act("certificate.asked_again", subject=axle.subject, by=by, now=now) as a:
        require_role(by, AGAIN, shop_day(a.now))
        making = being_made(axle)
        if making is None or not making.given_up:
            raise Stopped(f"No certificate of {axle.serial} was given up. Load the page again.")
        if not try_again(making.job, now=a.now):
            raise Conflict(f"Issue {making.issue} of {axle.serial} is being made again already.")
        a.note(issue=making.issue, failed=making.error.partition("\n")[0])
        return making.issue


def _ask(a: Act, axle: Axle, issue: int, signed: Signature, reason: str = "") -> None:
    argument = {"axle": axle.pk, "issue": issue, "paper": axle.line.order.paper, "signature": signed.pk}
    a.job(RENDER, key=render_key(axle, issue), argument=argument | {"reason": reason})


def frozen_bytes(closing: Closing) -> bytes:
    """The exact bytes that were frozen. Raises Refusal where they do not match their fingerprint."""
    content = bytes(Blob.objects.get(sha256=closing.sha256).content)
    if hashlib.sha256(content).hexdigest() != closing.sha256:
        raise Refusal("The frozen record does not match its fingerprint. Nothing is made from it; tell the manager.")
    return content


def keep_certificate(
    *, closing: Closing, issue: int, paper: str, pdf: bytes, reason: str, by: Who, now: datetime | None = None
) -> Certificate:
    """Store the bytes of one issue, once: whoever comes second gets the first one's."""
    with act("certificate.made", subject=closing.axle.subject, by=by, now=now) as a:
        found = Certificate.objects.filter(axle=closing.axle, issue=issue).first()
        if found is not None:
            a.note(issue=issue, already="made")
            return found
        before = Certificate.objects.filter(axle=closing.axle, issue=issue - 1).first()
        sha256 = hashlib.sha256(pdf).hexdigest()
        keep_file(sha256, pdf, "application/pdf")
        a.note(issue=issue, sha256=sha256)
        return a.create(
            Certificate,
            closing=closing,
            axle=closing.axle,
            issue=issue,
            paper=paper,
            sha256=sha256,
            made_at=a.now,
            replaces=before,
            reason=reason,
        )
