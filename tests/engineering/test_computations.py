"""The named computations of a build card. Sources beside each check."""

import re
from decimal import Decimal
from fractions import Fraction

import pytest

from measurements.engineering.computations import (
    COMPUTATIONS,
    MissingInput,
    Result,
    as_decimal,
    check_card,
    compute,
    side_of,
)
from measurements.engineering.limits import Limits, Verdict, judge

FN2_SPINDLE = Limits(Decimal("0.0010"), Decimal("0.0029"))  # ANSI B4.1 FN2, 2.56-3.15 in (Machinery's Handbook 27th)


def column(*figures: str) -> dict[str, Decimal | None]:
    return {str(number): Decimal(figure) for number, figure in enumerate(figures, 1)}


def one(name: str, *columns: dict[str, Decimal | None], **constants: Decimal) -> Result:
    inputs = dict(zip(COMPUTATIONS[name].inputs, columns, strict=False))
    (result,) = compute(name, inputs, constants).values()
    return result


def single(figure: str) -> dict[str, Decimal | None]:
    return {"": Decimal(figure)}


def test_interference_that_a_binary_float_gets_wrong_is_in() -> None:
    # calculated: .0010 exactly, the inclusive low limit
    result = one("interference_of_means", single("3.0652"), column("3.0642", "3.0642"))
    assert judge(result.value, FN2_SPINDLE) is Verdict.IN
    assert 3.0652 - 3.0642 < 0.0010  # the control: the binary subtraction fails the same joint


def test_variation_that_a_binary_float_gets_wrong_is_in() -> None:
    result = one("variation", column(".0082", ".0062", ".0070"))
    assert judge(result.value, Limits(None, Decimal(".002"))) is Verdict.IN
    assert 0.0082 - 0.0062 > 0.002  # the control


def test_interference_is_the_difference_of_means_with_smallest_and_largest() -> None:
    # calculated; bores and outsides in mm
    shafts = column("88.912", "88.914", "88.911", "88.910", "88.913", "88.910")
    holes = column("88.812", "88.815", "88.810", "88.814", "88.817", "88.812")
    result = one("interference_of_means", shafts, holes)
    assert as_decimal(result.value, 5) == Decimal("0.09833")
    assert result.shown == {"smallest": Fraction("0.093"), "largest": Fraction("0.104")}


def test_each_side_has_its_own_interference() -> None:
    shafts: dict[str, Decimal | None] = {"left": Decimal("3.0650"), "right": Decimal("3.0649")}
    holes: dict[str, Decimal | None] = {
        "left A": Decimal("3.0630"),
        "left B": Decimal("3.0632"),
        "right A": Decimal("3.0643"),
        "right B": Decimal("3.0643"),
    }
    results = compute("interference_of_means", {"outer": shafts, "bore": holes})
    assert {side: result.value for side, result in results.items()} == {
        "left": Fraction("0.0019"), "right": Fraction("0.0006")
    }  # fmt: skip


def test_a_computed_minimum_below_the_window_is_told_and_does_not_change_the_verdict() -> None:
    result = one("interference_of_means", single("3.0650"), column("3.0636", "3.0642"))
    assert judge(result.value, FN2_SPINDLE) is Verdict.IN
    assert "minimum is below the window" in result.remark(FN2_SPINDLE)
    assert one("interference_of_means", single("3.0650"), column("3.0636", "3.0640")).remark(FN2_SPINDLE) == ""
    assert result.remark(Limits(None, Decimal("0.0029"))) == ""
    assert Result(Fraction(0)).remark(FN2_SPINDLE) == ""


@pytest.mark.parametrize(
    ("start", "end", "warm", "cool", "drop"),
    [
        ("5.00", "4.89", "72.0", "70.0", "0.036"),  # calculated, gas law with 14.70 psi: cooling, not a leak
        ("5.00", "4.62", "71.0", "70.4", "0.358"),  # calculated: a real leak
        ("5.00", "4.95", "70.0", "71.5", "0.105"),  # calculated: warming hides a leak
    ],
)
def test_pressure_drop_corrected_to_the_start_temperature(
    start: str, end: str, warm: str, cool: str, drop: str
) -> None:
    result = one("corrected_pressure_drop", *map(single, (start, end, warm, cool)))
    assert as_decimal(result.value, 3) == Decimal(drop)
    assert result.shown == {"raw": Fraction(start) - Fraction(end), "atmosphere": Fraction("14.7")}


