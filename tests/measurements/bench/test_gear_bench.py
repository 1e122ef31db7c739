"""The advices of the gear bench and of bolts against worked cases; the source stands beside each."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

import pytest

from measurements.bench.advice import advise
from measurements.bench.answer import Answer, Tone
from measurements.bench.given import Given, Value
from measurements.engineering.limits import Limits

Read = Mapping[str, Mapping[str, Value]]
BACKLASH = Limits(Decimal(".0060"), Decimal(".0100"))
ROUND = {"points": Decimal(8), "read_to": Decimal(".0005"), "factor": Decimal(".70")}
SHIMS = {"step": Decimal(".001"), "read_to": Decimal(".0005"), "ring_on_left": Decimal(1)}
DRAWER = {f"size_{n}": Decimal(text) for n, text in enumerate((".003", ".005", ".010", ".030"), start=1)}
RUNS_OUT = ".0072 .0081 .0096 .0104 .0101 .0089 .0078 .0070"


def numbered(text: str) -> dict[str, Value]:
    return {str(number): Decimal(one) for number, one in enumerate(text.split(), start=1)}


def line(answer: Answer, name: str) -> str:
    return next(one.value for one in answer.lines if one.name == name)


def round_of(points: str, **more: str) -> Answer:
    readings: dict[str, Mapping[str, Value]] = {"points": numbered(points)}
    readings |= {role: {"": Decimal(text)} for role, text in more.items()}
    limits = {"points": BACKLASH, "variation": Limits(None, Decimal(".0020"))}
    return advise("backlash_round", Given(readings, limits, ROUND), {})


def test_a_wave_once_per_turn_is_runout_and_no_tooth() -> None:
    """Calculated: spread .0034, one-lobe residual .00014 at the most; .0034 / .7 = .0049 of back-face runout."""
    told = round_of(RUNS_OUT, bench_runout=".0020")
    assert told.tone is Tone.STOP
    assert "once per turn" in told.says
    assert (line(told, "spread"), line(told, "largest departure from the fit")) == ("0.0034 in", "0.00014 in")
    assert "0.0049 in" in told.reason[0]
    assert "dial the back face in the housing" in told.reason[1]
    assert told.reason[-1] == "Outside the limits of a point: 4, 5."


@pytest.mark.parametrize(
    ("runout", "points_at"),
    [
        ({"bench_runout": ".0020", "housing_runout": ".0045"}, "The gear ran true on the bench"),
        ({"bench_runout": ".0045"}, "The bench already showed it"),
        ({}, "The back-face runout of the bench is not known."),
    ],
)
def test_the_back_face_tells_where_the_runout_is(runout: dict[str, str], points_at: str) -> None:
    assert any(points_at in text for text in round_of(RUNS_OUT, **runout).reason)


def test_after_the_new_seat_the_round_is_even() -> None:
    told = round_of(".0079 .0082 .0086 .0087 .0085 .0083 .0080 .0079")
    assert (told.tone, line(told, "spread")) == (Tone.GO, "0.0008 in")


def test_one_point_that_stands_out_is_a_tooth() -> None:
    told = round_of(".0080 .0080 .0081 .0080 .0105 .0080 .0079 .0080")
    assert told.says.startswith("Point 5 stands out")


def test_an_even_round_outside_its_limits_is_no_go() -> None:
    told = round_of(" ".join([".0110"] * 8))
    assert told.tone is Tone.STOP
    assert told.reason[-1] == "Outside the limits of a point: 1, 2, 3, 4, 5, 6, 7, 8."


def test_the_picture_shows_four_places_however_many_are_stored() -> None:
    """The database keeps nine places of every figure."""
    told = round_of(".007900000 .008200000 .0086 .0087 .0085 .0083 .0080 .0079")
    assert told.picture is not None
    assert told.picture.data["points"][:3] == ["0.0079", "0.0082", "0.0086"]


def test_a_round_with_points_missing_names_them() -> None:
    told = round_of(".0080 .0080 .0081")
    assert (told.tone, told.reason) == (Tone.UNKNOWN, ("Not read yet: 4, 5, 6, 7, 8.",))


def trial(backlash: str, left: str = "", right: str = "", head: str = ".035") -> dict[str, Mapping[str, Value]]:
    found: dict[str, Mapping[str, Value]] = {"backlash": numbered(backlash), "head": {"": Decimal(head)}}
    return found | ({"packs": {"left": Decimal(left), "right": Decimal(right)}} if left else {})


def shims(*tries: Read, figures: Mapping[str, Decimal] = SHIMS) -> Answer:
    return advise("shim_advice", Given(tries[-1], {"backlash": BACKLASH}, figures, tries=tries), {})


def test_too_much_backlash_moves_the_ring_gear_toward_the_pinion() -> None:
    """Calculated: have .0125, want .0080, factor .65: .007 toward the pinion, .0069 to .0090 to expect."""
    told = shims(trial(".0125 .0125", ".250", ".240"))
    assert told.tone is Tone.DO
    assert "toward the pinion: expect 0.0069 to 0.0090 in" in told.says
    assert (line(told, "left pack"), line(told, "right pack")) == ("0.250 -> 0.257 in", "0.240 -> 0.233 in")


def test_too_little_backlash_moves_it_away() -> None:
    """Calculated: have .0045: .005 away, .0070 to .0085 to expect. The ring gear on the other side turns the packs."""
    told = shims(trial(".0045 .0045", ".250", ".240"), figures=SHIMS | {"ring_on_left": Decimal(0)})
    assert "away from the pinion: expect 0.0070 to 0.0085 in" in told.says
    assert (line(told, "left pack"), line(told, "right pack")) == ("0.250 -> 0.255 in", "0.240 -> 0.235 in")


def test_after_the_first_move_the_axle_s_own_factor_counts() -> None:
    """.010 more on the ring side took .0050: factor .50; from .0120 to .0080 asks .008. A pinion moved forgets it."""
    first, second = trial(".0170 .0170", ".240", ".250"), trial(".0120 .0120", ".250", ".240")
    learnt = shims(first, second)
    assert line(learnt, "from one side to the other") == "0.008 in"
    assert "this axle's own 2 tries" in learnt.assumed[0]
    moved = shims(first | {"head": {"": Decimal(".039")}}, second)
    assert line(moved, "from one side to the other") == "0.006 in"
    assert "start value" in moved.assumed[0]


def test_the_pack_comes_from_the_drawer() -> None:
    told = shims(trial(".0125 .0125", ".036", ".040"), figures=SHIMS | DRAWER)
    notes = {one.name: one.note for one in told.lines}
    assert notes["left pack"] == "from the drawer 0.030 + 0.010 + 0.003"
    assert notes["right pack"] == "from the drawer 0.030 + 0.003"


def test_backlash_in_its_limits_moves_nothing_and_without_packs_none_are_told() -> None:
    assert shims(trial(".0060 .0100", ".250", ".240")).tone is Tone.GO
    assert line(shims(trial(".0125 .0125")), "packs") == "not read yet"
    assert shims(trial(".0050 .0110", ".250", ".240")).tone is Tone.STOP  # no shim mends a spread
    assert advise("shim_advice", Given(figures=SHIMS), {"backlash": "260.1"}).tone is Tone.UNKNOWN


def pattern(cut: str, drive: str, coast: str, *, under_cup: bool, head: str = "") -> Answer:
    readings: dict[str, Mapping[str, Value]] = {"cut": {"": cut}, "mark": {"drive": drive, "coast": coast}}
    readings |= {"head": {"": Decimal(head)}} if head else {}
    figures = {"thicker_is_in": Decimal(int(under_cup)), "depth_step": Decimal(".004")}
    return advise("tooth_pattern", Given(readings, figures=figures), {})


@pytest.mark.parametrize(
    ("cut", "drive", "coast", "under_cup", "says", "shim"),
    [
        ("face-hobbed", "high toe", "high heel", True, "Pinion in", "0.035 -> 0.039 in"),
        ("face-milled", "high heel", "high toe", False, "Pinion in", "0.035 -> 0.031 in"),
        ("face-hobbed", "low heel", "low toe", True, "Pinion out", "0.035 -> 0.031 in"),
        ("face-milled", "low toe", "low heel", False, "Pinion out", "0.035 -> 0.039 in"),
    ],
)
def test_the_shim_is_of_this_cut_and_of_this_seat(
    cut: str, drive: str, coast: str, under_cup: bool, says: str, shim: str
) -> None:
    """Charts after TM 9-2320-266-34 (milled) and a gear maker's public summary (hobbed); seats by geometry."""
    told = pattern(cut, drive, coast, under_cup=under_cup, head=".035")
    assert told.says.startswith(says)
    assert line(told, "head shim pack") == shim


