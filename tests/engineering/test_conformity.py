"""Guard bands and conformance probability: ISO 14253-1 (as quoted publicly), JCGM 106."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.conformity import (
    Decision,
    GuardRule,
    Proof,
    conformance_probability,
    decide,
    decide_with_band,
    standard_uncertainty,
)
from measurements.engineering.limits import Limits, Verdict, judge
from measurements.engineering.validity import OutsideValidity

BORE = Limits(Decimal("88.80"), Decimal("88.83"))
values = st.decimals(Decimal("88.7"), Decimal("88.9"), places=4)


@pytest.mark.parametrize(
    ("value", "proof"),
    [
        # calculated, guard band w = U = 0.004
        ("88.8045", Proof.CONFORMS),
        ("88.815", Proof.CONFORMS),
        ("88.802", Proof.UNDECIDED),
        ("88.8265", Proof.UNDECIDED),
        ("88.828", Proof.UNDECIDED),
        ("88.8335", Proof.UNDECIDED),
        ("88.835", Proof.FAILS),
        # the edges belong to the near side
        ("88.804", Proof.CONFORMS),
        ("88.826", Proof.CONFORMS),
        ("88.834", Proof.UNDECIDED),
        ("88.796", Proof.UNDECIDED),
        ("88.7959", Proof.FAILS),
    ],
)
def test_decision_with_the_expanded_uncertainty_as_guard_band(value: str, proof: Proof) -> None:
    assert decide(Decimal(value), BORE, Decimal("0.002"), GuardRule.EXPANDED).proof is proof


def test_the_default_rule_is_the_narrower_one_and_is_kept_with_the_decision() -> None:
    # 1.645 u = .83 U (ISO 14253-1:2017); 88.8035 lies between the two guard bands
    narrow = decide(Decimal("88.8035"), BORE, Decimal("0.002"))
    assert narrow == Decision(Proof.CONFORMS, Fraction("0.00329"), GuardRule.PROBABILITY)
    assert decide(Decimal("88.8035"), BORE, Decimal("0.002"), GuardRule.EXPANDED).proof is Proof.UNDECIDED
    assert float(GuardRule.PROBABILITY.value / GuardRule.EXPANDED.value) == pytest.approx(0.83, abs=0.01)


@given(values)
def test_without_guard_band_the_decision_is_the_plain_verdict(value: Decimal) -> None:
    proof = decide(value, BORE, Decimal("0.002"), GuardRule.NONE).proof
    assert (proof is Proof.CONFORMS) == (judge(value, BORE) is Verdict.IN)
    assert proof is not Proof.UNDECIDED
    assert decide(value, BORE, Decimal("0.002"), GuardRule.NONE).guard_band == 0


@given(values, st.decimals(0, Decimal("0.05"), places=4), st.decimals(0, Decimal("0.05"), places=4))
def test_a_wider_band_never_turns_undecided_into_proof(value: Decimal, band: Decimal, more: Decimal) -> None:
    before = decide_with_band(value, BORE, band).proof
    after = decide_with_band(value, BORE, band + more).proof
    assert after in (before, Proof.UNDECIDED)


def test_a_band_wider_than_half_the_tolerance_leaves_nothing_proven_inside() -> None:
    assert decide_with_band(Decimal("88.815"), BORE, Decimal("0.016")).proof is Proof.UNDECIDED


def test_one_sided_and_absent_limits() -> None:
    assert (
        decide_with_band(Decimal("0.0035"), Limits(None, Decimal("0.004")), Decimal("0.001")).proof is Proof.UNDECIDED
    )
    assert decide_with_band(Decimal(50), Limits(Decimal(48)), Decimal(1)).proof is Proof.CONFORMS
    assert decide_with_band(Decimal(50), Limits(), Decimal(1)).proof is Proof.CONFORMS


def test_standard_uncertainty_from_expanded() -> None:
    assert standard_uncertainty(Decimal("0.004")) == Fraction("0.002")
    assert standard_uncertainty(Decimal("0.00392"), Decimal("1.96")) == Fraction("0.002")


def test_uncertainties_below_zero_are_refused() -> None:
    with pytest.raises(OutsideValidity, match=r"standard uncertainty must not be below zero; -0.002 is"):
        decide(Decimal(1), BORE, Decimal("-0.002"))
    with pytest.raises(OutsideValidity, match=r"guard band must not be below zero"):
        decide_with_band(Decimal(1), BORE, Decimal("-0.002"))
    with pytest.raises(OutsideValidity, match=r"coverage factor must be more than zero"):
        standard_uncertainty(Decimal(1), Decimal(0))


@pytest.mark.parametrize(
    ("distance_in_u", "risk"),
    # 1 - Φ(w/u), calculated: accepted at the guard band w = U with k 1.96 and 2, 1.645 u, 3 u
    [("1.96", 0.0250), ("2", 0.02275), ("1.645", 0.0500), ("3", 0.00135)],
)
def test_risk_at_the_edge_of_the_guard_band(distance_in_u: str, risk: float) -> None:
    u = Decimal("0.001")
    value = Decimal("0.004") - Decimal(distance_in_u) * u
    probability = conformance_probability(value, Limits(None, Decimal("0.004")), u)
    assert 1 - probability == pytest.approx(risk, rel=2e-3)


def test_probability_on_a_limit_is_one_half_and_far_outside_nothing() -> None:
    assert conformance_probability(Decimal("88.80"), BORE, Decimal("0.0001")) == pytest.approx(0.5)
    assert conformance_probability(Decimal("88.90"), BORE, Decimal("0.002")) == pytest.approx(0, abs=1e-12)
    # two-sided: both tails count; T/u = 3, value in the middle: 2Φ(1.5) - 1 (calculated)
    middle = conformance_probability(Decimal("88.815"), BORE, Decimal("0.010"))
    assert middle == pytest.approx(math.erf(1.5 / math.sqrt(2)))


def test_probability_needs_a_limit_and_an_uncertainty() -> None:
    with pytest.raises(OutsideValidity, match=r"nothing to conform to"):
        conformance_probability(Decimal(1), Limits(), Decimal(1))
    with pytest.raises(OutsideValidity, match=r"standard uncertainty must be more than zero"):
        conformance_probability(Decimal(1), BORE, Decimal(0))
