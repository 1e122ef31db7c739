"""Side shims: worked moves, the sum that is kept, and the factor learnt from tries."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from measurements.engineering.gears.backlash import DialSet, Flank, Teeth
from measurements.engineering.gears.shims import (
    START,
    RingMove,
    ShimFactor,
    ShimTry,
    SideShims,
    expected_range_after,
    factor_of_geometry,
    learnt_factor,
    product_factor,
    shim_move,
    side_shims,
)
from measurements.engineering.validity import OutsideValidity

STEP = Decimal(".001")
READ_TO = Decimal(".0002")
lengths = st.decimals("0.0001", "0.0400", places=4)
factors = st.builds(
    lambda likely, less, more: ShimFactor(
        Fraction(likely),
        Fraction(likely) * (1 - Fraction(less)),
        Fraction(likely) * (1 + Fraction(more)),
        "made",
    ),
    st.decimals("0.3", "1.3", places=3),
    st.decimals("0", "0.5", places=2),
    st.decimals("0", "0.5", places=2),
)


def exactly(likely: str) -> ShimFactor:
    return ShimFactor(Fraction(likely), Fraction(likely), Fraction(likely), "given")


# Calculated, with the start factor .65 and its range .5 to .8.
@pytest.mark.parametrize(
    ("have", "move", "amount", "low", "high"),
    [
        (".0125", RingMove.TOWARD, ".007", ".0069", ".0090"),
        (".0045", RingMove.AWAY, ".005", ".0070", ".0085"),
    ],
)
def test_worked_moves(have: str, move: RingMove, amount: str, low: str, high: str) -> None:
    found = shim_move(Decimal(have), Decimal(".0080"), START, STEP)
    assert (found.move, found.amount) == (move, Decimal(amount))
    assert (found.expected_low, found.expected_high) == (Decimal(low), Decimal(high))
    assert found.expected_low < found.expected < found.expected_high
    assert found.caution == ""


def test_metric_move_without_rounding() -> None:
    """Calculated: 0.30 to 0.18 mm at k .7072 is 0.1697 mm toward the pinion."""
    found = shim_move(Decimal(".30"), Decimal(".18"), exactly("0.7072"))
    assert found.move is RingMove.TOWARD
    assert float(found.amount) == pytest.approx(0.1697, abs=5e-5)
    assert found.expected == Decimal(".18")


@pytest.mark.parametrize(("likely", "shim", "backlash"), [("2/3", ".003", ".002"), ("0.5", ".002", ".001")])
def test_rules_of_public_truck_manuals(likely: str, shim: str, backlash: str) -> None:
    found = shim_move(Decimal(".010"), Decimal(".010") - Decimal(backlash), exactly(likely), STEP)
    assert found.amount == Decimal(shim)


def test_toward_makes_the_ring_side_thicker_and_the_other_thinner() -> None:
    """TM 9-2320-289-34: more shim on the ring side is less backlash."""
    toward = shim_move(Decimal(".0125"), Decimal(".0080"), START, STEP)
    away = shim_move(Decimal(".0045"), Decimal(".0080"), START, STEP)
    assert (toward.ring_side_change, toward.other_side_change) == (Decimal(".007"), Decimal("-.007"))
    assert (away.ring_side_change, away.other_side_change) == (Decimal("-.005"), Decimal(".005"))


def test_nothing_to_move_and_less_than_half_a_step() -> None:
    for have in (".0080", ".0083"):
        found = shim_move(Decimal(have), Decimal(".0080"), START, STEP)
        assert (found.move, found.amount) == (RingMove.NONE, 0)
        assert found.expected == found.expected_low == found.expected_high == Decimal(have)


def test_warns_before_the_gears_bind() -> None:
    wide = ShimFactor(Fraction("0.5"), Fraction("0.4"), Fraction("1.3"), "made")
    assert "bind" in shim_move(Decimal(".013"), Decimal(".005"), wide, STEP).caution
    assert shim_move(Decimal(".013"), Decimal(".005"), exactly("0.5"), STEP).caution == ""


def test_a_move_that_ends_at_zero_backlash_warns() -> None:
    edge = ShimFactor(Fraction("0.5"), Fraction("0.5"), Fraction("1"), "made")
    found = shim_move(Decimal(".010"), Decimal(".005"), edge, STEP)
    assert found.expected_low == 0
    assert "bind" in found.caution


@given(lengths, lengths, factors)
def test_what_one_side_gets_the_other_gives(have: Decimal, want: Decimal, factor: ShimFactor) -> None:
    found = shim_move(have, want, factor, STEP)
    assert found.ring_side_change + found.other_side_change == 0
    assert abs(found.ring_side_change) == found.amount
    assert found.expected_low <= found.expected <= found.expected_high
    assert abs(found.expected - Fraction(want)) <= Fraction(STEP) / 2 * factor.likely
    assert (found.move is RingMove.TOWARD) is (found.ring_side_change > 0)
    assert (found.move is RingMove.AWAY) is (found.ring_side_change < 0)


@given(lengths, lengths, lengths, factors)
def test_more_backlash_asks_for_more_shim(have: Decimal, more: Decimal, want: Decimal, factor: ShimFactor) -> None:
    near, far = shim_move(have, want, factor), shim_move(have + more, want, factor)
    assert far.ring_side_change > near.ring_side_change


@given(lengths, lengths, factors)
def test_inches_and_millimetres_move_alike(have: Decimal, want: Decimal, factor: ShimFactor) -> None:
    inch, metric = Decimal("25.4"), Fraction("25.4")
    one, other = shim_move(have, want, factor), shim_move(have * inch, want * inch, factor)
    assert (other.amount, other.expected_low) == (one.amount * metric, one.expected_low * metric)


@pytest.mark.parametrize(
    ("have", "want", "step", "words"),
    [
        ("-.001", ".008", ".001", "backlash read"),
        (".008", "0", ".001", "backlash wanted"),
        (".008", ".006", "0", "shim step"),
    ],
)
def test_moves_outside_validity(have: str, want: str, step: str, words: str) -> None:
    with pytest.raises(OutsideValidity, match=words):
        shim_move(Decimal(have), Decimal(want), START, Decimal(step))


def test_expected_range_of_what_was_really_done() -> None:
    assert expected_range_after(Decimal(".0125"), Decimal(".007"), START) == (
        Decimal(".0069"),
        Decimal(".0090"),
    )
    assert expected_range_after(Decimal(".0045"), Decimal("-.005"), START) == (
        Decimal(".0070"),
        Decimal(".0085"),
    )


def test_side_shims_from_zero_lash() -> None:
    """Calculated: L0 6.35, R0 6.60, backlash .18, preload .20, k .7072."""
    packs = side_shims(SideShims(Fraction("6.35"), Fraction("6.60")), Decimal(".18"), Decimal(".20"), Decimal(".7072"))
    assert float(packs.ring) == pytest.approx(6.1955, abs=5e-5)
    assert float(packs.other) == pytest.approx(6.9545, abs=5e-5)
    assert packs.total == Decimal("13.150")


@given(lengths, st.decimals("0", "0.3", places=3), st.decimals("0.3", "1.3", places=4))
def test_the_sum_does_not_know_the_backlash(lash: Decimal, preload: Decimal, factor: Decimal) -> None:
    zero = SideShims(Fraction(6), Fraction(7))
    packs = side_shims(zero, lash, preload, factor)
    assert packs.total == zero.total + Fraction(preload)
    assert packs.ring < zero.ring + Fraction(preload) / 2


@given(st.decimals("-0.1", "0.1", places=4))
def test_a_move_keeps_the_sum(toward: Decimal) -> None:
    packs = SideShims.from_inches(Decimal(".250"), Decimal(".260"))
    moved = packs.moved(toward)
    assert moved.total == packs.total
    assert moved.ring - packs.ring == Fraction(toward)
    assert moved.moved(-toward) == packs


def test_preload_is_shared_and_leaves_the_ring_where_it_is() -> None:
    """Public truck service pages: about .004 in more on each side."""
    packs = SideShims(Fraction("0.250"), Fraction("0.260")).preloaded(Decimal(".008"))
    assert (packs.ring, packs.other) == (Decimal(".254"), Decimal(".264"))


def test_packs_in_inches_come_back_exactly() -> None:
    packs = SideShims.from_inches(Decimal(".2505"), Decimal(".2613"))
    assert packs.ring == Fraction("0.2505") * Fraction("25.4")
    assert packs.in_inches() == (Decimal(".2505"), Decimal(".2613"))


def test_a_pack_cannot_be_less_than_nothing() -> None:
    packs = SideShims(Fraction("0.010"), Fraction("0.020"))
    assert packs.moved(Decimal(".020")).other == 0
    with pytest.raises(OutsideValidity, match="shim on the other side"):
        packs.moved(Decimal(".021"))
    with pytest.raises(OutsideValidity, match="shim on the ring side"):
        packs.moved(Decimal("-.011"))
    with pytest.raises(OutsideValidity, match="side preload"):
        packs.preloaded(Decimal("-.001"))


def test_side_shims_outside_validity() -> None:
    zero = SideShims(Fraction(6), Fraction(7))
    with pytest.raises(OutsideValidity, match=r"shim factor must be from 0\.3 to 1\.3"):
        side_shims(zero, Decimal(".18"), Decimal(".20"), Decimal("1.31"))
    with pytest.raises(OutsideValidity, match="backlash"):
        side_shims(zero, Decimal("-.01"), Decimal(".20"), Decimal(".7"))


def test_the_start_value_is_the_shops_proposal() -> None:
    """Proposal, no source: .65, to be taken as .5 to .8 until the axle's own is learnt."""
    assert (START.likely, START.low, START.high) == (Decimal(".65"), Decimal(".5"), Decimal(".8"))