def test_the_same_marks_mean_the_ring_gear_on_the_other_cut() -> None:
    told = pattern("face-hobbed", "high heel", "high toe", under_cup=True)
    assert told.says.startswith("Ring gear in")
    assert "head shim" not in [one.name for one in told.lines]


@pytest.mark.parametrize(
    ("cut", "drive", "coast", "tone"),
    [
        ("face-hobbed", "centre slanted", "centre slanted", Tone.GO),
        ("face-milled", "centre", "centre", Tone.GO),
        ("face-milled", "high heel", "low toe", Tone.STOP),
        ("face-milled", "edge line or double mark", "centre", Tone.STOP),
        ("face-milled", "toe", "toe", Tone.DO),
        ("face-milled", "", "centre", Tone.UNKNOWN),
        ("", "centre", "centre", Tone.UNKNOWN),
    ],
)
def test_a_pattern_asks_for_what_it_shows(cut: str, drive: str, coast: str, tone: Tone) -> None:
    """High with low is cross bearing, no shim matter: TM 10-3930-643-34 p. 16-30."""
    assert pattern(cut, drive, coast, under_cup=True).tone is tone


def after(*tries: tuple[str, str, str, str], under_cup: bool = True, head: str = ".035") -> Answer:
    """Face-hobbed: the marks at drive and coast of each try, and what was then done; the last one is in hand."""
    told: list[Read] = [
        {
            "cut": {"": "face-hobbed"},
            "mark": {"drive": drive, "coast": coast},
            "head": {"": Decimal(head)},
            **({"action": {"": action}, "amount": {"": Decimal(amount)}} if action else {}),
        }
        for drive, coast, action, amount in tries
    ]
    figures = {"thicker_is_in": Decimal(int(under_cup)), "depth_step": Decimal(".004")}
    return advise("tooth_pattern", Given(told[-1], figures=figures, tries=told), {})


