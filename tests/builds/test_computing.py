"""What is computed from a computed value is worked out exactly, and not from what was rounded to be stored.

The weld: 12.5 in in 92 s is 8.152173913043... in/min (nine places are stored: 8.152173913), and 25 V at 225 A give
25·225·60·92/(1000·12.5·60) = 41.4 kJ/in exactly (calculated by hand with the formula V·A·60/(1000·speed)).
"""

from __future__ import annotations

from decimal import Decimal
from itertools import permutations

import pytest

from builds.errors import Stopped
from builds.models import RedTag, Visit
from measurements.engineering.computations import compute
from measurements.models import Reading
from tests.builds.bench import Bench, open_bench
from tests.builds.bench_cards import card_with, one

pytestmark = pytest.mark.django_db


RECORDED = "recorded_only = true"
CARD = card_with(
    18,
    one("18.a", "measured", f'unit = "in"\ndecimals = 2\n{RECORDED}'),
    one("18.b", "measured", f'unit = "s"\n{RECORDED}'),
    one("18.3", "measured", f'unit = "V"\n{RECORDED}'),
    one("18.4", "measured", f'unit = "A"\n{RECORDED}'),
    one("18.5", "computed", f'unit = "in/min"\ndecimals = 1\n{RECORDED}\n'
        'computation = { name = "travel_speed", inputs = { length = "18.a", arc_time = "18.b" } }'),
    one("18.6", "computed", 'unit = "kJ/in"\nhigh = 41.4\ndecimals = 1\non_high = "tag"\nsource = "test figure"\n'
        'computation = { name = "arc_energy", inputs = { volts = "18.3", amps = "18.4", travel_speed = "18.5" } }'),
)  # fmt: skip
WELD = {"18.a": "12.5", "18.b": "92", "18.3": "25", "18.4": "225"}


@pytest.fixture(scope="module")
def bench(once_per_module: None) -> Bench:
    return open_bench(CARD)


@pytest.fixture(scope="module")
def visit(bench: Bench) -> Visit:
    return bench.begin(bench.axle(), 18)


def energy() -> Reading:
    return Reading.objects.filter(characteristic__code="18.6").latest("pk")


@pytest.mark.parametrize("order", [list(found) for found in permutations(WELD)][::5], ids=" ".join)
def test_an_energy_on_its_limit_is_in_whatever_is_entered_last(bench: Bench, visit: Visit, order: list[str]) -> None:
    for code in order:
        bench.enter(visit, code, WELD[code])
    assert (energy().value, energy().verdict) == (Decimal("41.4"), "in")
    speed = Reading.objects.get(characteristic__code="18.5")
    assert speed.value == Decimal("8.152173913"), "what is stored is rounded"


def test_control_the_stored_speed_would_give_more_than_the_limit() -> None:
    stored = {"volts": {"": Decimal(25)}, "amps": {"": Decimal(225)}, "travel_speed": {"": Decimal("8.152173913")}}
    assert compute("arc_energy", stored)[""].value > Decimal("41.4")


def test_control_one_second_more_is_above(bench: Bench, visit: Visit) -> None:
    for code, text in WELD.items():
        bench.enter(visit, code, text)
    bench.enter(visit, "18.b", "93", reason="read again")
    assert (energy().value, energy().verdict) == (Decimal("41.85"), "above")


@pytest.mark.parametrize("code", WELD)
def test_an_energy_under_a_red_tag_is_not_computed_away(bench: Bench, visit: Visit, code: str) -> None:
    """Nor by what it comes from by way of the travel speed."""
    for found, text in (WELD | {"18.b": "93"}).items():
        bench.enter(visit, found, text)
    assert RedTag.objects.open().get(axle=visit.axle).reading == energy()
    with pytest.raises(Stopped, match=r"18\.6 N 18\.6: 41\.8"):
        bench.enter(visit, code, WELD[code], reason="read again")
