"""Who buys and who supplies."""

from __future__ import annotations

from datetime import datetime

from shop import entries
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Customer, Paper, Role, Supplier
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who

MAY = (Role.OFFICE, Role.MANAGER)
#: Names are unique over all of a kind, so whoever gives one holds this subject too.
_CUSTOMERS, _SUPPLIERS = "shop:customers", "shop:suppliers"


def add_customer(
    *, code: str, name: str, by: Who, address: str = "", paper: str = Paper.A4, now: datetime | None = None
) -> Customer:
    code = entries.code(code, "code", longest=20)
    name = entries.line(name, "name", longest=120)
    address = entries.paragraph(address, "address", longest=500)
    paper = _paper(paper)
    with act("customer.added", subject=f"customer:{code}", also=(_CUSTOMERS,), by=by, now=now) as a:
        require_role(by, MAY, shop_day(a.now))
        if Customer.objects.filter(code=code).exists():
            raise Refusal(f"{code} is another customer's code already.", field="code")
        if Customer.objects.filter(name=name).exists():
            raise Refusal(f"There is a customer {name} already.", field="name")
        a.note(name=name)
        return a.create(Customer, code=code, name=name, address=address, paper=paper)


def change_customer(
    *, customer: Customer, name: str, address: str, paper: str, by: Who, now: datetime | None = None
) -> Customer:
    """New particulars; papers already issued keep the old ones."""
    name = entries.line(name, "name", longest=120)
    address = entries.paragraph(address, "address", longest=500)
    paper = _paper(paper)
    with act("customer.changed", subject=f"customer:{customer.code}", also=(_CUSTOMERS,), by=by, now=now) as a:
        require_role(by, MAY, shop_day(a.now))
        if Customer.objects.filter(name=name).exclude(pk=customer.pk).exists():
            raise Refusal(f"There is a customer {name} already.", field="name")
        a.note(name=name)
        fresh = Customer.objects.get(pk=customer.pk)
        return a.update(fresh, name=name, address=address, paper=paper)


def add_supplier(*, code: str, name: str, by: Who, now: datetime | None = None) -> Supplier:
    code = entries.code(code, "code", longest=20)
    name = entries.line(name, "name", longest=120)
    with act("supplier.added", subject=f"supplier:{code}", also=(_SUPPLIERS,), by=by, now=now) as a:
        require_role(by, (*MAY, Role.RECEIVER), shop_day(a.now))
        if Supplier.objects.filter(code=code).exists():
            raise Refusal(f"{code} is another supplier's code already.", field="code")
        if Supplier.objects.filter(name=name).exists():
            raise Refusal(f"There is a supplier {name} already.", field="name")
        a.note(name=name)
        return a.create(Supplier, code=code, name=name)


def _paper(text: str) -> Paper:
    try:
        return Paper(text)
    except ValueError as error:
        raise Refusal("The paper is A4 or Letter.", field="paper") from error