HIGH, LOW = ("high toe", "high heel"), ("low heel", "low toe")


def test_the_second_step_of_depth_goes_on_from_where_the_first_led() -> None:
    """.035 and .004 in is .039 (S24 steps .004); still too far out asks .043, too deep lies between: .037."""
    still = after((*HIGH, "pinion in", ".004"), (*HIGH, "", ""))
    assert line(still, "head shim pack") == "0.039 -> 0.043 in"
    assert "moved in by 0.004 in since the head shim pack was read" in still.assumed[-1]
    deep = after((*HIGH, "pinion in", ".004"), (*LOW, "", ""))
    assert (line(deep, "head shim"), line(deep, "head shim pack")) == ("take out 0.002 in", "0.039 -> 0.037 in")
    cage = after((*HIGH, "pinion in", ".004"), (*LOW, "", ""), under_cup=False)
    assert (line(cage, "head shim"), line(cage, "head shim pack")) == ("add 0.002 in", "0.031 -> 0.033 in")


def test_where_no_shim_lies_between_none_is_told() -> None:
    told = after((*HIGH, "pinion in", ".001"), (*LOW, "", ""))
    assert line(told, "head shim") == "no step"
    assert "ask the lead builder" in next(one.note for one in told.lines if one.name == "head shim")


def test_what_was_not_done_and_what_says_nothing_of_depth_is_no_step() -> None:
    """Chosen in the try in hand, it is not done yet; an edge line, or "ring in", moves no pinion."""
    assert line(after((*HIGH, "pinion in", ".004")), "head shim pack") == "0.035 -> 0.039 in"
    edge = ("edge line or double mark", "centre", "none", "0")
    assert line(after(edge, ("heel", "toe", "ring in", ".004"), (*HIGH, "", "")), "head shim pack") == (
        "0.035 -> 0.039 in"
    )


