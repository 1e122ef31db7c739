"""Who decides about a value that is out of limit, and which decisions are open to nobody."""

from __future__ import annotations

from builds.models import Decision, Fitted, RedTag
from builds.reports.units import unit_alone
from measurements.models import CharacteristicClass, VerdictWord

#: Who may decide, by the class of what is out: class S and F the engineer, class L the inspector (house rule).
DECIDERS = {
    CharacteristicClass.SAFETY: ("engineer",),
    CharacteristicClass.FIT: ("engineer",),
    CharacteristicClass.LOOK: ("inspector", "engineer"),
}
ANY_DECIDER = ("engineer", "inspector", "quality")


def deciders(tag: RedTag) -> tuple[str, ...]:
    return deciders_of("" if tag.reading is None else tag.reading.characteristic.class_code)


def deciders_of(class_code: str) -> tuple[str, ...]:
    """Who decides about a value of this class; without one, any of those who decide at all."""
    return DECIDERS[CharacteristicClass(class_code)] if class_code else ANY_DECIDER


def needs_agreement(tag: RedTag) -> bool:
    """Whether use as is needs the customer's recorded agreement: always for class S."""
    return tag.reading is not None and tag.reading.characteristic.class_code == CharacteristicClass.SAFETY


def never_as_it_is(tag: RedTag) -> bool:
    """Whether it was read beyond what its card says must never be passed: no concession lets such a value stand."""
    return tag.reading is not None and tag.reading.verdict == VerdictWord.NEVER


def closed_to(tag: RedTag, rejected: str) -> dict[str, str]:
    """The decisions that are open to nobody here, each with the reason. `rejected`: as `rejected_part` says."""
    if tag.reading is None or not never_as_it_is(tag):
        return {}
    value = f"{tag.reading.typed} {tag.reading.unit_typed}".strip()
    as_it_is = f"{value} is beyond what must never be passed: it cannot be used as it is. Choose another decision."
    gone = f"{value} rejects the {rejected.replace('_', ' ')}: scrap it, or return it to its supplier."
    again = (Decision.REWORK, Decision.REPAIR) if rejected else ()
    return {str(Decision.USE_AS_IS): as_it_is} | {str(decision): gone for decision in again}


def rejected_part(tag: RedTag) -> str:
    """The role of the part, still in place, that the value rejects by its card; empty where none is."""
    bench = tag.axle if tag.axle is not None else unit_alone(tag.item)
    if tag.reading is None or tag.operation is None or bench is None or not never_as_it_is(tag):
        return ""
    slots = bench.plan.of_operation(tag.operation.number)
    asked = {planned.code: planned.characteristic for slot in slots for planned in slot.characteristics}
    found = asked.get(tag.reading.characteristic.code)
    role = found.rejects if found is not None else ""
    return role if role and Fitted.objects.now().filter(host=tag.reading.item_id, role=role).exists() else ""
