"""Bolts: ISO 898-1 proof loads, SAE J429, Shigley chapter 8, the published VDI 2230 table."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.bolts import (
    HEADS,
    NUT_FACTORS,
    PERMANENT_SHARE,
    Assembly,
    assembly_values,
    nut_factor,
    preload,
    preload_from_torque,
    proof_load,
    strength,
    torque,
    torque_ft_lb,
)
from measurements.engineering.threads import Thread, thread
from measurements.engineering.validity import OutsideValidity

LBF = 4.4482216152605
LBF_IN = 0.1129848290276
KSI = 6894757.293168
names = st.sampled_from(["M8", "M12×1.25", "3/8-24", "1/2-20", "3/4-16"])


@pytest.mark.parametrize(
    ("name", "loads"),
    [
        # ISO 898-1, N, classes 8.8 / 10.9 / 12.9
        ("M8", (21200, 30400, 35500)),
        ("M10", (33700, 48100, 56300)),
        ("M12", (48900, 70000, 81800)),
        ("M14", (66700, 95500, 112000)),
        ("M16", (91000, 130000, 152000)),
        ("M18", (115000, 159000, 186000)),
        ("M20", (147000, 203000, 238000)),
    ],
)
def test_proof_loads(name: str, loads: tuple[float, ...]) -> None:
    found = [proof_load(thread(name), grade) for grade in ("8.8", "10.9", "12.9")]
    assert found == pytest.approx(loads, rel=0.005)


def test_class_8_8_changes_above_16_mm() -> None:
    # ISO 898-1: 580 MPa to M16, 600 above; a reference library has 600 everywhere, which is wrong
    assert strength(thread("M16"), "8.8").proof == 580e6
    assert strength(thread("M18"), "8.8").proof == 600e6


@pytest.mark.parametrize(
    ("name", "grade", "ksi"),
    [
        # SAE J429
        ("1/2-20", "5", (85, 92, 120)),
        ("1-8", "5", (85, 92, 120)),
        ("1 1/8-12", "5", (74, 81, 105)),
        ("1/2-20", "8", (120, 130, 150)),
        ("1 1/2-12", "8", (120, 130, 150)),
    ],
)
def test_sae_strength(name: str, grade: str, ksi: tuple[float, float, float]) -> None:
    found = strength(thread(name), grade)
    assert [figure / KSI for figure in (found.proof, found.yield_, found.tensile)] == pytest.approx(ksi)


@pytest.mark.parametrize(
    ("name", "grade", "says"),
    [
        ("M12", "8", "not a class kept here"),
        ("M12", "4.6", "not a class kept here"),
        ("1/2-20", "10.9", "not a grade kept here: 5 and 8"),
        ("M42×3", "8.8", "bolt diameter must be from 5 to 39 mm"),
        ("3/16-32", "8", "bolt diameter must be from 0.25 to 1.5 in"),
        ("1 5/8-12", "5", "bolt diameter must be from 0.25 to 1.5 in"),
    ],
)
def test_strengths_outside_the_tables_are_refused(name: str, grade: str, says: str) -> None:
    with pytest.raises(OutsideValidity, match=says):
        strength(thread(name), grade)


def test_preload_shares() -> None:
    # 7/16-20 grade 8: 10 683 lbf at 75 % of proof (calculated)
    bolt = thread("7/16-20")
    assert preload(bolt, "8") / LBF == pytest.approx(10683, rel=1e-3)
    assert preload(bolt, "8", PERMANENT_SHARE) == pytest.approx(1.2 * preload(bolt, "8"))
    with pytest.raises(OutsideValidity, match=r"share of the proof load"):
        preload(bolt, "8", 1.1)


def test_torque_of_the_worked_examples() -> None:
    # Shigley example 8-3: 3/4-16, 25 000 lbf, K .2 -> 3 750 lbf·in, 67.02 ksi
    bolt = thread("3/4-16")
    assert torque(bolt, 25000 * LBF, 0.2) / LBF_IN == pytest.approx(3750)
    assert 25000 * LBF / bolt.stress_area / KSI == pytest.approx(67.02, rel=1e-3)
    # 7/16-20 grade 8, K .2 -> 77.90 lbf·ft (calculated)
    assert torque_ft_lb(thread("7/16-20"), 10683, 0.2) == pytest.approx(77.90, rel=1e-3)


@pytest.mark.parametrize(
    ("factor", "inch_pounds"), [(0.30, 72.7), (0.25, 60.6), (0.20, 48.5), (0.15, 36.3), (0.10, 24.2)]
)
def test_torque_of_a_number_10_screw(factor: float, inch_pounds: float) -> None:
    # a federal handbook: d .190 in, 1 275 lbf
    screw = Thread("10-32", 0.190 * 0.0254, 0.0254 / 32, metric=False)
    assert torque(screw, 1275 * LBF, factor) / LBF_IN == pytest.approx(inch_pounds, abs=0.06)


@pytest.mark.parametrize(("factor", "newton_metres"), [(0.12, 75.6), (0.15, 94.5), (0.20, 126.0), (0.30, 189.0)])
def test_torque_of_m12(factor: float, newton_metres: float) -> None:
    # calculated: 10.9 at 75 % of the printed proof load, 52.5 kN
    assert torque(thread("M12"), 52500, factor) == pytest.approx(newton_metres)
    assert preload(thread("M12"), "10.9") == pytest.approx(52500, rel=0.002)


@pytest.mark.parametrize(("factor", "ft_lb"), [(0.15, 90), (0.17, 102), (0.20, 120)])
def test_torque_of_half_inch_grade_8(factor: float, ft_lb: float) -> None:
    # public SAE J429 torque tables, recomputed: 1/2-20 grade 8 at 75 % of proof
    bolt = thread("1/2-20")
    assert torque_ft_lb(bolt, preload(bolt, "8") / LBF, factor) == pytest.approx(ft_lb, abs=0.5)


def test_full_friction_form() -> None:
    # Shigley eq 8-26, 3/4-16, f = fc = .15: 3 551 lbf·in (book value from memory), K .1894 (calculated)
    factor = nut_factor(thread("3/4-16"), 0.15, 0.15)
    assert factor == pytest.approx(0.1894, abs=5e-5)
    assert torque(thread("3/4-16"), 25000 * LBF, factor) / LBF_IN == pytest.approx(3551.1, rel=1e-4)


@given(names, st.floats(0.02, 0.35), st.floats(0.02, 0.35), st.floats(0.001, 0.05))
def test_more_friction_needs_more_torque(name: str, thread_f: float, collar_f: float, more: float) -> None:
    bolt = thread(name)
    assert nut_factor(bolt, thread_f + more, collar_f) > nut_factor(bolt, thread_f, collar_f)
    assert nut_factor(bolt, thread_f, collar_f + more) > nut_factor(bolt, thread_f, collar_f)


@given(names, st.floats(100, 1e5), st.floats(0.05, 0.5))
def test_torque_and_preload_are_each_others_inverse(name: str, force: float, factor: float) -> None:
    bolt = thread(name)
    assert preload_from_torque(bolt, torque(bolt, force, factor), factor) == pytest.approx(force)


@pytest.mark.parametrize("factor", [0.04, 0.51])
def test_a_nut_factor_outside_experience_is_refused(factor: float) -> None:
    with pytest.raises(OutsideValidity, match=r"nut factor must be from 0.05 to 0.5"):
        torque(thread("M12"), 1000, factor)
    with pytest.raises(OutsideValidity, match=r"nut factor must be from"):
        preload_from_torque(thread("M12"), 100, factor)


def test_figures_below_zero_are_refused() -> None:
    with pytest.raises(OutsideValidity, match=r"preload must be more than zero"):
        torque(thread("M12"), 0, 0.2)
    with pytest.raises(OutsideValidity, match=r"torque must be more than zero"):
        preload_from_torque(thread("M12"), -1, 0.2)
    with pytest.raises(OutsideValidity, match=r"thread friction"):
        nut_factor(thread("M12"), 0.5, 0.15)
    with pytest.raises(OutsideValidity, match=r"friction under the head"):
        nut_factor(thread("M12"), 0.15, 0)


def test_handbook_nut_factors() -> None:
    # Shigley table 8-15
    assert NUT_FACTORS["zinc"] == 0.20
    assert sorted(NUT_FACTORS.values()) == [0.09, 0.12, 0.16, 0.18, 0.20, 0.30]


def vdi(name: str, grade: str, friction: float) -> Assembly:
    face, hole = HEADS[name[1:3]]
    return assembly_values(thread(name), grade, friction=friction, face=face, hole=hole)


@pytest.mark.parametrize(
    ("name", "kilonewtons", "newton_metres"),
    [
        # published table, μ .12, classes 8.8 / 10.9 / 12.9
        ("M10×1.25", (31.6, 46.4, 54.3), (51, 75, 87)),
        ("M12×1.25", (48.0, 70.5, 82.5), (90, 133, 155)),
        ("M16×1.5", (87.6, 128.7, 150.6), (218, 320, 374)),
    ],
)
def test_assembly_values(name: str, kilonewtons: tuple[float, ...], newton_metres: tuple[float, ...]) -> None:
    found = [vdi(name, grade, 0.12) for grade in ("8.8", "10.9", "12.9")]
    assert [values.preload / 1000 for values in found] == pytest.approx(kilonewtons, rel=0.01)
    assert [values.torque for values in found] == pytest.approx(newton_metres, rel=0.01)


def test_assembly_preload_of_m12_at_higher_friction() -> None:
    # published: 41.9 kN (M12 8.8, μ .14); the formula gives 41.98
    assert vdi("M12", "8.8", 0.14).preload / 1000 == pytest.approx(41.98, abs=0.005)


@given(st.floats(0.04, 0.35), st.floats(0.001, 0.05))
def test_friction_costs_preload(friction: float, more: float) -> None:
    assert vdi("M12", "10.9", friction + more).preload < vdi("M12", "10.9", friction).preload


@pytest.mark.parametrize(
    ("name", "change", "says"),
    [
        ("1/2-20", {}, "are for metric bolts"),
        ("M12", {"friction": 0.5}, "friction must be from"),
        ("M12", {"hole": 0.011}, "bearing face must be larger"),
        ("M12", {"face": 0.013}, "bearing face must be larger"),
        ("M12", {"use_of_yield": 1.1}, "use of the yield strength"),
    ],
)
def test_assembly_values_outside_their_range_are_refused(name: str, change: dict[str, float], says: str) -> None:
    figures = {"friction": 0.12, "face": 0.0166, "hole": 0.0135} | change
    with pytest.raises(OutsideValidity, match=says):
        assembly_values(thread(name), "8.8", **figures)
