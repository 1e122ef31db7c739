"""Typed figures, limits and verdicts: house rules; boundary values calculated."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.limits import (
    FigureError,
    Limits,
    Verdict,
    far_off,
    judge,
    on_step,
    parse_figure,
    plain,
    to_drawing_unit,
)

TENTH = Decimal("0.0001")
BORE = Limits(Decimal("3.0625"), Decimal("3.0637"))
BACKLASH = Limits(Decimal("0.006"), Decimal("0.010"))
RING_GEAR = Limits(Decimal(160), Decimal(250), Decimal(275))


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("3.0642", "3.0642"),
        (".0078", "0.0078"),
        ("  105 ", "105"),
        ("-0.5", "-0.5"),
        ("\N{MINUS SIGN}0.5", "-0.5"),
        ("+2", "2"),
        ("007", "7"),
        ("-0", "0"),
        ("0.0080", "0.0080"),
        ("999999999.999999999", "999999999.999999999"),
        ("000000000001", "1"),
        ("0.1000000000000", "0.1000000000000"),
    ],
)
def test_figures_that_are_taken(text: str, value: str) -> None:
    assert str(parse_figure(text)) == value


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "Blank is not zero"),
        ("   ", "Blank is not zero"),
        ("3,0642", "has a comma. Type a point"),
        ("1,234.5", "has a comma"),
        ("1.234.5", "is not a figure"),
        ("1 234", "is not a figure"),
        ("1_000", "is not a figure"),
        ("1e3", "is not a figure"),
        ("5.", "is not a figure"),
        (".", "is not a figure"),
        ("-", "is not a figure"),
        ("--1", "is not a figure"),
        ("nan", "is not a figure"),
        ("Infinity", "is not a figure"),
        ("12 in", "is not a figure"),
        ("٣", "is not a figure"),
        ("²", "is not a figure"),
        ("0x10", "is not a figure"),
        ("1000000000", "is too large: figures here are smaller than 1000000000."),
        ("-1000000000", "is too large"),
        ("9" * 500, "is too large"),
        ("0.1234567891", "more than 9 decimals"),
    ],
)
def test_figures_that_are_refused_with_a_sentence(text: str, says: str) -> None:
    with pytest.raises(FigureError, match=says) as caught:
        parse_figure(text)
    assert len(str(caught.value)) < 160


@pytest.mark.parametrize(("digits", "shown"), [(24, "1" * 24), (25, "1" * 24 + "…")])
def test_a_long_entry_is_cut_in_its_refusal(digits: int, shown: str) -> None:
    with pytest.raises(FigureError, match=f"“{shown}” is too large"):
        parse_figure("1" * digits)


def test_a_figure_finer_than_the_gauge_is_refused_and_the_step_named() -> None:
    with pytest.raises(FigureError, match=r"“3.06425” is finer than the gauge reads: its step is 0.0001"):
        parse_figure("3.06425", step=TENTH)
    with pytest.raises(FigureError, match=r"its step is 0.0005"):
        parse_figure(".0043", step=Decimal("0.0005"))
    assert parse_figure("3.0642000", step=TENTH) == Decimal("3.0642")
    assert parse_figure(".0045", step=Decimal("0.0005")) == Decimal("0.0045")


@given(st.decimals(-(10**9), 10**9, places=9), st.sampled_from([TENTH, Decimal("0.0005"), Decimal(5)]))
def test_decimal_and_fraction_agree_on_the_step(value: Decimal, step: Decimal) -> None:
    near = round(Fraction(value) / Fraction(step)) * step
    assert on_step(near, step)
    assert on_step(Fraction(near), step)
    assert on_step(value, step) == on_step(Fraction(value), step) == (value == near)


def test_a_gauge_needs_a_step() -> None:
    with pytest.raises(ValueError, match=r"more than zero; 0 is not"):
        on_step(Decimal(1), Decimal(0))


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        ("3.0624", Verdict.BELOW),
        ("3.0625", Verdict.IN),
        ("3.0637", Verdict.IN),
        ("3.0638", Verdict.ABOVE),
    ],
)
def test_limits_are_inclusive(value: str, verdict: Verdict) -> None:
    assert judge(Decimal(value), BORE) is verdict


@pytest.mark.parametrize(
    ("value", "verdict"),
    [("250", Verdict.IN), ("251", Verdict.ABOVE), ("275", Verdict.ABOVE), ("275.1", Verdict.NEVER)],
)
def test_never_above_stops_beyond_its_figure(value: str, verdict: Verdict) -> None:
    assert judge(Decimal(value), RING_GEAR) is verdict


def test_one_sided_and_absent_limits() -> None:
    assert judge(Decimal(-5), Limits(None, Decimal("0.004"))) is Verdict.IN
    assert judge(Decimal("47.99"), Limits(Decimal(48))) is Verdict.BELOW
    assert judge(Decimal(10**8), Limits(Decimal(48))) is Verdict.IN
    assert judge(Decimal(9), Limits()) is Verdict.IN
    assert judge(Decimal(9), Limits(never_above=Decimal(8))) is Verdict.NEVER


def test_a_value_that_is_no_finite_decimal_is_judged_exactly() -> None:
    third = Fraction(1, 3)
    assert judge(third, Limits(Decimal("0.333333333"), Decimal("0.333333334"))) is Verdict.IN
    assert judge(third, Limits(None, Decimal("0.333333333"))) is Verdict.ABOVE
    assert judge(third, Limits(Decimal("0.333333334"))) is Verdict.BELOW
    assert judge(Fraction(1, 4), Limits(Decimal("0.25"), Decimal("0.25"))) is Verdict.IN


def test_limits_may_meet() -> None:
    assert judge(Decimal(5), Limits(Decimal(5), Decimal(5), Decimal(5))) is Verdict.IN


@pytest.mark.parametrize("limits", [("0.2", "0.1", None), (None, "0.2", "0.1")])
def test_limits_the_wrong_way_round_are_refused(limits: tuple[str | None, str, str | None]) -> None:
    with pytest.raises(ValueError, match=r"limit"):
        Limits(*(None if figure is None else Decimal(figure) for figure in limits))


@given(
    st.decimals(-1000, 1000, places=4),
    st.decimals(-1000, 1000, places=4),
    st.decimals(0, 1000, places=4),
)
def test_the_verdict_goes_below_in_above_as_the_value_grows(value: Decimal, low: Decimal, width: Decimal) -> None:
    limits = Limits(low, low + width)
    order = [Verdict.BELOW, Verdict.IN, Verdict.ABOVE]
    assert order.index(judge(value, limits)) <= order.index(judge(value + TENTH, limits))
    mirrored = judge(-value, Limits(-low - width, -low))
    assert order.index(mirrored) == 2 - order.index(judge(value, limits))


@pytest.mark.parametrize(
    ("typed", "unit", "expected"),
    [
        ("77.8002", "mm", "3.0630"),  # 77.8002 / 25.4 = 3.063 exactly (calculated)
        ("77.80", "mm", "3.0630"),  # 3.06299...
        ("3.06", "in", "3.06"),
    ],
)
def test_a_metric_entry_is_converted_and_rounded_to_the_step(typed: str, unit: str, expected: str) -> None:
    assert str(to_drawing_unit(Decimal(typed), unit, "in", TENTH)) == expected


def test_rounding_to_the_step_decides_a_metric_verdict() -> None:
    # 77.818 mm = 3.063700787 in: rounded to the step it is the high limit, which is in (house rule)
    assert judge(to_drawing_unit(Decimal("77.818"), "mm", "in", TENTH), BORE) is Verdict.IN
    assert judge(Decimal("77.818") / Decimal("25.4"), BORE) is Verdict.ABOVE  # the control: not rounded it is out
    assert judge(to_drawing_unit(Decimal("77.822"), "mm", "in", TENTH), BORE) is Verdict.ABOVE


@given(st.integers(0, 10**6))
def test_inch_and_the_same_length_in_mm_are_the_same_reading(steps: int) -> None:
    inches = steps * TENTH
    assert to_drawing_unit(inches * Decimal("25.4"), "mm", "in", TENTH) == inches


def test_nothing_is_far_over_a_limit_that_is_not_there() -> None:
    """0 lies one width below .1, and the shift of a decimal sign leaves it where it is."""
    assert far_off(Decimal(0), Limits(low=Decimal(".1"))) is None
    assert far_off(Decimal(0), Limits(high=Decimal("-.1"))) is None
    assert far_off(Decimal("-.6"), Limits(low=Decimal(".1"))) is not None


@pytest.mark.parametrize(
    ("value", "limits", "step", "meant"),
    [
        ("8", BACKLASH, TENTH, "0.008"),  # 8 typed for .008
        (".08", BACKLASH, TENTH, "0.008"),
        (".0008", BACKLASH, TENTH, "0.008"),
        ("30.63", BORE, TENTH, "3.063"),
        ("1050", Limits(Decimal(100), Decimal(110)), Decimal(1), "105"),
        ("10.5", Limits(Decimal(100), Decimal(110)), None, "105"),
        ("0.0110", BACKLASH, TENTH, None),  # a little over is a plain fail
        ("3.0643", BORE, TENTH, None),
        (
            ".012",
            Limits(None, Decimal(".010")),
            Decimal(".001"),
            None,
        ),  # .0012 is finer than that gauge: not a slip
        (".012", Limits(None, Decimal(".010")), TENTH, "0.0012"),
        ("1", Limits(Decimal(0), Decimal(0)), Decimal(1), None),  # one crack is one crack
        ("0", BORE, TENTH, "far"),
        ("4", BORE, TENTH, "far"),
        ("2.9", BORE, TENTH, "far"),
        ("3.0698", BORE, TENTH, "far"),  # .0061 beyond: more than five widths of .0012
        ("3.0697", BORE, TENTH, None),  # .0060 beyond: exactly five widths
        ("3.0565", BORE, TENTH, None),
        ("3.0564", BORE, TENTH, "far"),
        ("9", Limits(Decimal(3), Decimal(3)), Decimal(1), None),
        ("19", Limits(Decimal(3), Decimal(3)), Decimal(1), "far"),
        ("0.008", BACKLASH, TENTH, None),  # in limits: never asked
    ],
)
def test_far_off_figures_are_asked_about(value: str, limits: Limits, step: Decimal | None, meant: str | None) -> None:
    question = far_off(Decimal(value), limits, step)
    if meant is None:
        assert question is None
    elif meant == "far":
        assert question is not None
        assert question.meant is None
        assert "five times" in question.text
    else:
        assert question is not None
        assert question.meant == Decimal(meant)
        assert f"{meant} would be in" in question.text


@pytest.mark.parametrize("places", [-4, -3, -2, -1, 1, 2, 3, 4])
def test_a_decimal_sign_up_to_four_places_away_is_noticed(places: int) -> None:
    window = Limits(Decimal("7.9"), Decimal("8.1"))
    question = far_off(Decimal(8).scaleb(places), window)
    assert question is not None
    assert question.meant == 8
    beyond = far_off(Decimal(8).scaleb(-5), window)
    assert beyond is not None
    assert beyond.meant is None


def test_a_figure_outside_one_sided_limits_is_far_off_by_the_limit_s_own_size() -> None:
    low_only = Limits(Decimal(48))
    assert far_off(Decimal(-192), low_only, Decimal(1)) is None  # 240 beyond: exactly five times
    assert far_off(Decimal(-193), low_only, Decimal(1)) is not None
    high_only = Limits(None, Decimal("0.003"))
    assert far_off(Decimal("0.018"), high_only, Decimal("0.001")) is None
    assert far_off(Decimal("0.019"), high_only, Decimal("0.001")) is not None


def test_width_of_one_sided_and_absent_limits() -> None:
    assert [Limits(None, Decimal(2)).width(), Limits(Decimal(-3)).width(), Limits().width()] == [2, 3, 1]


def test_plain_figures() -> None:
    assert [plain(Decimal(text)) for text in ("1E-4", "100", "2.50", "1E+2")] == [
        "0.0001",
        "100",
        "2.5",
        "100",
    ]
