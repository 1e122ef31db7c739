"""Welder qualification dates: house rule on the safe side of AWS D1.1, ISO 9606-1 as described publicly."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.qualification import Scheme, add_months, last_use_that_counts, qualified_until
from measurements.engineering.validity import OutsideValidity

days = st.dates(date(2000, 1, 1), date(2090, 12, 31))


@pytest.mark.parametrize(
    ("start", "months", "end"),
    [
        (date(2025, 8, 31), 6, date(2026, 2, 28)),  # clamped to the month's end
        (date(2023, 8, 31), 6, date(2024, 2, 29)),
        (date(2025, 4, 14), 6, date(2025, 10, 14)),
        (date(2025, 7, 15), 6, date(2026, 1, 15)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2025, 12, 31), 0, date(2025, 12, 31)),
        (date(2025, 1, 31), -2, date(2024, 11, 30)),
    ],
)
def test_calendar_months(start: date, months: int, end: date) -> None:
    assert add_months(start, months) == end


def test_the_ends_of_the_calendar_are_dates() -> None:
    assert add_months(date(1, 2, 1), -1) == date.min
    assert add_months(date(9998, 11, 30), 1) == date(9998, 12, 30)


@pytest.mark.parametrize(("start", "months"), [(date(9998, 12, 1), 1), (date(1, 1, 1), -1)])
def test_dates_outside_the_calendar_are_refused(start: date, months: int) -> None:
    with pytest.raises(OutsideValidity, match=r"outside the calendar"):
        add_months(start, months)


def test_a_lapsed_welder() -> None:
    # house rule: gas-metal-arc last used 14 Apr, from 14 Oct not valid
    found = qualified_until(date(2025, 1, 10), [date(2025, 4, 14)])
    assert found.on(date(2025, 10, 13))
    assert not found.on(date(2025, 10, 14))
    assert found.ends == date(2025, 10, 14)
    assert "without using the process" in found.reason
    assert [found.days_left(date(2025, 10, day)) for day in (13, 14, 20)] == [1, 0, 0]


def test_work_done_while_lapsed_does_not_renew() -> None:
    uses = [date(2025, 4, 14), date(2025, 10, 20)]
    assert last_use_that_counts(date(2025, 1, 10), uses) == date(2025, 4, 14)
    # the control: one use in time keeps the chain alive
    assert last_use_that_counts(date(2025, 1, 10), [*uses, date(2025, 8, 1)]) == date(2025, 10, 20)


def test_a_use_on_the_day_it_lapsed_comes_too_late() -> None:
    start = date(2025, 1, 10)
    assert last_use_that_counts(start, [date(2025, 7, 10)]) == start
    assert last_use_that_counts(start, [date(2025, 7, 9)]) == date(2025, 7, 9)


def test_uses_before_the_test_do_not_count() -> None:
    assert last_use_that_counts(date(2025, 1, 10), [date(2024, 12, 1)]) == date(2025, 1, 10)


def regular(start: date, years: int) -> list[date]:
    return [start + timedelta(days=90 * turn) for turn in range(1, 4 * years + 8)]


@pytest.mark.parametrize(("scheme", "years"), [(Scheme.ISO_9606_RETEST, 3), (Scheme.ISO_9606_EVIDENCE, 2)])
def test_an_iso_certificate_runs_out_although_the_process_is_used(scheme: Scheme, years: int) -> None:
    start = date(2022, 5, 2)
    found = qualified_until(start, regular(start, years), scheme)
    assert found.ends == date(2022 + years, 5, 2)
    assert f"{years} years after the test" in found.reason


@pytest.mark.parametrize("scheme", [Scheme.AWS_D1_1, Scheme.ISO_9606_WITH_ISO_3834])
def test_an_open_ended_qualification_needs_only_use(scheme: Scheme) -> None:
    start = date(2018, 5, 2)
    assert qualified_until(start, regular(start, 7), scheme).on(date(2025, 6, 1))


def test_an_iso_certificate_lapses_without_use_too() -> None:
    assert qualified_until(date(2025, 1, 31), [], Scheme.ISO_9606_RETEST).ends == date(2025, 7, 31)


@given(days, st.integers(0, 60))
def test_months_never_skip_a_month(start: date, months: int) -> None:
    end = add_months(start, months)
    assert (end.year - start.year) * 12 + end.month - start.month == months
    assert end.day <= start.day


@given(days, st.lists(days, max_size=6))
def test_the_order_of_uses_does_not_matter_and_more_use_never_shortens(issued: date, uses: list[date]) -> None:
    assert qualified_until(issued, uses) == qualified_until(issued, list(reversed(uses)))
    assert qualified_until(issued, uses).ends >= qualified_until(issued, uses[1:]).ends