def test_a_factor_of_geometry_has_six_decimals() -> None:
    """2 tan 20 sin atan(4.3) = 0.709034... (calculated)."""
    likely = factor_of_geometry(Teeth.of_ring(10, 43, 20, 20), DialSet.SQUARE_TO_TOOTH).likely
    assert likely == Decimal(f"{2 * math.tan(math.radians(20)) * math.sin(math.atan(4.3)):.6f}")


def test_factor_of_geometry_holds_its_formula() -> None:
    """Calculated: ratio 4.3, 20 degrees, square to the tooth .709."""
    factor = factor_of_geometry(Teeth.of_ring(10, 43, 20, 20), DialSet.SQUARE_TO_TOOTH)
    assert float(factor.likely) == pytest.approx(0.709, abs=5e-4)
    assert (factor.low, factor.high) == (factor.likely * Fraction("0.85"), factor.likely * Fraction("1.15"))
    assert "square to the tooth" in factor.origin


def test_factor_of_geometry_asks_which_flank_the_dial_stands_on() -> None:
    teeth = Teeth(76, 15, 30)
    drive = factor_of_geometry(teeth, DialSet.ALONG_NORMAL)
    coast = factor_of_geometry(teeth, DialSet.ALONG_NORMAL, Flank.COAST)
    assert drive.likely > coast.likely


