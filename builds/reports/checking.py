"""The public check: is this certificate ours, unchanged, and the latest, and was anything found since? Whoever asks
learns that there is more, and whom to ask; what it is stands on the customer's page."""

from __future__ import annotations

from dataclasses import dataclass, replace

from builds.models import Axle, Certificate, Closing
from builds.reports.looked_back import for_customer
from builds.reports.notices.customer import notices_of
from builds.reports.returns.then_and_now import places_of

FINGERPRINT_DIGITS = 64
LARGEST_FILE = 10_000_000


@dataclass(frozen=True)
class Answer:
    """`good`: ours, unchanged, the latest. `since`: what came after it was closed, as half sentences; `in_doubt`:
    whether something is still asked of whoever has the axle."""

    good: bool
    words: str
    since: tuple[str, ...] = ()
    in_doubt: bool = False


def no_file(size: int) -> Answer | None:
    """Why a file of so many bytes is not looked at; None when it is."""
    if size == 0:
        return Answer(False, "This file is empty. Choose the certificate's PDF as you received it.")
    if size > LARGEST_FILE:
        most = LARGEST_FILE // 1_000_000
        return Answer(
            False, f"This file is larger than {most} MB, and no certificate of ours is. It was not looked at."
        )
    return None


def check_file(sha256: str) -> Answer:
    """A certificate, or the frozen record, by the SHA-256 of its bytes."""
    row = Certificate.objects.filter(sha256=sha256).select_related("axle__item").first()
    if row is None:
        closing = Closing.objects.filter(sha256=sha256).select_related("axle__item").first()
        if closing is not None:
            return _of_record(closing)
        return Answer(False, "This file is not, byte for byte, a certificate of ours.")
    last = _last(row.axle)
    assert last is not None
    if last.pk != row.pk:
        words = f"This is issue {row.issue} for {row.axle.serial}, unchanged, but issue {last.issue} has replaced it."
        return with_later(Answer(False, words), row.axle)
    return with_later(
        Answer(True, f"This is issue {row.issue} for {row.axle.serial}, unchanged and the latest."), row.axle
    )


def check_fingerprint(serial: str, fingerprint: str) -> Answer:
    """What is printed on the certificate: the serial and the fingerprint of the frozen record."""
    if not serial or not fingerprint:
        return Answer(False, "Give a file, or the serial and the fingerprint that are printed on the certificate.")
    if len(fingerprint) != FINGERPRINT_DIGITS:
        count = len(fingerprint)
        return Answer(
            False,
            f"A fingerprint has {FINGERPRINT_DIGITS} digits, 0 to 9 and a to f. This one has {count}; copy it whole.",
        )
    rows = Closing.objects.filter(axle__item__mark=serial, sha256=fingerprint)
    closing = rows.select_related("axle__item").first()
    if closing is None:
        return Answer(False, "No certificate of ours has this serial with this fingerprint.")
    return _of_record(closing)


def _of_record(closing: Closing) -> Answer:
    serial, last = closing.axle.serial, _last(closing.axle)
    if last is None:
        words = f"This is the record of {serial}, but no certificate has been issued from it."
        return with_later(Answer(False, words), closing.axle)
    words = f"This fingerprint belongs to the record of {serial}. The latest issue is {last.issue}."
    return with_later(Answer(True, words), closing.axle)


def with_later(answer: Answer, axle: Axle) -> Answer:
    """The answer with what the axle's own customer reads of it since its record was closed: that it is so, no more.

    A certificate says how the axle left; a look-back or a notice that came afterwards changes not a byte of it.
    """
    closed = axle.closed_at
    assert closed is not None
    notices = [row for row in notices_of([axle])[axle.pk] if row.at > closed or row.is_open]
    again = [row for row in for_customer([axle])[axle.pk] if row.at > closed]
    changed = any(place.changed for place in places_of([axle])[axle.pk])
    since = (
        *_counted(len(notices), "one notice is about it", "{} notices are about it"),
        *_counted(
            len(again),
            "what was recorded of it was looked at again",
            "what was recorded of it was looked at again {} times",
        ),
        *(("parts of it were exchanged or taken out",) if changed else ()),
        *(("it was scrapped in our house and never sent",) if axle.scrapped_at is not None else ()),
    )
    in_doubt = any(row.asks for row in notices) or any(row.asks for row in again) or axle.scrapped_at is not None
    return replace(answer, since=since, in_doubt=in_doubt)


def _counted(count: int, one: str, more: str) -> tuple[str, ...]:
    return () if count == 0 else (one if count == 1 else more.format(count),)


def _last(axle: Axle) -> Certificate | None:
    return Certificate.objects.filter(axle=axle).order_by("-issue").first()
