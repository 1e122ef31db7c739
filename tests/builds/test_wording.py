"""The other unit beside a figure: exact factors, decimals that say no more than the drawing's."""

from __future__ import annotations

import random
from datetime import UTC, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from builds.definitions.reading import read_text
from builds.reports.wording import by_how_much, day, figure, in_other
from measurements.engineering.units import rounded
from measurements.models import Reading, VerdictWord
from tests.shopfloor import SORREL


@pytest.mark.parametrize(
    ("value", "unit", "decimals", "shown"),
    [
        ("0.0021", "in", 4, "0.053 mm"),  # 1 in = 25.4 mm exactly (1959 agreement)
        ("105", "ft-lb", 0, "142.4 N·m"),  # 1 ft-lb = 1.3558179 N·m (NIST SP 811, from memory)
        ("0.100", "psi", 3, "0.69 kPa"),  # 1 psi = 6.894757 kPa (NIST SP 811, from memory)
        ("95", "psi", 0, "655 kPa"),
        ("212", "F", 0, "100 °C"),
        ("6", "count", 0, ""),
    ],
)
def test_the_other_unit(value: str, unit: str, decimals: int, shown: str) -> None:
    assert in_other(Decimal(value), unit, decimals) == shown


def test_a_difference_of_temperatures_has_no_zero_point() -> None:
    """5 °F apart is 2.8 °C apart (5 x 5/9, calculated); as a temperature it would be -15 °C."""
    assert in_other(Decimal(5), "F", 0, difference=True) == "2.8 °C"
    assert in_other(Decimal(5), "F", 0) == "-15 °C"


@pytest.mark.parametrize(
    ("code", "over", "said"),
    [
        ("410.2", "0.005490709", "0.005 psi over"),  # computed: kept with nine places, the drawing has three
        ("410.2", "0.000000001", "less than 0.001 psi over"),  # out by what cannot be shown is still out
        ("220.1", "0.5", "0.5 ft-lb over"),  # the control: what was typed stands as it was typed
    ],
)
def test_how_far_it_is_over(code: str, over: str, said: str) -> None:
    asked = read_text(SORREL.read_text("utf-8"), "sorrel").characteristic(code)
    assert asked.high is not None
    assert by_how_much(Reading(value=asked.high + Decimal(over), verdict=VerdictWord.ABOVE), asked) == said


def test_a_figure_is_the_nearest_one_with_the_even_one_at_a_tie() -> None:
    """As `rounded` gives it (ASTM E29), for ties, for what is nearly nothing, for many digits and at random."""
    chance = random.Random(3)
    texts = ["0.00005", "-0.00004", "0.00015", "2.5", "-2.5", "0", "-0.0", f"{'7' * 40}.25", "1E+3", "0.718281828"]
    texts += [f"{chance.choice('-+')}{chance.randrange(10**9)}E-{chance.randrange(9)}" for _ in range(200)]
    for text in texts:
        for decimals in range(5):
            told = format(rounded(Decimal(text), Decimal(1).scaleb(-decimals)), "f")
            assert figure(Decimal(text), decimals) == told, (text, decimals)


@pytest.mark.parametrize(
    ("at", "said"),
    [
        (datetime(2025, 11, 20, 20, 5, tzinfo=UTC), "Thu 20 Nov 13:05"),
        (datetime(2025, 11, 3, 6, 59, tzinfo=UTC), "Sun 02 Nov 23:59"),  # the evening before, in winter time
        (datetime(2025, 7, 1, 6, 0, tzinfo=UTC), "Tue 01 Jul 00:00"),  # six hours behind in summer
    ],
)
def test_a_moment_is_told_in_the_shops_own_day(at: datetime, said: str) -> None:
    assert day(at) == day(at, ZoneInfo("America/Denver")) == said
    assert day(None) == ""