def test_tries_that_contradict_one_another_are_not_added_up() -> None:
    told = after((*LOW, "pinion in", ".004"), (*HIGH, "", ""))
    assert told.tone is Tone.UNKNOWN
    assert "contradict" in told.reason[0]


def preload(*tries: tuple[str, str], low: str = "20", high: str = "30") -> Answer:
    told: list[Read] = [{"torque": {"": Decimal(torque)}, "pack": {"": Decimal(pack)}} for pack, torque in tries]
    figures = {"step": Decimal(".001"), "read_to": Decimal(1), "thicker_is_less": Decimal(1)}
    limits = {"torque": Limits(Decimal(low), Decimal(high))}
    return advise("preload_step", Given(told[-1], limits, figures, tries=told), {})


def test_the_first_step_of_preload_is_one_shim_and_the_next_is_learnt() -> None:
    """Arithmetic: 34 in-lb asks less preload, a thicker shim; .001 took 3, so 31 to 25 is two more."""
    assert line(preload((".020", "34")), "preload shim pack") == "0.020 -> 0.021 in"
    assert line(preload((".020", "34"), (".021", "31")), "preload shim pack") == "0.021 -> 0.023 in"
    assert line(preload((".020", "15")), "preload shim pack") == "0.020 -> 0.019 in"
    assert preload((".023", "26")).tone is Tone.GO


def bolts(count: int, read: int = 0, lubricant: str = "", **figures: str) -> Answer:
    found: dict[str, Mapping[str, Value]] = {"torque": {str(n): Decimal(105) for n in range(1, read + 1)}}
    found |= {"lubricant": {"": lubricant}} if lubricant else {}
    fixed = {"count": Decimal(count)} | {name: Decimal(text) for name, text in figures.items()}
    return advise("bolt_circle", Given(found, {"torque": Limits(Decimal(100), Decimal(110))}, fixed), {})


def test_the_wrench_is_set_to_a_corrected_value() -> None:
    """TM 9-254: 105 · 18 / (18 + 3) = 90 ft-lb straight on; square to it the extension changes nothing."""
    assert bolts(12, wrench="18", extension="3").says.startswith("Set 90 ft-lb.")
    assert bolts(12, wrench="18", extension="3", angle="90").says.startswith("Set 105 ft-lb.")
    assert line(bolts(12), "torque") == "105 ft-lb"


def test_every_bolt_is_in_the_order_once_and_one_without_a_figure_is_named() -> None:
    told = bolts(12, read=11)
    assert told.picture is not None
    assert sorted(told.picture.data["order"]) == list(range(1, 13))
    assert told.reason[-1] == "No figure yet: 12."
    assert bolts(12, read=12).tone is Tone.KNOW


def test_a_cap_of_two_bolts_is_told_and_not_drawn() -> None:
    assert bolts(2).says == "Set 105 ft-lb. Tighten in this order: 1 2."
    assert bolts(2).picture is None
    assert bolts(4).picture is not None


def test_every_pass_is_told_as_the_wrench_is_set_for_it() -> None:
    """30, 70, 100 % of 105 ft-lb (from memory), with 18 / (18 + 3) of it on the wrench (TM 9-254)."""
    passes = [(one.value, one.note) for one in bolts(12, wrench="18", extension="3").lines if "pass" in one.name]
    assert passes == [("27 ft-lb", ""), ("63 ft-lb", ""), ("90 ft-lb", ""), ("90 ft-lb", "enter each figure")]
    ticked = [one.note for one in bolts(12, ticked="3").lines if "pass" in one.name]
    assert ticked == [*["tick each bolt"] * 3, "enter each figure"]
    assert "1.167 times what the wrench shows" in " ".join(bolts(12, wrench="18", extension="3").reason)
    assert "times what the wrench shows" not in " ".join(bolts(12).reason)


