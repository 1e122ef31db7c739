"""What look-backs said of an axle, over a gauge and over a lapsed skill: for its file, its closing and its customer.

These rows came after what they speak of; nothing of a frozen record is changed by them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import CharField, Exists, F, OuterRef, Q, Value

from builds.definitions.words import skill_words
from builds.models import Axle, Fitted, Joined, JudgedAgain, LapsedAxle, LapsedVisit, LookBackAxle, Outcome
from builds.reports.lookback import Again, line_of
from measurements.engineering.limits import plain
from shop.clock import shop_day
from shop.models.prepared import PreparedValues, number

_SAID = ("pk", "look_back__at", "tag__number", "decision__outcome", "decision__reason", "decision__at")
_DECIDED = ("decision", "tag__disposition")
_IS_DECIDED = Q(decision__isnull=False) | Q(tag__disposition__isnull=False)
_BY = "Our engineer or inspector decided"


@dataclass(frozen=True)
class LookedBack:
    """One line of an axle's file: over what, when, and what was decided. `page`: the name of its page's address."""

    page: str
    pk: int
    at: datetime
    over: str
    tag: int | None
    outcome: str
    reason: str
    decided_at: datetime | None

    @property
    def decision(self) -> str:
        return Outcome(self.outcome).label if self.outcome else ""


def _text(value: str) -> Value:
    return Value(value, output_field=CharField())


_BOTH = PreparedValues(
    lambda: (
        LookBackAxle.objects.filter(axle=number("axle"))
        .values_list(*_SAID, _text("look_back_axle"), "look_back__found__gauge__item__mark", _text(""))
        .union(
            LapsedAxle.objects.filter(axle=number("axle")).values_list(
                *_SAID, _text("lapsed_axle"), "look_back__person__name", "look_back__process"
            ),
            all=True,
        )
    )
)


def looked_back_at(axle: Axle) -> list[LookedBack]:
    """Both kinds, oldest first, in one statement."""
    found = [
        LookedBack(page, pk, at, _over(whose, process), tag, outcome or "", reason or "", decided_at)
        for pk, at, tag, outcome, reason, decided_at, page, whose, process in _BOTH.all(axle=axle.pk)
    ]
    return sorted(found, key=lambda row: (row.at, row.page, row.pk))


def _over(whose: str, process: str) -> str:
    return f"{whose}, {skill_words(process)} while lapsed" if process else f"gauge {whose}"


@dataclass(frozen=True)
class CustomerLookBack:
    """What a customer reads: facts of their own axle, no name of staff. `asks`: whether the axle is wanted back."""

    at: datetime
    found: str
    facts: tuple[str, ...]
    decided: str
    asks: bool


def for_customer(axles: Sequence[Axle]) -> dict[int, list[CustomerLookBack]]:
    """By axle, once somebody has decided; before that it is the shop's own. Four statements for any number; one more
    where a unit came in since."""
    found: dict[int, list[CustomerLookBack]] = defaultdict(list)
    facts = _facts(axles)
    gauges = LookBackAxle.objects.filter(axle__in=axles).select_related(*_DECIDED, "look_back__found__gauge")
    for row in gauges.filter(_IS_DECIDED).order_by("look_back__at", "pk"):
        own = facts.get((row.look_back_id, row.axle_id), [])
        found[row.axle_id].append(_told(row, _error_words(row), own))
    done = _done(axles)
    lapses = LapsedAxle.objects.filter(axle__in=axles).select_related(*_DECIDED, "look_back")
    for lapsed in lapses.filter(_IS_DECIDED).order_by("look_back__at", "pk"):
        named = skill_words(lapsed.look_back.process)
        words = f"Work on this axle was done by a person whose qualification for {named} did not count on that day."
        found[lapsed.axle_id].append(_told(lapsed, words, done.get((lapsed.look_back_id, lapsed.axle_id), [])))
    return found


def _error_words(row: LookBackAxle) -> str:
    made, gauge = row.look_back, row.look_back.found.gauge
    error = made.error or Decimal(0)
    size, way = plain(abs(error)), ("low" if error < 0 else "high")
    if gauge.setting is not None:
        way = "smaller" if error < 0 else "larger"
        return f"A ring that a gauge was set on was found to be {size} {gauge.unit} {way} than its mark."
    return f"A gauge that was used on this axle was found to read {size} {made.found.error_unit} too {way}."


def _told(row: LookBackAxle | LapsedAxle, found: str, facts: Sequence[str]) -> CustomerLookBack:
    decision = getattr(row, "decision", None)
    if decision is None:  # it was in the house: its red tag was decided
        assert row.tag is not None
        made = row.tag.disposition
        said = f"{_BY} in our house on {shop_day(made.at):%d %b %Y}: {made.get_decision_display()}. {made.reason}"
        return CustomerLookBack(row.look_back.at, found, tuple(facts), said, asks=False)
    said = f"{_BY} on {shop_day(decision.at):%d %b %Y}: {decision.get_outcome_display()}. {decision.reason}"
    if decision.agreed_by:
        said += f" Agreed for you by {decision.agreed_by} on {decision.agreed_on:%d %b %Y}, {decision.agreed_how}."
    return CustomerLookBack(row.look_back.at, found, tuple(facts), said, asks=decision.outcome == Outcome.STOP)


def _facts(axles: Sequence[Axle]) -> dict[tuple[int, int], list[str]]:
    """By look-back and axle, each value whose verdict changed: as written, put right, and its limits."""
    own = Fitted.objects.filter(part=OuterRef("reading__item"), axle=OuterRef("look_back__axles__axle"))
    came = Joined.objects.filter(axle=OuterRef("look_back__axles__axle"), after_closing=True)
    unit = Q(unit=OuterRef("reading__item")) | Q(unit__item__parts_in__part=OuterRef("reading__item"))
    read = Q(reading__sheet__visit_links__visit__axle=F("look_back__axles__axle"))
    here = read | Exists(own) | Exists(came.filter(unit))
    rows = (
        JudgedAgain.objects.filter(here, look_back__axles__axle__in=axles)
        .annotate(of=F("look_back__axles__axle"))
        .select_related("reading__characteristic", "reading__item__unit")
        .order_by("reading_id")
        .distinct()
    )
    found: dict[tuple[int, int], list[str]] = defaultdict(list)
    for row in rows:
        again = Again(row.reading, row.exact, row.verdict)
        if again.changed:
            found[row.look_back_id, row.of].append(_fact(again))
    return found


def _fact(again: Again) -> str:
    line, asked = line_of(again), again.reading.characteristic
    unit = getattr(again.reading.item, "unit", None)
    side = f", {unit.side}" if unit is not None and unit.side else ""
    place = f", {again.reading.position}" if again.reading.position else ""
    put = f"{line.corrected} {asked.unit}, {line.word}" if line.corrected else "to be looked at"
    limits = f" (limits {line.limits})" if line.limits else ""
    return f"{asked.name}{side}{place}: written {line.original} {asked.unit}, put right {put}{limits}."


def _done(axles: Sequence[Axle]) -> dict[tuple[int, int], list[str]]:
    found: dict[tuple[int, int], list[str]] = defaultdict(list)
    came = Joined.objects.filter(axle__in=axles, after_closing=True)
    here = Q(visit__axle__in=axles) | Q(visit__axle=None, visit__item__in=came.values("unit_id"))
    rows = list(LapsedVisit.objects.filter(here).select_related("visit__operation").order_by("on", "pk"))
    alone = [row.visit.item_id for row in rows if row.visit.axle_id is None]
    into = list(came.filter(unit_id__in=alone).values_list("unit_id", "axle_id")) if alone else []
    for row in rows:
        operation, own = row.visit.operation, row.visit.axle_id
        words = f"Operation {operation.number} {operation.name}, done on {row.on:%d %b %Y}."
        for axle in [own] if own is not None else [axle for unit, axle in into if unit == row.visit.item_id]:
            found[row.look_back_id, axle].append(words)
    return found
