"""A part leaves on which values were read: what speaks of it is asked again of the one that comes in its place.

Calculated: a tube of 3.5033 in a housing bored 3.5007 has .0026 of interference, in one bored 3.5012 .0021.
"""

from __future__ import annotations

from copy import deepcopy
from decimal import Decimal

import pytest

from builds.actions import claiming, reopening
from builds.actions.deciding import Decided, decide
from builds.actions.kitting import kit_part, return_part
from builds.actions.loose import tag_loose
from builds.actions.putting_in import _to_do_again
from builds.actions.removing import Out, remove_part
from builds.definitions.plan import for_options
from builds.definitions.reading import read_file
from builds.definitions.unit_plan import read_on_part
from builds.errors import NotSignable
from builds.models import Fitted, KitLine, Reopening
from builds.reports.facts import standing
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from measurements.models import Reading
from shop.models import Item
from tests.shopfloor import SORREL, TEASEL, Floor, open_shop

pytestmark = pytest.mark.django_db
TUBES = ("10/", "20/", "30/left", "40/left", "30/right", "40/right")
TURNED = ("40/left", "40/right")


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.fixture(scope="module")
def turned(floor: Floor) -> Builder:
    """Everything before the housing is pressed is done; it lies in the kit."""
    builder = floor.builder(floor.axle(), c40_1="3.5033", c40_2="3.5007")
    builder.kit()
    builder.run(until=110)
    floor.now = builder.now
    return builder


@pytest.fixture(scope="module")
def other(floor: Floor, turned: Builder) -> Item:
    """A housing with larger bores, read in another axle and set back to stock."""
    builder = floor.builder(floor.axle(), c40_1="3.5033", c40_2="3.5012")
    builder.kit()
    for key in TUBES:
        builder.do(key)
    floor.now = builder.now
    return out_of_kit(floor, builder)


@pytest.fixture
def builder(turned: Builder, other: Item, floor: Floor) -> Builder:
    found = deepcopy(turned)
    found.now = floor.now
    return found


def out_of_kit(floor: Floor, builder: Builder) -> Item:
    line = KitLine.objects.get(axle=builder.axle, role="centre_housing", returned_at=None)
    return_part(line=line, by=floor.who("jory"), now=builder.now)
    return line.part


def set_aside(floor: Floor, builder: Builder, item: Item) -> None:
    kit_part(axle=builder.axle, scan=item.mark, role="centre_housing", by=floor.who("jory"), now=builder.now)


def states(builder: Builder, *keys: str) -> list[str]:
    slots = standing(builder.axle, builder.now).slots
    return [str(slots[key].state) for key in keys]


def fit(builder: Builder) -> list[Decimal | None]:
    rows = Reading.objects.filter(sheet__visit_links__visit__axle=builder.axle, characteristic__code="40.3")
    return [row.value for row in rows.filter(item__unit__side="left").distinct().order_by("pk")]


def test_out_of_the_kit_both_fits_are_to_work_out_again(floor: Floor, builder: Builder) -> None:
    assert states(builder, *TURNED) == ["done", "done"]
    out_of_kit(floor, builder)
    assert states(builder, *TURNED) == ["to redo", "to redo"]
    rows = Reopening.objects.filter(visit__axle=builder.axle)
    assert {(row.cause, *row.only) for row in rows} == {("part_out", "40.2", "40.3")}
    assert states(builder, "30/left", "50/left", "90/left", "110/") == ["done", "done", "done", "not yet"]


def test_control_as_it_was_the_first_housing_s_fit_stood(
    floor: Floor, builder: Builder, other: Item, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reopening, "read_on_part", lambda plan, role, side: {})
    out_of_kit(floor, builder)
    set_aside(floor, builder, other)
    builder.do("110/")
    assert Fitted.objects.now().get(axle=builder.axle, role="centre_housing").part == other
    assert fit(builder) == [Decimal(".0026")]


def test_of_one_whose_bores_are_on_record_it_is_worked_out_at_sight(
    floor: Floor, builder: Builder, other: Item
) -> None:
    out_of_kit(floor, builder)
    set_aside(floor, builder, other)
    builder.do("40/left")
    assert fit(builder) == [Decimal(".0026"), Decimal(".0021")]
    assert states(builder, *TURNED) == ["done", "to redo"]