@pytest.mark.parametrize(
    ("likely", "low", "high", "words"),
    [
        ("0.29", "0.2", "0.4", "shim factor must be from"),
        ("1.31", "1", "1.5", "shim factor must be from"),
        ("0.6", "0.61", "0.8", "hold the factor itself"),
        ("0.6", "0.5", "0.59", "hold the factor itself"),
        ("0.6", "0", "0.8", "above zero"),
    ],
)
def test_factors_outside_validity(likely: str, low: str, high: str, words: str) -> None:
    with pytest.raises(OutsideValidity, match=words):
        ShimFactor(Fraction(likely), Fraction(low), Fraction(high), "made")


def tries(*pairs: tuple[str, str]) -> list[ShimTry]:
    return [ShimTry(Decimal(shim), Decimal(lash)) for shim, lash in pairs]


def test_two_tries_teach_the_axles_own_factor() -> None:
    """Calculated: .007 of shim took .0049 of backlash: .7, give or take 2 * .0002 / .007."""
    found = learnt_factor(tries((".250", ".0125"), (".257", ".0076")), START, READ_TO)
    assert found.likely == Fraction("0.7")
    assert found.high - found.likely == found.likely - found.low == Fraction("0.0004") / Fraction("0.007")
    assert "own 2 tries" in found.origin


def test_learnt_factor_makes_the_next_move_better() -> None:
    own = learnt_factor(tries((".250", ".0125"), (".257", ".0069")), START, READ_TO)
    found = shim_move(Decimal(".0069"), Decimal(".0080"), own)
    assert found.expected == Decimal(".0080")
    assert found.expected_high - found.expected_low < Fraction("0.0003")


