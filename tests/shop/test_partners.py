"""Customers and suppliers: the actions and their page."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from shop.actions import partners
from shop.errors import Refusal
from shop.models import Customer, Person, Role, Supplier
from shop.record.who import SYSTEM, Who
from tests import factories

pytestmark = pytest.mark.django_db
RIDGE = "Lumen Ridge Rescue Cooperative"


@pytest.fixture
def mirelle() -> Person:
    return factories.person("mirelle", Role.OFFICE)


@pytest.fixture
def client(mirelle: Person) -> Client:
    return factories.signed_in_client(mirelle)


def test_a_customer_is_added_with_an_address_of_several_lines(mirelle: Person) -> None:
    made = partners.add_customer(
        code="lrr", name=RIDGE, address=" 1  Ridge \r\n\r\n Valley ", paper="Letter", by=Who(mirelle)
    )
    assert (made.code, made.address, made.paper) == ("LRR", "1 Ridge\n\nValley", "Letter")


@pytest.mark.parametrize(
    ("code", "name", "paper", "field"),
    [
        ("", RIDGE, "A4", "code"),
        ("L R", RIDGE, "A4", "code"),
        ("LRR", "", "A4", "name"),
        ("LRR", RIDGE, "A5", "paper"),
    ],
)
def test_a_senseless_customer_is_rejected(code: str, name: str, paper: str, field: str) -> None:
    with pytest.raises(Refusal) as refused:
        partners.add_customer(code=code, name=name, paper=paper, by=SYSTEM)
    assert refused.value.field == field
    assert not Customer.objects.exists()


def test_code_and_name_stand_once() -> None:
    partners.add_customer(code="LRR", name=RIDGE, by=SYSTEM)
    with pytest.raises(Refusal, match="another customer's code"):
        partners.add_customer(code="lrr", name="Other", by=SYSTEM)
    with pytest.raises(Refusal, match=f"a customer {RIDGE} already"):
        partners.add_customer(code="OTHER", name=RIDGE, by=SYSTEM)
    other = partners.add_customer(code="OTHER", name="Other", by=SYSTEM)
    with pytest.raises(Refusal, match="already"):
        partners.change_customer(customer=other, name=RIDGE, address="", paper="A4", by=SYSTEM)


def test_who_may(mirelle: Person) -> None:
    jory, rusk = factories.person("jory", Role.RECEIVER), factories.person("rusk", Role.ASSEMBLER)
    partners.add_supplier(code="PB", name="Pellanby Bearings", by=Who(jory))
    for somebody in (jory, rusk):
        with pytest.raises(Refusal, match="office and warranty or manager"):
            partners.add_customer(code="LRR", name=RIDGE, by=Who(somebody))
    with pytest.raises(Refusal, match="needs the role"):
        partners.add_supplier(code="WL", name="Wexcombe Lacquer", by=Who(rusk))
    with pytest.raises(Refusal, match="another supplier's code"):
        partners.add_supplier(code="pb", name="Other", by=Who(mirelle))


def test_the_page_lists_both_and_adds(client: Client) -> None:
    client.post(reverse("customer_add"), factories.with_key(code="LRR", name=RIDGE, address="", paper="A4"))
    client.post(reverse("supplier_add"), factories.with_key(code="PB", name="Pellanby Bearings"))
    page = client.get(reverse("partners")).content.decode()
    assert RIDGE in page
    assert "Pellanby Bearings" in page
    assert "The supplier is added." in page


def test_the_customer_page_changes_the_particulars(client: Client) -> None:
    partners.add_customer(code="LRR", name=RIDGE, address="1 Ridge", by=SYSTEM)
    url = reverse("customer", args=["LRR"])
    assert "1 Ridge" in client.get(url).content.decode()
    fields = {"name": "Lumen Ridge", "address": "2 Ridge", "paper": "Letter"}
    assert client.post(url, factories.with_key(**fields)).status_code == 303
    one = Customer.objects.get()
    assert (one.code, one.name, one.address, one.paper) == ("LRR", "Lumen Ridge", "2 Ridge", "Letter")


def test_a_refused_change_keeps_what_was_typed(client: Client) -> None:
    partners.add_customer(code="LRR", name=RIDGE, by=SYSTEM)
    url = reverse("customer", args=["LRR"])
    answer = client.post(url, factories.with_key(name="", address="4 New Street", paper="A4"))
    assert answer.status_code == 422
    assert "4 New Street" in answer.content.decode()
    assert Customer.objects.get().name == RIDGE


def test_an_unknown_customer_is_404(client: Client) -> None:
    assert client.get(reverse("customer", args=["NONE"])).status_code == 404


def test_suppliers_are_counted(client: Client) -> None:
    assert Supplier.objects.count() == 0
    answer = client.post(reverse("supplier_add"), factories.with_key(code="", name="No code"))
    assert answer.status_code == 422
    assert "No code" in answer.content.decode()
    assert Supplier.objects.count() == 0
