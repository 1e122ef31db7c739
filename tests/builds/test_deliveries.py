"""Deliveries, papers, materials and values put right, by the actions (papers, materials, receiving_heats)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from builds.actions.identities import within_one
from builds.actions.materials import load_material
from builds.actions.papers import Named, NewDelivery, add_paper, take_delivery
from builds.actions.receiving import NewLot, take_in_lot
from builds.actions.receiving_heats import Corrected, NewHeat, correct_value, stated, take_in_heat
from builds.errors import AlreadyThere, BrokenDefinition, FarOff, LooksAlike
from builds.models import Delivered, Delivery, Material, Paper, Revision, Scan
from builds.reports.deliveries import came_with
from builds.reports.heats import heat_file
from measurements.models import Reading
from shop.errors import Refusal
from shop.files import BadFile
from shop.models import Heat, Place, Role
from shop.record.models import Blob
from tests.builds.floor import bar, heat, kind, person, released, supplier
from tests.shopfloor import SMALLEST_PNG

pytestmark = pytest.mark.django_db

STEEL_A = b"""
[material]
code = "st_a"
revision = "1"
name = "Steel A as bought"
grade = "A"

[[element]]
symbol = "C"
low = 0.29
high = 0.35
source = "test"

[[element]]
symbol = "Mn"
low = 0.40
high = 0.60
source = "test"