def test_no_move_yet_keeps_the_start() -> None:
    assert learnt_factor([], START, READ_TO) is START
    assert learnt_factor(tries((".250", ".0125")), START, READ_TO) is START
    assert learnt_factor(tries((".250", ".0125"), (".250", ".0123")), START, READ_TO) is START


def test_too_small_a_move_teaches_nothing() -> None:
    found = learnt_factor(tries((".250", ".0100"), (".252", ".0086")), START, READ_TO)
    assert (found.likely, found.low, found.high) == (START.likely, START.low, START.high)
    assert "too small" in found.origin
    assert "own" in learnt_factor(tries((".250", ".0100"), (".253", ".0079")), START, READ_TO).origin
    just_enough = learnt_factor(tries((".250", ".0100"), (".254", ".0072")), START, Decimal(".0003"))
    assert "own" in just_enough.origin
    assert just_enough.high - just_enough.low == START.high - START.low


@pytest.mark.parametrize(("lash", "taught"), [(".0070", True), (".0097", True), (".0071", True), (".0129", False)])
def test_only_slopes_a_gear_can_give_are_learnt(lash: str, taught: bool) -> None:
    """From .0100 with .010 of shim: slopes .3 and down, and one of the wrong sign."""
    found = learnt_factor(tries((".250", ".0100"), (".260", lash)), START, READ_TO)
    slope = (Decimal(".0100") - Decimal(lash)) / Decimal(".010")
    assert ("own" in found.origin) is (Decimal(".3") <= slope <= Decimal("1.3"))
    if not taught:
        assert "which no gear gives" in found.origin
        assert found.likely == START.likely


def test_steepest_slope_is_learnt_and_a_steeper_one_is_not() -> None:
    assert learnt_factor(tries((".250", ".0200"), (".260", ".0070")), START, READ_TO).likely == Fraction("1.3")
    found = learnt_factor(tries((".250", ".0200"), (".260", ".0069")), START, READ_TO)
    assert "1.31, which no gear gives" in found.origin


@given(
    st.decimals("0.3", "1.3", places=2),
    st.lists(st.integers(0, 40), min_size=2, max_size=6, unique=True),
)
def test_a_straight_line_is_learnt_exactly_from_any_tries(slope: Decimal, thousandths: list[int]) -> None:
    assume(max(thousandths) - min(thousandths) >= 10)
    made = [ShimTry(Decimal(t) / 1000, Decimal(".06") - slope * t / 1000) for t in thousandths]
    found = learnt_factor(made, START, READ_TO)
    assert found.likely == Fraction(slope)
    assert 0 < found.low <= found.likely <= found.high


def test_more_tries_narrow_the_range() -> None:
    line = [(".250", ".0125"), (".254", ".0097"), (".258", ".0069"), (".262", ".0041")]
    two, four = learnt_factor(tries(*line[:2]), START, READ_TO), learnt_factor(tries(*line), START, READ_TO)
    assert two.likely == four.likely == Fraction("0.7")
    assert four.high - four.low < two.high - two.low


def test_a_learnt_range_never_reaches_zero() -> None:
    unsure = ShimFactor(Fraction("0.65"), Fraction("0.2"), Fraction("1.1"), "made")
    found = learnt_factor(tries((".250", ".0100"), (".252", ".0094")), unsure, Decimal(".0003"))
    assert (found.likely, found.low, found.high) == (Fraction("0.3"), Fraction("0.15"), Fraction("0.6"))


def test_learning_needs_what_the_dial_repeats_to() -> None:
    with pytest.raises(OutsideValidity, match="repeats to"):
        learnt_factor(tries((".250", ".0125"), (".257", ".0076")), START, Decimal(0))


def test_product_factor_is_the_median_of_its_axles() -> None:
    found = product_factor([Decimal(".70"), Decimal(".62"), Decimal(".66"), Decimal(".90")])
    assert (found.likely, found.low, found.high) == (Fraction("0.68"), Fraction("0.62"), Fraction("0.90"))
    assert "4 axles" in found.origin
    assert product_factor([Decimal(".70"), Decimal(".62"), Decimal(".66")]).likely == Fraction("0.66")
    with pytest.raises(OutsideValidity, match="at least 3 axles"):
        product_factor([Decimal(".70"), Decimal(".62")])