@pytest.mark.parametrize(
    ("lubricant", "span", "tone"),
    [
        ("anti-seize", "74 to 93 ft-lb", Tone.STOP),
        ("oil", "93 to 111 ft-lb", Tone.STOP),
        ("dry", "124 to 185 ft-lb", Tone.STOP),
    ],
)
def test_another_lubricant_is_told_as_a_range_and_moves_no_limit(lubricant: str, span: str, tone: Tone) -> None:
    """Calculated, T K2 / K1 from 105 ft-lb at K 0.17: 0.12 to 0.15 (Shigley table 8-15, and from memory), 0.15 to 0.18,
    0.20 to 0.30."""
    told = bolts(12, lubricant=lubricant, nut_factor=".17")
    assert (line(told, f"with {lubricant}"), told.tone) == (span, tone)
    assert told.says.startswith(f"With {lubricant} the same clamp takes {span}")
    assert told.reason[0].startswith("The limits of the card stay")
    assert line(told, "torque") == "105 ft-lb"


def test_the_lubricant_of_the_card_changes_nothing_and_an_unknown_one_is_not_told() -> None:
    assert bolts(12, lubricant="as the card says", nut_factor=".17") == bolts(12, nut_factor=".17")
    assert bolts(12, lubricant="tallow", nut_factor=".17").tone is Tone.UNKNOWN
    assert bolts(12, lubricant="oil").tone is Tone.UNKNOWN  # the card does not say what its torque is for


def test_a_lubricant_near_the_card_s_own_lets_the_torque_stand() -> None:
    """Calculated: 105 · 0.15 / 0.15 = 105 and 105 · 0.18 / 0.15 = 126, inside wide limits of 80 to 130."""
    found: dict[str, Mapping[str, Value]] = {"lubricant": {"": "oil"}}
    wide = {"torque": Limits(Decimal(80), Decimal(130))}
    told = advise("bolt_circle", Given(found, wide, {"count": Decimal(4), "nut_factor": Decimal(".15")}), {})
    assert (told.tone, line(told, "with oil")) == (Tone.GO, "105 to 126 ft-lb")


TEETH = {"ring_teeth": "43", "pinion_teeth": "10"}


def carrier(total: str, pinion: str, rise: str = "", teeth: Mapping[str, str] = TEETH) -> Answer:
    found: dict[str, Mapping[str, Value]] = {"total": {"": Decimal(total)}, "pinion": {"": Decimal(pinion)}}
    found |= {"rise": {"": Decimal(rise)}} if rise else {}
    limits = {"rise": Limits(Decimal(4), Decimal(12))}
    return advise("carrier_share", Given(found, limits, facts=teeth), {})


def test_the_carrier_s_share_is_the_rise_times_the_ratio() -> None:
    """2.5 + 3.0 / 4.1 = 3.2317 at the pinion (calculated; TM 10-3930-660-34 family): a rise of .73 times 4.1 is 3.0."""
    told = carrier("3.2317", "2.5", teeth={"ring_teeth": "41", "pinion_teeth": "10"})
    assert line(told, "carrier bearings alone") == "3.0 in-lb"
    told = carrier("33", "25", "8")
    assert (told.tone, line(told, "rise at the pinion"), line(told, "carrier bearings alone")) == (
        Tone.GO,
        "8 in-lb",
        "34.4 in-lb",
    )


@pytest.mark.parametrize(
    ("total", "pinion", "rise", "tone", "said"),
    [
        ("28", "25", "3", Tone.DO, "more side preload, both packs thicker"),
        ("38", "25", "13", Tone.DO, "less side preload, both packs thinner"),
        ("29", "25", "4", Tone.GO, "adds 4 in-lb"),
        ("37", "25", "12", Tone.GO, "adds 12 in-lb"),
        ("33", "25", "9", Tone.STOP, "33 less 25 is 8 in-lb and 9 is entered"),
    ],
)
def test_the_rise_is_held_against_its_limits_and_against_what_was_entered(
    total: str, pinion: str, rise: str, tone: Tone, said: str
) -> None:
    told = carrier(total, pinion, rise)
    assert told.tone is tone
    assert said in told.says


def test_a_total_under_the_pinion_s_own_or_a_ratio_not_known_is_not_told() -> None:
    assert "read both again, turning" in carrier("24", "25").reason[0]
    assert carrier("33", "25", teeth={}).tone is Tone.UNKNOWN
    assert advise("carrier_share", Given(facts=TEETH), {"total": "300.b"}).reason[0] == "300.b is not read yet."
