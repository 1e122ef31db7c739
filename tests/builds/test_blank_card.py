"""The blank card: a box for all that is written by hand, none for what is computed."""

from __future__ import annotations

import pytest
from django.urls import reverse

from builds.definitions.words import Kind
from tests.factories import signed_in_client
from tests.shopfloor import open_shop

BOX = '<td class="write"></td>'


@pytest.mark.django_db
def test_a_box_stands_for_each_position_that_is_typed_and_none_for_what_is_computed() -> None:
    floor = open_shop()
    axle = floor.axle()
    slot = axle.plan.slot("50/left")
    typed = [
        label for one in slot.characteristics if one.characteristic.kind is not Kind.COMPUTED for label in one.labels
    ]
    computed = [
        label for one in slot.characteristics if one.characteristic.kind is Kind.COMPUTED for label in one.labels
    ]
    assert computed
    path = reverse("blank_card", args=[axle.serial, 50, "left"])
    shown = signed_in_client(floor.people["tam"]).get(path).content.decode()
    assert shown.count(BOX) == 2 * len(typed)
    assert shown.count("computed from the readings") == len(computed)
    assert all(line in shown for line in (slot.operation.caution[0], axle.plan.card.notice, axle.serial))
