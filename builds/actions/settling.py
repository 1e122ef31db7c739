"""Deciding about an axle that has left the house: who may, what it needs, and what is kept of it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from builds.actions.deciding import LONGEST_REASON, Agreement
from builds.errors import NotYours
from builds.models import Outcome
from builds.permissions import holds_one_of, role_words
from builds.reports.deciders import DECIDERS
from measurements.models import CharacteristicClass
from shop import entries
from shop.actions.signing import Grant, signature
from shop.clock import shop_day
from shop.errors import Refusal
from shop.record.act import Act
from shop.record.models import Signature
from shop.record.who import Who


@dataclass(frozen=True)
class Settled:
    """What is decided about one closed axle: `outcome` a word of `Outcome`, why, and the customer's yes if any."""

    outcome: str
    reason: str
    agreement: Agreement | None = None


def settlers(classes: Collection[str]) -> tuple[str, ...]:
    """Who may decide: whoever may decide about the gravest of them."""
    for grave in (CharacteristicClass.SAFETY, CharacteristicClass.FIT):
        if grave in classes:
            return DECIDERS[grave]
    return DECIDERS[CharacteristicClass.LOOK]


def decision_of(
    a: Act, *, serial: str, classes: Collection[str], known_on: date, settled: Settled, grant: Grant, by: Who
) -> dict[str, Any]:
    """The fields of a signed decision, once the person may make it and it has what it needs. `known_on`: the day
    before which nobody can have agreed to what was found."""
    reason = entries.line(settled.reason, "reason", longest=LONGEST_REASON, field="reason")
    if settled.outcome not in Outcome.values:
        raise Refusal("Choose what becomes of it: use as is, or bring it back.", field="outcome")
    _may_settle(serial, classes, settled, by, a.now)
    agreed = settled.agreement
    if agreed is not None:
        agreed.require_day(known_on=known_on, today=shop_day(a.now))
    return {
        "outcome": settled.outcome,
        "reason": reason,
        "agreed_by": agreed.name if agreed else "",
        "agreed_on": agreed.on if agreed else None,
        "agreed_how": agreed.how if agreed else "",
        "signature": signature(a, grant, Signature.Meaning.RELEASED),
        "at": a.now,
    }


def _may_settle(serial: str, classes: Collection[str], settled: Settled, by: Who, now: datetime) -> None:
    roles = settlers(classes)
    if by.person is None or not holds_one_of(by.person, roles, now):
        name = by.person.name if by.person is not None else "nobody"
        raise NotYours(f"{serial} is decided by {role_words(roles)}; {name} does not hold that role.")
    if settled.outcome == Outcome.AS_IS and CharacteristicClass.SAFETY in classes and settled.agreement is None:
        raise Refusal(
            "A safety characteristic is touched. Use as is needs the customer's agreement: who, on which day, and how.",
            field="agreed_by",
        )
