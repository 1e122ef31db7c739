"""The pages up to the kit draw every real card: nothing on them knows a model."""

from __future__ import annotations

from pathlib import Path

import pytest

from builds.models import Revision
from shop.models import Role
from tests.builds.floor import axle, person, released
from tests.builds.pages import Browser, text_of
from tests.builds.test_whole_kits import CARDS

pytestmark = pytest.mark.django_db


@pytest.fixture(params=CARDS)
def revision(request: pytest.FixtureRequest) -> Revision:
    return released(Path(request.param).read_text())


def test_the_card_page_draws_every_operation_and_characteristic(revision: Revision) -> None:
    page = Browser(person(Role.ENGINEER)).get(f"/cards/{revision.model.code}/{revision.letter}/")
    said = page.content.decode()
    card = revision.card
    assert all(f'id="op-{operation.number}"' in said for operation in card.operations)
    codes = [found.code for operation in card.operations for found in operation.characteristics]
    assert all(f"<td>{code}</td>" in said for code in codes)


def test_the_notice_of_the_card_stands_on_every_page_of_the_axle(revision: Revision) -> None:
    made = axle(revision)
    browser = Browser(person(Role.ENGINEER, Role.RECEIVER, Role.OFFICE))
    order = f"/orders/{made.line.order.number}/"
    card = f"{revision.model.code}/{revision.letter}/"
    for address in (f"/cards/{card}", f"/kits/{made.serial}/", order, f"{order}lines/{card}"):
        assert " ".join(revision.card.notice.split()) in text_of(browser.get(address))


def test_the_line_form_offers_every_option(revision: Revision) -> None:
    made = axle(revision)
    address = f"/orders/{made.line.order.number}/lines/{revision.model.code}/{revision.letter}/"
    said = Browser(person(Role.OFFICE)).get(address).content.decode()
    assert all(f'name="option-{option.axis}"' in said for option in revision.card.options)


def test_the_kit_page_lists_every_need(revision: Revision) -> None:
    made = axle(revision)
    said = text_of(Browser(person(Role.RECEIVER)).get(f"/kits/{made.serial}/"))
    names = {kind.code: kind.name for kind in revision.card.part_kinds}
    wanted = {names[planned.need.part_kind] for slot in made.plan.slots for planned in slot.needs}
    assert [name for name in wanted if name not in said] == []


def test_the_material_drawer_offers_the_steel_of_the_card(revision: Revision) -> None:
    said = Browser(person(Role.RECEIVER)).get("/stock/").content.decode()
    values = [found for op in revision.card.operations for found in op.characteristics if found.given]
    if any(found.given and found.given.source == "heat" for found in values):
        assert f"/stock/heats/new/{revision.model.code}/{revision.letter}/" in said