[[element]]
symbol = "Cr"
needed = false
source = "test"
"""
VALUES = {"20.1": "0.300", "Mn": "0.50"}


@pytest.fixture(autouse=True)
def revision() -> Revision:
    return released()


def material(text: bytes = STEEL_A) -> Material:
    return load_material(content=text, name="st_a.toml", by=person(Role.ENGINEER))


def delivery(slip: str = "PS-1") -> Delivery:
    new = NewDelivery(slip, supplier(), date(2025, 11, 3), "one end bent")
    return take_delivery(delivery=new, by=person(Role.RECEIVER))


def new_heat(**change: object) -> NewHeat:
    return replace(NewHeat("Q7714", supplier(), kind("tube_stock"), "C-1", "3.1", VALUES), **change)  # type: ignore[arg-type]


def take_in(**change: object) -> Heat:
    return take_in_heat(heat=new_heat(**change), revision=Revision.objects.get(), by=person(Role.RECEIVER))


def test_a_delivery_is_split_by_heat_and_each_thing_is_under_its_slip() -> None:
    came = delivery()
    one = take_in(delivery=came, values={"20.1": "0.300"})
    two = take_in(mark="Q7731", certificate="C-2", delivery=came, values={"20.1": "0.340"})
    lot = NewLot("L-1", kind("bearing"), supplier(), date(2025, 11, 3), 12, delivery=came)
    take_in_lot(lot=lot, by=person(Role.RECEIVER))
    rows = came_with(came)
    assert [row.item.mark for row in rows] == ["Q7714", "Q7731", "L-1"]
    assert [row.papers for row in rows] == ["C-1 (3.1)", "C-2 (3.1)", ""]
    assert (rows[2].received, rows[2].used, rows[2].left) == ("12", "0", "12")
    assert (one.status, two.status) == ("held", "refused")
    assert "in quarantine" in rows[1].state


def test_a_packing_slip_stands_once_per_supplier() -> None:
    delivery()
    with pytest.raises(AlreadyThere, match="Packing slip PS-1 of Supplier QTM is here already"):
        delivery("ps-1")
    with pytest.raises(Refusal, match="lies ahead"):
        take_delivery(delivery=NewDelivery("PS-2", supplier(), date(2999, 1, 1)), by=person(Role.RECEIVER))
    with pytest.raises(Refusal, match="receiving and kits or inspector"):
        take_delivery(delivery=NewDelivery("PS-2", supplier(), date(2025, 1, 1)), by=person(Role.PAINTER))


def test_delivery_and_papers_are_never_changed() -> None:
    take_in(delivery=delivery(), values={"20.1": "0.300"})
    for row, column in ((Delivery, "note"), (Paper, "number")):
        with pytest.raises(IntegrityError), transaction.atomic():
            row.objects.update(**{column: "x"})  # type: ignore[attr-defined]
    with pytest.raises(IntegrityError), transaction.atomic():
        Delivered.objects.all().delete()


def test_the_narrower_of_card_and_material_judges() -> None:
    """The card says .28 to .33, the material .29 to .35: .29 to .33 holds. Without the material .285 is in."""
    assert take_in(values={"20.1": "0.285"}).status == "held"
    material()
    assert take_in(mark="R10", certificate="C-2", values=VALUES | {"20.1": "0.285"}).status == "refused"
    assert take_in(mark="S20", certificate="C-3", values=VALUES | {"20.1": "0.340"}).status == "refused"
    made = take_in(mark="T30", certificate="C-4", values=VALUES | {"20.1": "0.290"})
    reading = Reading.objects.get(item=made.item, characteristic__code="20.1")
    assert (made.status, made.material) == ("held", "Steel A as bought")
    assert (reading.low, reading.high) == (Decimal("0.29"), Decimal("0.33"))


def test_what_only_the_material_asks_is_asked_too() -> None:
    material()
    with pytest.raises(Refusal, match=r"Manganese .Mn. is blank"):
        take_in(values={"20.1": "0.300"})
    made = take_in(values=VALUES | {"Cr": ""})
    assert {row.characteristic.code for row in stated(made)} == {"20.1", "Mn"}


@pytest.mark.parametrize(("rounding", "status"), [("absolute", "refused"), ("E29", "held")])
def test_the_rule_is_the_materials_and_is_told_once(rounding: str, status: str) -> None:
    """.604 over a limit written .60: only the rounding rule takes it (ASTM E29, from memory)."""
    text = STEEL_A.replace(b'grade = "A"', f'grade = "A"\nrounding = "{rounding}"'.encode())
    material(text)
    made = take_in(values={"20.1": "0.300", "Mn": "0.604"})
    assert made.status == status
    assert ("ASTM E29" in heat_file(made).rule) == (rounding == "E29")


def test_a_material_is_loaded_once_and_a_broken_one_not_at_all() -> None:
    material()
    with pytest.raises(AlreadyThere, match="st_a rev 1 is here already"):
        material()
    with pytest.raises(BrokenDefinition, match="expected one of"):
        material(STEEL_A.replace(b'"Mn"', b'"Moon"'))
    with pytest.raises(Refusal, match="engineer"):
        load_material(content=STEEL_A.replace(b'"1"', b'"2"'), name="x", by=person(Role.RECEIVER))
    assert Material.objects.count() == 1


def test_ppm_for_per_cent_is_questioned_and_kept_only_when_told() -> None:
    material(STEEL_A + b'\n[[element]]\nsymbol = "P"\nhigh = 0.040\nsource = "test"\n')
    with pytest.raises(FarOff, match=r"60 ppm is 0.006 %: does the certificate state ppm"):
        take_in(values=VALUES | {"P": "60"})
    with pytest.raises(Refusal, match=r"110 % is more than the whole.* 110 ppm is 0.011 %"):
        take_in(values=VALUES | {"P": "110"}, kept=frozenset({"P"}))
    assert take_in(values=VALUES | {"P": "60"}, kept=frozenset({"P"})).status == "refused"


@pytest.mark.parametrize(
    ("mark", "alike"),
    [("Q7715", True), ("Q714", True), ("Q77144", True), ("Q7741", True), ("Q7741X", False), ("R8825", False)],
)
def test_a_heat_number_one_character_off_is_questioned(mark: str, alike: bool) -> None:
    take_in(values={"20.1": "0.300"})
    more = {"mark": mark, "certificate": "C-2", "values": {"20.1": "0.300"}}
    if alike:
        with pytest.raises(LooksAlike, match=f"{mark} differs from heat Q7714 .* by one character only"):
            take_in(**more)
    assert take_in(**more, sure=alike).item.mark == mark


def test_letter_o_for_zero_is_questioned_with_its_own_words() -> None:
    take_in(mark="Q7710", values={"20.1": "0.300"})
    with pytest.raises(LooksAlike, match="only by O and 0 or I and 1"):
        take_in(mark="Q771O", certificate="C-2", values={"20.1": "0.300"})


@pytest.mark.parametrize(
    ("one", "other", "near"),
    [("AB", "AB", False), ("AB", "AC", True), ("AB", "A", True), ("AB", "BA", True), ("ABC", "CBA", False),
     ("A", "ABC", False), ("", "A", True)],
)  # fmt: skip
def test_what_one_character_is(one: str, other: str, near: bool) -> None:
    assert within_one(one, other) is within_one(other, one) is near


def test_one_certificate_for_two_heats_is_asked_about_and_then_taken() -> None:
    """Nothing forbids a certificate that lists several heats; each is then entered with values of its own."""
    take_in(values={"20.1": "0.300"})
    with pytest.raises(LooksAlike, match="C-1 already stands for heat Q7714"):
        take_in(mark="R8800", values={"20.1": "0.310"})
    other = take_in(mark="R8800", values={"20.1": "0.310"}, shared=True)
    assert Paper.objects.get().covers.count() == 2
    with pytest.raises(Refusal, match=r"is here as type 3\.1, not 2\.2"):
        take_in(mark="S9911", certificate_type="2.2", values={"20.1": "0.310"}, shared=True)
    assert other.status == "held"


def test_two_certificates_for_one_heat_overwrite_nothing() -> None:
    made = take_in(values={"20.1": "0.300"})
    with pytest.raises(AlreadyThere, match=r"here already, by certificate C-1. Add C-2 on the heat's own page"):
        take_in(certificate="C-2", values={"20.1": "0.330"})
    second = Named(supplier(), "C-2", "3.1")
    with pytest.raises(Refusal, match="Compare every value"):
        add_paper(item=made.item, named=second, compared=False, by=person(Role.RECEIVER))
    add_paper(item=made.item, named=second, compared=True, by=person(Role.RECEIVER))
    assert [paper.number for paper in heat_file(made).papers] == ["C-1", "C-2"]
    assert [row.typed for row in stated(made)] == ["0.300"]


def test_a_declaration_without_results_judges_no_steel() -> None:
    with pytest.raises(Refusal, match=r"type 2.1 states no results"):
        take_in(certificate_type="2.1", values={"20.1": "0.300"})


def test_a_scan_is_looked_through_hashed_and_kept_once() -> None:
    made = take_in(scan=SMALLEST_PNG, values={"20.1": "0.300"})
    kept = Scan.objects.get()
    assert Blob.objects.get(pk=kept.sha256).content_type == "image/png"
    again = Named(supplier(), "C-1", "3.1", SMALLEST_PNG)
    add_paper(item=made.item, named=again, compared=False, by=person(Role.RECEIVER))
    assert Scan.objects.count() == 1
    armed = b"%PDF-1.4\n1 0 obj << /OpenAction << /S /JavaScript /JS (app.alert(1)) >> >>\n%%EOF"
    with pytest.raises(BadFile, match="holds more than a drawing"):
        add_paper(item=made.item, named=replace(again, scan=armed), compared=False, by=person(Role.RECEIVER))
    assert Scan.objects.count() == 1


def correct(one: Heat, typed: str, **more: object) -> Heat:
    put = Corrected(**{"code": "20.1", "typed": typed, "reason": "read the wrong line", **more})  # type: ignore[arg-type]
    return correct_value(heat=one, corrected=put, by=person(Role.RECEIVER))


def test_a_value_put_right_is_a_new_try_and_holds_the_heat_again() -> None:
    one = heat("Q1")
    assert (correct(one, "0.310").status, one.status) == ("held", "free")
    tries = Reading.objects.filter(item=one.item).order_by("attempt")
    assert [(row.typed, row.attempt, row.reason) for row in tries] == [
        ("0.300", 1, ""),
        ("0.310", 2, "read the wrong line"),
    ]
    assert [(row.reading.typed, row.stands) for row in heat_file(one).values] == [("0.300", False), ("0.310", True)]


def test_a_value_put_right_out_of_limit_refuses_and_back_in_holds() -> None:
    one = heat("Q1")
    made = bar(of=one)
    assert correct(one, "0.336").status == "refused"
    assert Place.objects.get(pk=one.pk).where == "quarantine"
    assert correct(one, "0.330").status == "held"
    assert Place.objects.get(pk=one.pk).where == "stock"
    assert made.heat_id == one.pk


@pytest.mark.parametrize(
    ("typed", "more", "said"),
    [
        ("0.310", {"reason": " "}, "why the value is put right"),
        ("0.300", {}, "already stands as 0.300"),
        ("0,31", {}, "has a comma"),
        ("", {}, "is blank"),
        ("0.310", {"code": "99.9"}, "has no value 99.9 on record"),
        ("3.1", {}, "was the point in the right place"),
    ],
)
def test_a_correction_that_makes_no_sense_changes_nothing(typed: str, more: dict[str, str], said: str) -> None:
    one = heat("Q1")
    with pytest.raises(Refusal, match=said):
        correct(one, typed, **more)
    assert Heat.objects.get().status == "free"
    assert Reading.objects.count() == 1


def test_carbon_equivalents_are_told_with_what_is_missing() -> None:
    """CE = C + Mn/6 + Cr/5 = .30 + .50/6 + .95/5 = .57333; CET = .30 + .05 + .0475 = .3975 (calculated)."""
    material()
    found = {one.name: one for one in heat_file(take_in(values=VALUES | {"Cr": "0.95"})).equivalents}
    assert (found["CE"].value, found["CET"].value) == ("0.573", "0.398")  # .3975 is a tie: to the even figure
    assert found["CE"].remark.startswith("Mo, V, Ni, Cu not stated")
    assert "B" in found["Pcm"].remark


def test_without_manganese_no_equivalent_is_told() -> None:
    shown = heat_file(heat("Q1"))
    assert (shown.equivalents, "has no Mn" in shown.no_equivalents) == ([], True)
