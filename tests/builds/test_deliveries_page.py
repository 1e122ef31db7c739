"""Receiving by page (builds.views.deliveries, builds.views.heats): slip, heat, paper, correction, material."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from builds.definitions.material import SHIPPED
from builds.models import Delivery, Material, Scan
from shop.models import Heat, Lot, Role
from tests.builds.floor import heat, kind, person, released, supplier
from tests.builds.pages import Browser, text_of
from tests.shopfloor import SMALLEST_PNG

pytestmark = pytest.mark.django_db
HEAT = "/stock/heats/new/small_axle/A/tube_stock/"


@pytest.fixture(autouse=True)
def card() -> None:
    released()


@pytest.fixture
def receiver() -> Browser:
    return Browser(person(Role.RECEIVER))


def slip(receiver: Browser, **change: str) -> int:
    fields = {"slip": "PS-1", "supplier": str(supplier().pk), "came_on": "2025-11-03", "note": ""} | change
    assert receiver.send("/stock/deliveries/", **fields).status_code == 303
    return Delivery.objects.latest("pk").pk


def heat_fields(**change: object) -> dict[str, object]:
    good: dict[str, object] = {
        "mark": "Q7714", "supplier": supplier().pk, "certificate": "C-1", "certificate_type": "3.1",
        "value-20.1": ".300",
    }  # fmt: skip
    return good | change


def test_a_slip_leads_to_its_page_and_what_is_taken_in_comes_back_to_it(receiver: Browser) -> None:
    pk = slip(receiver)
    page = f"/stock/deliveries/{pk}/"
    assert "Nothing of this slip is taken in yet" in text_of(receiver.get(page))
    response = receiver.send(f"{HEAT}?delivery={pk}", **heat_fields())
    assert (response.status_code, response["Location"]) == (303, page)
    bars = {"mark": "B-1", "kind": kind("tube_stock").pk, "heat": Heat.objects.get().pk, "mark_readable": "on"}
    assert receiver.send(f"/stock/bars/new/?delivery={pk}", **bars).status_code == 303
    lot = {"mark": "L-1", "kind": kind("bearing").pk, "supplier": supplier().pk, "received_on": "2025-11-03"}
    assert receiver.send(f"/stock/lots/new/?delivery={pk}", received="10", **lot).status_code == 303
    said = text_of(receiver.get(page))
    assert "tube stock Q7714 of QTM held for the inspector's first look, in stock C-1 (3.1) 1 bars 0 1" in said
    assert "lot of bearing L-1 of QTM in stock none 10 0 10" in said
    assert "PS-1" in text_of(receiver.get("/stock/deliveries/?q=q7714"))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"slip": ""}, "This field is required"),
        ({"slip": "<b>"}, "A mark begins"),
        ({"came_on": "2999-01-01"}, "lies ahead"),
        ({"came_on": "soon"}, "year-month-day"),
        ({"supplier": "999"}, "Select a valid choice"),
        ({"note": "x" * 201}, "at most 200"),
    ],
)
def test_a_slip_that_makes_no_sense_keeps_what_was_typed(receiver: Browser, change: dict[str, str], said: str) -> None:
    good = {"slip": "PS-77", "supplier": str(supplier().pk), "came_on": "2025-11-03", "note": "one bent"}
    response = receiver.send("/stock/deliveries/", **good | change)
    assert (response.status_code, Delivery.objects.count()) == (422, 0)
    assert said in text_of(response)
    assert (change.get("slip", "PS-77") or "one bent") in response.content.decode().replace("&lt;b&gt;", "<b>")


def test_a_slip_twice_is_a_conflict(receiver: Browser) -> None:
    slip(receiver)
    good = {"slip": "ps-1", "supplier": str(supplier().pk), "came_on": "2025-11-03"}
    assert receiver.send("/stock/deliveries/", **good).status_code == 409


@pytest.mark.parametrize("named", ["77", "x", "-1", "9" * 30])
def test_a_delivery_that_is_not_here_is_a_404(receiver: Browser, named: str) -> None:
    assert receiver.get(f"/stock/lots/new/?delivery={named}").status_code == 404
    assert receiver.send(f"/stock/lots/new/?delivery={named}", mark="L-1").status_code == 404
    assert not Lot.objects.exists()


def test_a_scan_is_kept_hashed_and_served_as_an_attachment_in_a_sandbox(receiver: Browser) -> None:
    paper = SimpleUploadedFile("c.png", SMALLEST_PNG, "image/png")
    receiver.send(HEAT, **heat_fields(scan=paper))
    kept = Scan.objects.get()
    assert kept.sha256[:16] in text_of(receiver.get(f"/stock/heats/{Heat.objects.get().pk}/"))
    answer = receiver.get(f"/stock/scans/{kept.pk}/")
    assert answer["Content-Disposition"] == 'attachment; filename="C-1.png"'
    assert (answer["X-Content-Type-Options"], "sandbox" in answer["Content-Security-Policy"]) == ("nosniff", True)


def test_a_scan_that_acts_is_refused_at_its_field(receiver: Browser) -> None:
    armed = SimpleUploadedFile("c.pdf", b"%PDF-1.4\n<< /S /Launch >>\n%%EOF", "application/pdf")
    response = receiver.send(HEAT, **heat_fields(scan=armed))
    assert (response.status_code, Heat.objects.exists(), Scan.objects.exists()) == (422, False, False)
    assert "holds more than a drawing" in text_of(response)
    assert 'value=".300"' in response.content.decode()


def test_one_certificate_for_two_heats_is_asked_about_and_then_taken(receiver: Browser) -> None:
    receiver.send(HEAT, **heat_fields())
    other = heat_fields(mark="R8800")
    response = receiver.send(HEAT, **other)
    assert response.status_code == 422
    assert "C-1 already stands for heat Q7714" in text_of(response)
    assert receiver.send(HEAT, **other, shared="on").status_code == 303
    assert "it also names Q7714" in text_of(receiver.get(f"/stock/heats/{Heat.objects.get(item__mark='R8800').pk}/"))


def test_a_second_certificate_of_a_heat_is_added_on_its_page(receiver: Browser) -> None:
    receiver.send(HEAT, **heat_fields())
    said = receiver.send(HEAT, **heat_fields(certificate="C-2"))
    assert (said.status_code, "by certificate C-1. Add C-2" in text_of(said)) == (409, True)
    address = f"/stock/heats/{Heat.objects.get().pk}/paper/"
    assert "Compare every value" in text_of(receiver.send(address, certificate="C-2", certificate_type="3.1"))
    assert receiver.send(address, certificate="C-2", certificate_type="3.1", compared="on").status_code == 303


def test_a_value_is_put_right_beside_the_old_one(receiver: Browser) -> None:
    one = heat("Q1")
    address = f"/stock/heats/{one.pk}/correct/"
    said = text_of(receiver.send(address, code="20.1", typed="3.1", reason="line"))
    assert "was the point in the right place" in said
    assert receiver.send(address, code="20.1", typed="0.310", reason="read the wrong line").status_code == 303
    shown = text_of(receiver.get(f"/stock/heats/{one.pk}/"))
    assert "0.300 % 0.28 to 0.33 in limits put right below" in shown
    assert "0.310 % 0.28 to 0.33 in limits try 2: read the wrong line" in shown
    assert "held for the inspector" in shown
    assert Browser(person(Role.MANAGER)).send(address, code="20.1", typed="0.320", reason="x").status_code == 403


def test_the_rule_and_the_equivalents_stand_on_the_page_once(receiver: Browser) -> None:
    said = text_of(receiver.get(f"/stock/heats/{heat('Q1').pk}/"))
    assert said.count("judged exactly as the certificate states it") == 1
    assert "No carbon equivalent: The analysis has no Mn" in said


def test_an_engineer_loads_a_material_and_sees_every_fault() -> None:
    engineer = Browser(person(Role.ENGINEER))
    good = (SHIPPED / "astm_a519_4130.toml").read_bytes()
    bad = SimpleUploadedFile("a.toml", good.replace(b'"Mn"', b'"Moon"'))
    response = engineer.send("/stock/materials/", file=bad)
    assert (response.status_code, Material.objects.exists()) == (422, False)
    assert "a.toml, line" in text_of(response)
    assert engineer.send("/stock/materials/", file=SimpleUploadedFile("a.toml", good)).status_code == 303
    said = text_of(engineer.get("/stock/materials/"))
    assert "ASTM A519 grade 4130" in said
    assert "Carbon 0.28 to 0.33 %" in said
    assert "Load a definition" not in text_of(Browser(person(Role.MANAGER)).get("/stock/materials/"))
