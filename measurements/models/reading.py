"""Sheets and readings: what was measured, with what it was judged against, for ever."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from measurements.engineering.limits import Verdict
from measurements.models.gauge import Calibration, Gauge
from measurements.models.plan import Characteristic
from shop.models import Item, Person, Terminal
from shop.models.fields import ExactField


class Sheet(models.Model):
    """A set of readings of one item. Who asked for it (a visit, a receiving) points here, not the reverse."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="sheets")
    opened_at = models.DateTimeField()


class VerdictWord(models.TextChoices):
    IN = "in", "in limits"
    BELOW = "below", "below the limit"
    ABOVE = "above", "above the limit"
    NEVER = "never", "above what must never be passed"
    NO = "no", "no"
    NONE = "none", "recorded, no limit"

    @classmethod
    def of(cls, verdict: Verdict) -> VerdictWord:
        """The word that is stored for a verdict on a figure."""
        return _WORDS[verdict]


_WORDS = {
    Verdict.IN: VerdictWord.IN,
    Verdict.BELOW: VerdictWord.BELOW,
    Verdict.ABOVE: VerdictWord.ABOVE,
    Verdict.NEVER: VerdictWord.NEVER,
}

OUT = (VerdictWord.BELOW, VerdictWord.ABOVE, VerdictWord.NEVER, VerdictWord.NO)


class ReadingQuerySet(models.QuerySet["Reading"]):
    def standing(self) -> ReadingQuerySet:
        """Not voided. The last attempt at a position is the one that counts."""
        return self.filter(voiding=None)


class Reading(models.Model):
    """One value at one position, attempt by attempt. Append-only: a correction is a new attempt with a reason.

    `value` is in the drawing unit; `typed` is what the person entered, in `unit_typed`. The limits are those of
    the moment, so that an old axle keeps its old verdict.
    """

    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="readings", db_index=False)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="readings", db_index=False)
    characteristic = models.ForeignKey(Characteristic, on_delete=models.PROTECT, related_name="readings")
    position = models.CharField(max_length=24, blank=True, default="")
    attempt = models.PositiveSmallIntegerField(default=1)
    typed = models.CharField(max_length=400, blank=True, default="")
    unit_typed = models.CharField(max_length=12, blank=True, default="")
    value = ExactField(null=True, blank=True)
    photo = models.CharField(max_length=64, blank=True, default="")
    low = ExactField(null=True, blank=True)
    high = ExactField(null=True, blank=True)
    never_above = ExactField(null=True, blank=True)
    verdict = models.CharField(max_length=6, choices=VerdictWord)
    gauge = models.ForeignKey(
        Gauge, on_delete=models.PROTECT, null=True, blank=True, related_name="readings", db_index=False
    )
    ring = models.ForeignKey(
        Gauge, on_delete=models.PROTECT, null=True, blank=True, related_name="set_for", db_index=False
    )
    # Its index is the one below that also answers how often the gauge had been used by a moment.
    calibration = models.ForeignKey(Calibration, on_delete=models.PROTECT, null=True, blank=True, db_index=False)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, db_index=False)
    terminal = models.ForeignKey(Terminal, on_delete=models.PROTECT, null=True, blank=True, db_index=False)
    entered_at = models.DateTimeField()
    happened_at = models.DateTimeField()
    late = models.BooleanField(default=False)
    replaces = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, db_index=False)
    reason = models.CharField(max_length=300, blank=True, default="")
    questioned = models.BooleanField(default=False)

    objects = ReadingQuerySet.as_manager()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(
                fields=["sheet", "characteristic", "position", "attempt"], name="reading_unique_attempt"
            ),
            models.CheckConstraint(condition=Q(attempt=1) | ~Q(reason=""), name="reading_later_attempt_has_reason"),
            models.CheckConstraint(
                condition=Q(happened_at__lte=models.F("entered_at")), name="reading_happened_before_entered"
            ),
        ]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["gauge", "entered_at"], include=["item"], name="reading_gauge_entered"),
            models.Index(fields=["calibration", "happened_at"], name="reading_calibration_happened"),
            models.Index(fields=["person", "entered_at"], name="reading_person_entered"),
            models.Index(fields=["terminal", "entered_at"], name="reading_terminal_entered"),
            models.Index(fields=["item"], name="reading_item"),
            # Hardly any reading has one.
            models.Index(fields=["ring"], name="reading_ring", condition=Q(ring__isnull=False)),
            models.Index(fields=["replaces"], name="reading_replaces", condition=Q(replaces__isnull=False)),
            # Few are out, and the floor asks of thousands of sheets whether one is.
            models.Index(
                fields=["sheet"], name="reading_out", condition=Q(verdict__in=("below", "above", "never", "no"))
            ),
        ]

    @property
    def is_out(self) -> bool:
        return self.verdict in OUT


class ReadingInput(models.Model):
    """Which readings a computed one was computed from."""

    computed = models.ForeignKey(Reading, on_delete=models.PROTECT, related_name="inputs", db_index=False)
    source = models.ForeignKey(Reading, on_delete=models.PROTECT, related_name="used_in")

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["computed", "source"], name="reading_input_once")
        ]


class Advised(models.Model):
    """What the tool advised at a sheet, as it was shown: after which reading, in which words and figures.

    A new answer is a new row, so that what was advised and what was then done stand beside each other for ever.
    `answer` is the JSON of measurements.bench.answer.Answer.
    """

    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="advised")
    name = models.CharField(max_length=40)
    side = models.CharField(max_length=8, blank=True, default="")
    answer = models.TextField()
    after = models.ForeignKey(Reading, on_delete=models.PROTECT, null=True, blank=True, related_name="advised")
    at = models.DateTimeField()


class Voiding(models.Model):
    """A reading that was entered on the wrong axle: it stays visible and its value stands no longer.

    `counts`: out of limit, it is still one of the tries that its characteristic's reaction allows. Whoever may try
    again could else make a low try vanish by a word; so it counts until somebody with authority says otherwise.
    """

    reading = models.OneToOneField(Reading, on_delete=models.PROTECT, related_name="voiding")
    reason = models.CharField(max_length=300)
    counts = models.BooleanField(default=True, db_default=True)
    person = models.ForeignKey(Person, on_delete=models.PROTECT)
    at = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~Q(reason=""), name="voiding_has_reason")
        ]