def test_the_barometer_takes_the_place_of_the_standard_atmosphere() -> None:
    figures = [single(figure) for figure in ("5.00", "4.89", "72.0", "70.0")]
    read = one("corrected_pressure_drop", *figures, single("14.10"))
    fixed = one("corrected_pressure_drop", *figures, standard_atmosphere=Decimal("14.10"))
    assert read == fixed
    assert read.value != one("corrected_pressure_drop", *figures).value


def test_pressure_drop_in_metric_is_the_same_drop() -> None:
    # 72 and 70 °F as exact Celsius are not finite decimals; 86 and 68 °F are 30 and 20 °C
    inch = one("corrected_pressure_drop", *map(single, ("5", "4.9", "86", "68")))
    metric = one("corrected_pressure_drop", *map(single, ("5", "4.9", "30", "20")), celsius=Decimal(1))
    assert inch == metric


def test_arc_energy() -> None:
    # 25 V, 210 A, 11 in/min -> 28.6 kJ/in (calculated; formula of a public welding page)
    energy = one("arc_energy", *map(single, ("25", "210", "11"))).value
    assert energy == Fraction(25 * 210 * 60, 1000 * 11)
    assert as_decimal(energy, 1) == Decimal("28.6")


def test_travel_speed_is_length_over_arc_time() -> None:
    assert one("travel_speed", single("11.39"), single("62.0")).value == Fraction("11.39") * 60 / 62


def test_hours_count_from_the_last_arc_of_all() -> None:
    arcs: dict[str, Decimal | None] = {
        "left 1": Decimal(1000),
        "right 1": Decimal(4600),
        "repair 1": Decimal(2000),
    }
    assert compute("hours_since_last_arc", {"look": single("177400"), "arcs": arcs})[""].value == 48


def test_dew_point_margin() -> None:
    # 70 °F, 65 % -> dew point 57.7 °F (published chart 57); surface 63 °F leaves 5.3
    result = one("dew_point_margin", *map(single, ("63", "70", "65")))
    assert as_decimal(result.value, 1) == Decimal("5.3")
    assert as_decimal(result.shown["dew point"], 1) == Decimal("57.7")


def test_dew_point_margin_in_celsius() -> None:
    # 20 °C, 50 % -> 9.255 °C by the Magnus formula
    result = one("dew_point_margin", *map(single, ("15", "20", "50")), celsius=Decimal(1))
    assert as_decimal(result.shown["dew point"], 3) == Decimal("9.255")


def test_out_of_round_is_kept_apart_by_side() -> None:
    bores: dict[str, Decimal | None] = {
        "left A": Decimal("1.0004"),
        "left B": Decimal("1"),
        "right A": Decimal("2"),
        "right B": Decimal("2.0009"),
    }
    results = compute("out_of_round", {"readings": bores})
    assert [results[side].value for side in ("left", "right")] == [Fraction("0.0004"), Fraction("0.0009")]


@pytest.mark.parametrize(
    ("name", "value"), [("mean_of", Fraction(7, 3)), ("smallest_of", 1), ("largest_of", 4), ("count_of", 3)]
)
def test_reductions(name: str, value: Fraction) -> None:
    assert one(name, column("1", "2", "4")).value == value


def test_a_reduction_shows_its_smallest_and_largest() -> None:
    assert one("mean_of", column("1", "2", "4")).shown == {"smallest": 1, "largest": 4}


@pytest.mark.parametrize("name", ["mean_of", "smallest_of", "largest_of", "count_of"])
def test_one_reading_is_enough_for_a_reduction(name: str) -> None:
    assert one(name, single("1")).value == 1


def test_two_readings_are_enough_for_a_spread() -> None:
    assert one("variation", column("0.2", "0.5")).value == Fraction("0.3")


def test_reductions_are_given_by_side() -> None:
    readings: dict[str, Decimal | None] = {"left 1": Decimal(1), "left 2": Decimal(3), "right 1": Decimal(5)}
    found = compute("mean_of", {"readings": readings})
    assert {side: result.value for side, result in found.items()} == {"left": 2, "right": 5}


def test_difference_is_per_position() -> None:
    results = compute("difference", {"first": column("30", "8"), "second": column("24", "9")})
    assert [result.value for result in results.values()] == [6, -1]


FIT_CODES = {"outer": "50.6", "bore": "50.3"}


def test_a_blank_reading_is_refused_by_code_and_position() -> None:
    readings: dict[str, Decimal | None] = {"left A": Decimal("3.0630"), "left B": None}
    with pytest.raises(MissingInput, match=r"^50\.3 position left B is not read yet") as caught:
        compute("out_of_round", {"readings": readings}, codes={"readings": "50.3"})
    assert (caught.value.code, caught.value.position) == ("50.3", "left B")


