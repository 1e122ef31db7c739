"""Two welds of one axle each have a wire of their own on record, though the card calls both by the same role."""

from __future__ import annotations

import pytest

from builds.errors import NotSignable
from builds.models import Fitted, Visit, Weld
from builds.reports.kit import needs_of, slot_of
from builds.scenario.driver import Builder
from tests.shopfloor import Floor, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def brackets(floor: Floor) -> tuple[Builder, Visit]:
    """The plugs are welded at 130 and their wire is on record; the brackets at 150 are in hand."""
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=150)
    return builder, builder.begin("150/")


def short(builder: Builder, visit: Visit) -> set[str]:
    return {need.role for need in needs_of(builder.axle, [slot_of(visit)]) if need.to_fit}


def test_another_weld_s_wire_and_gas_are_not_this_one_s(brackets: tuple[Builder, Visit]) -> None:
    builder, visit = brackets
    assert {"weld_wire", "shielding_gas"} <= short(builder, visit)
    assert Fitted.objects.now().filter(axle=builder.axle, role="weld_wire", visit__operation__number=130).exists()


def test_without_a_wire_of_its_own_it_is_not_signed(
    brackets: tuple[Builder, Visit], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Control: with all of it scanned it is signed, and each weld names its own spool."""
    builder, visit = brackets
    with monkeypatch.context() as away:
        away.setattr(builder, "_fit", lambda work: None)
        builder.fill(visit)
    with pytest.raises(NotSignable) as refused:
        builder.sign_doer(visit)
    assert any("welding wire" in said for said in refused.value.missing)
    builder.fit(visit)
    assert short(builder, visit) == set()
    builder.sign(visit)
    wires = {weld.wire_id for weld in Weld.objects.filter(visit=visit)}
    own = Fitted.objects.now().filter(visit=visit, role="weld_wire").values_list("part_id", flat=True)
    assert wires == set(own)
    assert None not in wires