def test_control_without_that_it_would_be_signed_with_the_first_one_s(
    floor: Floor, builder: Builder, other: Item, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(claiming, "compute_cited", lambda a, work: ([], work))
    out_of_kit(floor, builder)
    set_aside(floor, builder, other)
    builder.do("40/left")
    assert fit(builder) == [Decimal(".0026")]


def test_what_is_worked_out_at_sight_is_reacted_to(
    floor: Floor, builder: Builder, other: Item, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two parts inside their limits always fit, so what the card says of one that does not is looked at by its call."""
    told: list[list[str]] = []
    monkeypatch.setattr(claiming, "react", lambda a, work, rows: told.append([row.typed for row in rows]))
    out_of_kit(floor, builder)
    set_aside(floor, builder, other)
    builder.begin("40/left")
    assert told == [["0.0021"]]


def test_the_same_one_set_aside_again_speaks_for_itself(floor: Floor, builder: Builder) -> None:
    item = out_of_kit(floor, builder)
    set_aside(floor, builder, item)
    builder.do("40/left")
    assert fit(builder) == [Decimal(".0026"), Decimal(".0026")]


def test_with_none_in_the_kit_it_is_not_signed(floor: Floor, builder: Builder) -> None:
    out_of_kit(floor, builder)
    visit = builder.begin("40/left")
    with pytest.raises(NotSignable, match=r"40\.2"):
        builder.sign(visit)


def test_taken_out_of_the_axle_both_fits_are_to_work_out_again(floor: Floor, builder: Builder) -> None:
    builder.do("110/")
    row = Fitted.objects.now().get(axle=builder.axle, role="centre_housing")
    out = Out("cracked", "scrap")
    _, again = remove_part(fitted=row, out=out, by=floor.who("rusk", "GB"), now=builder.now)
    assert again == ["40/left", "40/right"]


def test_a_spindle_asks_its_own_side_again(floor: Floor, builder: Builder) -> None:
    row = Fitted.objects.now().get(axle=builder.axle, role="spindle", host__unit__side="left")
    _, again = remove_part(fitted=row, out=Out("scored", "scrap"), by=floor.who("rusk", "GB"), now=builder.now)
    assert again == ["50/left"]
    assert Reopening.objects.get(visit__axle=builder.axle).only == ["50.6", "50.7"]


def test_after_the_closing_no_other_one_is_put_in(builder: Builder) -> None:
    row = Fitted.objects.now().get(axle=builder.axle, role="spindle", host__unit__side="left")
    assert 50 in _to_do_again(builder.axle, row)


@pytest.mark.parametrize("card", [SORREL, TEASEL])
@pytest.mark.parametrize(
    ("role", "side", "found"),
    [
        ("centre_housing", "", {"40/left": ["40.2", "40.3"], "40/right": ["40.2", "40.3"]}),
        ("spindle", "left", {"50/left": ["50.6", "50.7"]}),
        ("shaft left", "left", {}),
        ("ring_gear", "", {}),
    ],
)
def test_of_the_shipped_cards(card: object, role: str, side: str, found: dict[str, list[str]]) -> None:
    assert read_on_part(for_options(read_file(card), {}), role, side) == found  # type: ignore[arg-type]


def test_reworked_and_set_aside_again_it_is_read_again(floor: Floor, builder: Builder) -> None:
    """The pass for single codes keeps the sheets of the pass before; what was read on it there counts no more."""
    item, by = out_of_kit(floor, builder), floor.who("wenzel")
    tag = tag_loose(item=item, cause="bore scored", by=floor.who("jory"), now=builder.now)
    decide(tag=tag, decided=Decided("rework", "honed"), grant=builder.grant(by, "released"), by=by, now=builder.now)
    set_aside(floor, builder, item)
    visit = builder.begin("40/left")
    assert [place.position for place in work_of(visit).places if place.last is None] == ["left A", "left B"]
    builder.fill(visit)
    builder.sign(visit)
    assert states(builder, *TURNED) == ["done", "to redo"]
