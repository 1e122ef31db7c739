"""The public check: is this certificate ours, unchanged, and the latest? Answers nothing but that."""

from __future__ import annotations

from dataclasses import dataclass

from builds.models import Axle, Certificate, Closing

FINGERPRINT_DIGITS = 64
LARGEST_FILE = 10_000_000


@dataclass(frozen=True)
class Answer:
    good: bool
    words: str


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
        return Answer(False, words)
    return Answer(True, f"This is issue {row.issue} for {row.axle.serial}, unchanged and the latest.")


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
        return Answer(False, f"This is the record of {serial}, but no certificate has been issued from it.")
    return Answer(True, f"This fingerprint belongs to the record of {serial}. The latest issue is {last.issue}.")


def _last(axle: Axle) -> Certificate | None:
    return Certificate.objects.filter(axle=axle).order_by("-issue").first()
