"""Every list is also CSV, by a link under it: figures as figures, nothing that a spreadsheet would run."""

from __future__ import annotations

import csv
from datetime import UTC, date, datetime
from io import StringIO

import pytest
from django.test import Client
from django.urls import reverse

from builds.actions.receiving import NewLot, open_drum, take_in_lot
from builds.actions.tagging import tag_axle
from builds.models import Axle
from shop.lists import CsvList
from shop.models import PartKind, Supplier, Tracking
from tests.factories import signed_in_client
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db
#: Who opens it, the page, its arguments, the name of the list, and what stands in the first column of some row.
LISTS: tuple[tuple[str, str, tuple[object, ...], str, str], ...] = (
    ("dovie", "floor", (), "", "SERIAL"), ("dovie", "axles", (), "", "SERIAL"), ("dovie", "orders", (), "", "ORDER"),
    ("jory", "kits", (), "", "SERIAL"), ("calla", "holds", (), "", "SERIAL"), ("calla", "red_tags", (), "", "1"),
    ("wenzel", "cards", (), "", "Sorrel 960"), ("calla", "gauges", (), "", "G-017"),
    ("wenzel", "procedures", (), "", ""), ("calla", "gauge", ("G-017",), "", ""),
    ("dovie", "people", (), "", "Rusk Adeholm"), ("dovie", "terminals", (), "", "T-GB"),
    ("mirelle", "partners", (), "customers", "LRRC"),
    ("mirelle", "partners", (), "suppliers", ""), ("jory", "stock", (), "heats", "Q7714"),
    ("jory", "stock", (), "pieces", ""), ("jory", "stock", (), "lots", ""), ("jory", "stock", (), "drums", "GR-77-A"),
    ("jory", "stock", (), "parts", ""), ("dovie", "waiting", ("TP",), "", ""),
    ("dovie", "axle", ("SERIAL",), "", "10"),
)  # fmt: skip


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def axle(floor: Floor) -> Axle:
    """An axle that waits for its hold, another one stopped whole, and an open drum."""
    builder = floor.builder(floor.axle())
    builder.kit()
    later = [slot for slot in builder.axle.plan.slots if slot.operation.number > 60]
    held = next(slot for slot in later if slot.operation.hold is not None and not slot.operation.hold.is_the_work)
    builder.run(until=held.operation.number)
    visit = builder.begin(held.key)
    builder.fill(visit)
    builder.sign_doer(visit)
    tag_axle(axle=floor.axle(), cause="-bent in the yard", by=floor.who("calla"), now=builder.now)
    kind, jory = PartKind.objects.filter(tracking=Tracking.BULK)[0], floor.who("jory")
    lot = take_in_lot(lot=NewLot("GR-77", kind, Supplier.objects.all()[0], date(2025, 1, 2)), by=jory)
    open_drum(lot=lot, mark="GR-77-A", by=jory)
    return builder.axle


def rows_of(client: Client, path: str, **query: str) -> list[list[str]]:
    answer = client.get(path, {"as": "csv", **query})
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/csv")
    return list(csv.reader(StringIO(answer.content.decode())))


@pytest.mark.parametrize(("code", "name", "args", "of", "first"), LISTS)
def test_every_list_is_csv(
    floor: Floor, axle: Axle, code: str, name: str, args: tuple[object, ...], of: str, first: str
) -> None:
    names: dict[object, str] = {"SERIAL": axle.serial, "ORDER": floor.orders[0].number}
    client = signed_in_client(floor.people[code])
    path = reverse(name, args=[names.get(one, one) for one in args])
    head, *lines = rows_of(client, path, **({"list": of} if of else {}))
    assert all(len(line) == len(head) for line in lines)
    page = client.get(path).content.decode()
    assert lines, "the shop of this test has something in every list"
    assert (f"?as=csv&amp;list={of}" if of else "as=csv") in page
    if first:
        assert names.get(first, first) in {line[0] for line in lines}


def test_a_list_that_the_drawer_has_not_is_not_here(floor: Floor) -> None:
    jory = signed_in_client(floor.people["jory"])
    assert jory.get(reverse("stock"), {"as": "csv", "list": "gold"}).status_code == 404


def test_what_the_drawer_was_narrowed_by_narrows_its_csv(floor: Floor, axle: Axle) -> None:
    jory = signed_in_client(floor.people["jory"])
    everything = rows_of(jory, reverse("stock"), list="heats")
    some = rows_of(jory, reverse("stock"), list="heats", q="Q7714")
    assert len(some) == 2 < len(everything)


def test_a_cause_that_looks_like_a_formula_is_neutralised(floor: Floor, axle: Axle) -> None:
    rows = rows_of(signed_in_client(floor.people["calla"]), reverse("red_tags"))
    assert "'-bent in the yard" in rows[1]


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("=1+1", "'=1+1"), ("-2.5", "-2.5"), ("+2", "+2"), ("-x", "'-x"), ("@a", "'@a"), (-3, "-3"), (None, ""),
        (True, "yes"), (date(2025, 11, 20), "2025-11-20"), ("-", "'-"),
        # Noon in Greenwich is five in the morning in Denver, UTC - 7 h in winter.
        (datetime(2025, 11, 20, 12, 0, tzinfo=UTC), "LOCAL"),
    ],
)  # fmt: skip
def test_cells(cell: object, written: str) -> None:
    found = list(csv.reader(StringIO(CsvList("x", ("a",), [(cell,)]).text())))[1:]
    assert (found[0][0] if found and found[0] else "") == written.replace("LOCAL", "2025-11-20 05:00")
