"""Heats: judged value by value, held, freed once (builds.actions.receiving_heats)."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from builds.actions.judging_heats import as_compared, steel_values
from builds.actions.receiving_heats import NewHeat, free_heat, take_in_heat
from builds.errors import AlreadyThere, LooksAlike, NotFree
from builds.models import Revision
from measurements.engineering.limits import Limits, Verdict, judge
from measurements.models import Reading
from shop.errors import Refusal
from shop.models import Heat, Place, Role
from shop.record.models import Signature
from tests.builds.cards import SMALL_CARD
from tests.builds.floor import grant, heat, kind, person, released, supplier

pytestmark = pytest.mark.django_db

#: The same steel for a card whose material is bought to ASTM E29.
E29_CARD = SMALL_CARD.replace('tracking = "piece"\nmaterial = "st_a"', 'tracking = "piece"\nmaterial = "st_e"', 1)


def new_heat(**change: object) -> NewHeat:
    good = NewHeat("Q7714", supplier(), kind("tube_stock"), "C-1", "3.1", {"20.1": "0.300"})
    return replace(good, **change)  # type: ignore[arg-type]


def take_in(revision: Revision, **change: object) -> Heat:
    return take_in_heat(heat=new_heat(**change), revision=revision, by=person(Role.RECEIVER))


def test_a_good_heat_is_held_for_the_inspector() -> None:
    made = take_in(released())
    assert (made.status, made.material, Place.objects.get(pk=made.pk).where) == ("held", "Steel A", "stock")


def test_each_value_is_a_reading_of_the_heat_with_its_limits() -> None:
    made = take_in(released())
    reading = Reading.objects.get(item=made.item)
    assert (reading.characteristic.code, reading.typed, reading.value) == ("20.1", "0.300", Decimal("0.3"))
    assert (reading.low, reading.high, reading.verdict) == (Decimal("0.28"), Decimal("0.33"), "in")


@pytest.mark.parametrize(
    ("carbon", "status"),
    [("0.280", "held"), ("0.330", "held"), ("0.331", "refused"), ("0.279", "refused"), ("0.336", "refused")],
)
def test_a_value_out_of_limit_refuses_the_whole_heat(carbon: str, status: str) -> None:
    made = take_in(released(), values={"20.1": carbon})
    assert made.status == status
    assert Place.objects.get(pk=made.pk).where == ("quarantine" if status == "refused" else "stock")


@pytest.mark.parametrize(("carbon", "status"), [("0.334", "held"), ("0.336", "refused")])
def test_only_a_material_with_the_rounding_rule_takes_point_334(carbon: str, status: str) -> None:
    """House rule from ASTM E29's rounding method (from memory): .334 rounds to .33, .336 to .34."""
    assert take_in(released(E29_CARD), values={"20.1": carbon}).status == status


@pytest.mark.parametrize(
    ("value", "rounding", "verdict"),
    [
        ("0.335", "E29", Verdict.ABOVE),  # a tie goes to the even step: .34
        ("0.325", "E29", Verdict.IN),
        ("0.334", "E29", Verdict.IN),
        ("0.334", "absolute", Verdict.ABOVE),
    ],
)
def test_rounding_to_the_limits_last_place(value: str, rounding: str, verdict: Verdict) -> None:
    limits = Limits(Decimal("0.28"), Decimal("0.33"))
    assert judge(as_compared(Decimal(value), limits, rounding), limits) is verdict


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"values": {}}, "Carbon .20.1. is blank"),
        ({"values": {"20.1": "  "}}, "blank is not zero"),
        ({"values": {"20.1": "0,30"}}, "has a comma"),
        ({"values": {"20.1": "steel"}}, "is not a figure"),
        ({"values": {"20.1": "1e9"}}, "is not a figure"),
        ({"values": {"20.1": "99999999999"}}, "too large"),
        ({"values": {"20.1": "30"}}, "Carbon: 30 is out of limits"),
        ({"values": {"20.1": "3.0"}}, "was the point in the right place"),
        ({"values": {"20.1": "-0.3"}}, "beyond the limit by more than five"),
        ({"certificate_type": "4.0"}, "2.2, 3.1 or 3.2"),
        ({"certificate": " "}, "number of the mill's certificate"),
        ({"mark": ""}, "mark is blank"),
    ],
)
def test_a_certificate_that_cannot_be_read_is_refused(change: dict[str, object], said: str) -> None:
    revision = released()
    with pytest.raises(Refusal, match=said):
        take_in(revision, **change)
    assert not Heat.objects.exists()
    assert not Reading.objects.exists()


def test_a_far_off_value_is_kept_after_the_question() -> None:
    made = take_in(released(), values={"20.1": "3.0"}, kept=frozenset({"20.1"}))
    assert made.status == "refused"
    assert Reading.objects.get().questioned


def test_a_heat_number_stands_once_per_mill_and_look_alikes_are_asked_about() -> None:
    revision = released()
    take_in(revision, mark="Q7710")
    with pytest.raises(AlreadyThere):
        take_in(revision, mark="q7710")
    with pytest.raises(LooksAlike, match="Q771O differs from Q7710"):
        take_in(revision, mark="Q771O")
    assert take_in(revision, mark="Q771O", certificate="C-2", sure=True).item.mark == "Q771O"


def test_the_values_asked_for_are_those_of_this_kind_of_steel() -> None:
    card = released().card
    assert [found.code for found in steel_values(card, "tube_stock")] == ["20.1"]
    assert steel_values(card, "cap") == []


def test_an_inspector_frees_it_once_with_a_signature() -> None:
    released()
    inspector = person(Role.INSPECTOR)
    freed = free_heat(heat=heat(free=False), grant=grant(inspector), by=inspector)
    assert (freed.status, freed.freed_by) == ("free", inspector.person)
    assert Signature.objects.get().meaning == "released"
    with pytest.raises(Refusal, match="already free"):
        free_heat(heat=freed, grant=grant(inspector), by=inspector)


def test_a_refused_heat_is_never_freed() -> None:
    released()
    inspector = person(Role.INSPECTOR)
    with pytest.raises(NotFree, match="was refused"):
        free_heat(heat=heat(carbon="0.340", free=False), grant=grant(inspector), by=inspector)
    assert not Signature.objects.exists()


def test_freeing_needs_the_role_the_own_pin_and_its_meaning() -> None:
    released()
    held, inspector, receiver = heat(free=False), person(Role.INSPECTOR), person(Role.RECEIVER)
    with pytest.raises(Refusal, match="inspector"):
        free_heat(heat=held, grant=grant(receiver), by=receiver)
    with pytest.raises(Refusal, match="person who acts"):
        free_heat(heat=held, grant=grant(person(Role.INSPECTOR)), by=inspector)
    with pytest.raises(Refusal, match="released it"):
        free_heat(heat=held, grant=grant(inspector, "did"), by=inspector)
    assert Heat.objects.get().status == "held"
