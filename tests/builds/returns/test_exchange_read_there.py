"""A unit whose own work is read in the axle that it is in is not exchanged as a whole after that axle has left: the
third model with its worm as a unit, set against the wheel that is in the axle."""

from __future__ import annotations

import pytest

from builds.actions.exchanging import Swap
from builds.actions.joining import Spot, own_unit
from builds.actions.parting import UnitOut, part_unit, whole
from builds.errors import NotReady
from builds.models import Fitted
from tests.builds.returns.test_exchange import Field, field_of, taken_in
from tests.shopfloor import THIRD

pytestmark = pytest.mark.django_db
PER = 'name = "Set the worm"\nstation = "BEN"\n'
UNIT = '[[unit]]\nrole = "worm_pack"\nname = "worm pack"\n\n[[material]]\n'


@pytest.fixture(scope="module")
def field(once_per_module: None, tmp_path_factory: pytest.TempPathFactory) -> Field:
    text = THIRD.read_text("utf-8")
    assert text.count(PER) == 1
    path = tmp_path_factory.mktemp("card") / "third.toml"
    path.write_text(text.replace(PER, f'{PER}per = "worm_pack"\n').replace("[[material]]\n", UNIT, 1), "utf-8")
    return field_of(path)


def test_it_stays_in_the_house_and_its_parts_go_one_by_one(field: Field) -> None:
    builder = field.floor.builder(field.floor.axle())
    builder.kit()
    builder.run(until=67)
    spare = own_unit(Spot(builder.axle), "worm_pack")
    part_unit(unit=spare, out=UnitOut("spare", "stock", "used"), by=field.floor.who("wenzel"))
    old = own_unit(Spot(field.axle), "worm_pack")
    with pytest.raises(NotReady, match=f"Operation 57 of {spare} is read in its axle, and out there nobody does it"):
        field.swap(Swap(old, spare.item.mark, "scrap"))
    assert whole(old.pk).axle == field.axle
    taken_in("wheel", "W-9", "AG-9")
    taken_in("worm", "W-9", "AG-9")
    field.swap(Swap(field.now_in("wheel"), "W-9", "scrap"), Swap(field.now_in("worm"), "W-9", "scrap"))  # the control
    assert Fitted.objects.now().get(host=old.item, role="worm").part.mark == "W-9"
