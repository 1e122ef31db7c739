"""The same thing entered in inch units and in metric ones is the same thing, over the range and not at one figure.

The factors are typed here from NIST SP 811 (exact by definition, the pound-force and psi to its digits).
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from measurements.engineering.bearings.rotating_torque import Torque
from measurements.engineering.bolts import torque, torque_ft_lb
from measurements.engineering.coatings import spread_ft2_per_gallon, spread_m2_per_litre, wet_film
from measurements.engineering.fits import Elastic, Joint, contact_pressure, contact_pressure_psi, press_band
from measurements.engineering.geometry.lengths import at_20, at_20_fahrenheit
from measurements.engineering.geometry.sections import Tube
from measurements.engineering.geometry.shafts import twist, twist_inches
from measurements.engineering.geometry.splines import Spline, spline_stress
from measurements.engineering.leak import Gas, leak_rate
from measurements.engineering.threads import thread

INCH, LBF, PSI, FT_LB, IN_LB = 0.0254, 4.4482216152605, 6894.757293168, 1.3558179483314, 0.1129848290276
US_GALLON, FOOT = 3.785411784, 0.3048
closely = {"rel": 1e-9}


def sizes(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high)


@given(sizes(1, 6), sizes(1.1, 2), sizes(0, 0.9), sizes(0.0001, 0.004), sizes(0.05, 0.2), sizes(0.5, 4))
def test_press_joint(d: float, outside: float, bore: float, tight: float, friction: float, length: float) -> None:
    inch, metric = Elastic.psi(29e6, 0.29), Elastic(29e6 * PSI, 0.29)
    given_in = {"diameter": d, "hub_outside": d * outside, "shaft_bore": d * bore, "length": length}
    one = Joint.inches(**given_in, hub=inch, shaft=inch)
    other = Joint(**{name: value * INCH for name, value in given_in.items()}, hub=metric, shaft=metric)
    assert contact_pressure_psi(one, tight) * PSI == pytest.approx(contact_pressure(other, tight * INCH), **closely)
    bands = [press_band(joint, (tight * INCH, tight * INCH), (friction, friction)) for joint in (one, other)]
    assert bands[0].low_lbf * LBF == pytest.approx(bands[1].low, **closely)
    assert bands[0].high_lbf * LBF == pytest.approx(bands[1].high, **closely)


@given(st.sampled_from(["3/8-24", "7/16-20", "1/2-20", "5/8-18"]), sizes(500, 30_000), sizes(0.09, 0.3))
def test_bolt_torque(name: str, preload: float, factor: float) -> None:
    bolt = thread(name)
    assert torque_ft_lb(bolt, preload, factor) * FT_LB == pytest.approx(torque(bolt, preload * LBF, factor), **closely)


@given(sizes(0, 60))
def test_rotating_torque(inch_pounds: float) -> None:
    found = Torque.from_inch_pounds(inch_pounds)
    assert found.newton_metres == pytest.approx(inch_pounds * IN_LB, **closely)
    assert found.inch_pounds == pytest.approx(inch_pounds, **closely)


@given(sizes(-5, 20), sizes(30, 110), sizes(12, 15.5), sizes(0, 1))
def test_gas_and_its_leak(gauge: float, fahrenheit: float, atmosphere: float, lost: float) -> None:
    kelvin = (fahrenheit + 459.67) / 1.8
    inch = [Gas.gauge_psi(figure, fahrenheit, atmosphere) for figure in (gauge, gauge - lost)]
    metric = [Gas((figure + atmosphere) * PSI, kelvin) for figure in (gauge, gauge - lost)]
    for one, other in zip(inch, metric, strict=True):
        assert (one.pressure, one.kelvin) == pytest.approx((other.pressure, other.kelvin), **closely)
    rates = [leak_rate(*states, volume=0.012, seconds=300).m3_per_s for states in (inch, metric)]
    assert rates[0] == pytest.approx(rates[1], rel=1e-6, abs=1e-15)


@given(sizes(0.5, 6), sizes(0.05, 0.5), sizes(1, 200), sizes(1, 80), sizes(1e6, 30e6))
def test_shaft_in_torsion(outside: float, wall: float, load: float, length: float, modulus: float) -> None:
    shaft = Tube.from_inches(outside, outside * wall)
    one = twist_inches(shaft, load, length, modulus)
    other = twist(Tube(outside * 25.4, outside * wall * 25.4), load * IN_LB, length * 25.4, modulus * PSI / 1e6)
    assert (one.shear_mpa, one.twist_deg) == pytest.approx((other.shear_mpa, other.twist_deg), **closely)
    assert one.shear_psi * PSI == pytest.approx(other.shear_mpa * 1e6, **closely)


@given(st.integers(20, 40), sizes(1, 2), sizes(0.8, 0.99), sizes(0.5, 3), sizes(0.02, 0.06), sizes(100, 7000))
def test_spline(teeth: int, pitch: float, root: float, length: float, depth: float, load_nm: float) -> None:
    inches = (pitch, pitch * root, length, depth)
    one, other = Spline.from_inches(teeth, *inches), Spline(teeth, *(figure * 25.4 for figure in inches))
    stresses = [spline_stress(spline, load_nm) for spline in (one, other)]
    assert stresses[0].in_psi() == pytest.approx(stresses[1].in_psi(), **closely)
    assert stresses[0].in_psi()[0] * PSI == pytest.approx(stresses[1].root_mpa * 1e6, **closely)


@given(sizes(0.5, 12), sizes(0.3, 1), sizes(0, 0.3))
def test_paint(mils: float, solids: float, thinner: float) -> None:
    """231 in3 laid out: the area of one US gallon, and the same in litres and micrometres."""
    micrometres = mils * 25.4
    per_litre = spread_ft2_per_gallon(mils, solids) * FOOT**2 / US_GALLON
    assert per_litre == pytest.approx(spread_m2_per_litre(micrometres, solids), rel=1e-6)
    assert wet_film(mils, solids, thinner) * 25.4 == pytest.approx(wet_film(micrometres, solids, thinner), **closely)


@given(st.decimals("0.5", "40", places=4), st.decimals("40", "110", places=1), st.decimals("40", "110", places=1))
def test_length_at_20_degrees(inches: Decimal, part: Decimal, gauge: Decimal) -> None:
    """Exactly: a correction is a share of the length, whatever it is counted in."""
    one = at_20_fahrenheit(inches, part, gauge, Decimal("1.15e-5"), Decimal("2.31e-5"))
    celsius = [(Fraction(temperature) - 32) / Fraction("1.8") for temperature in (part, gauge)]
    other = at_20(inches * Decimal("25.4"), *celsius, Decimal("1.15e-5"), Decimal("2.31e-5"))
    assert one.length * Fraction("25.4") == other.length