def test_an_input_without_any_reading_is_refused_by_code() -> None:
    with pytest.raises(MissingInput, match=r"^50\.3 is not read yet"):
        compute("interference_of_means", {"outer": single("3.0650"), "bore": {}}, codes=FIT_CODES)


def test_without_codes_the_refusal_names_the_role() -> None:
    with pytest.raises(MissingInput, match=r"^bore is not read yet"):
        compute("interference_of_means", {"outer": single("3.0650"), "bore": {}})


@pytest.mark.parametrize("role", ["outer", "bore"])
def test_a_side_read_on_one_part_only_is_refused(role: str) -> None:
    both: dict[str, Decimal | None] = {"left": Decimal(3), "right": Decimal(3)}
    inputs = {"outer": dict(both), "bore": dict(both)}
    del inputs[role]["right"]
    with pytest.raises(MissingInput, match=rf"^{FIT_CODES[role]} position right"):
        compute("interference_of_means", inputs, codes=FIT_CODES)


def test_positions_of_a_computation_by_position_must_agree() -> None:
    inputs: dict[str, dict[str, Decimal | None]] = {
        "volts": {"left 1": Decimal(25), "left 2": Decimal(25)},
        "amps": {"left 1": Decimal(210)},
        "travel_speed": {"left 1": Decimal(11), "left 2": Decimal(11)},
    }
    with pytest.raises(MissingInput, match=r"^80\.4 position left 2"):
        compute("arc_energy", inputs, codes={"volts": "80.3", "amps": "80.4", "travel_speed": "80.5"})


def test_a_reading_without_position_holds_for_every_position() -> None:
    lengths: dict[str, Decimal | None] = {"": Decimal(11)}
    results = compute("travel_speed", {"length": lengths, "arc_time": column("60", "66")})
    assert {position: result.value for position, result in results.items()} == {"1": 11, "2": 10}


@pytest.mark.parametrize("name", ["out_of_round", "variation"])
def test_a_spread_needs_two_readings_on_each_side(name: str) -> None:
    readings: dict[str, Decimal | None] = {"left A": Decimal(3), "right A": Decimal(3), "right B": Decimal(3)}
    with pytest.raises(MissingInput, match=r"^50\.3 position left 2"):
        compute(name, {"readings": readings}, codes={"readings": "50.3"})


@pytest.mark.parametrize("name", ["travel_speed", "arc_energy"])
def test_nothing_is_divided_by_zero(name: str) -> None:
    columns = [single("1")] * (len(COMPUTATIONS[name].inputs) - 1) + [single("0")]
    with pytest.raises(ValueError, match=r"must be more than zero"):
        one(name, *columns)


@pytest.mark.parametrize(
    ("name", "inputs", "constants", "says"),
    [
        ("sum_of", ["readings"], [], "no computation “sum_of”. There are: arc_energy"),
        ("interference_of_means", ["outer"], [], "needs the input “bore”. It takes: outer, bore"),
        ("interference_of_means", ["outer", "bore", "ring"], [], "has no input “ring”"),
        ("arc_energy", ["volts", "amps", "travel_speed"], ["density"], "has no constant “density”"),
    ],
)
def test_a_card_that_names_a_computation_wrongly_is_refused(
    name: str, inputs: list[str], constants: list[str], says: str
) -> None:
    with pytest.raises(ValueError, match=re.escape(says)):
        check_card(name, inputs, constants)


@pytest.mark.parametrize("name", sorted(COMPUTATIONS))
def test_a_card_with_every_input_and_constant_is_taken(name: str) -> None:
    entry = COMPUTATIONS[name]
    check_card(name, entry.inputs, entry.constants)
    check_card(name, [role for role in entry.inputs if role not in entry.optional_inputs])


def test_a_variation_without_sides_takes_all_points_together() -> None:
    # eight backlash points of one gear; .0104 - .0070 (calculated)
    points = column(".0072", ".0081", ".0096", ".0104", ".0101", ".0089", ".0078", ".0070")
    assert one("variation", points).value == Fraction("0.0034")


@pytest.mark.parametrize(
    ("position", "side"),
    [
        ("left 7", "left"),
        ("right", "right"),
        ("left 7 a", "left"),
        ("right 2 b", "right"),
        ("A", ""),
        ("", ""),
        ("leftover", ""),
        ("7 left", ""),
    ],
)
def test_the_side_is_the_first_word(position: str, side: str) -> None:
    assert side_of(position) == side
