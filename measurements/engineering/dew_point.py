"""Dew point of the air, and whether the steel is warm and dry enough to paint.

Magnus formula: γ = ln(RH/100) + 17.62 T/(243.12 + T), Td = 243.12 γ/(17.62 - γ); T in °C.
Valid -45 to 60 °C of air. Error: within 0.05 K of two psychrometric libraries, so a chart may differ by 1 °F.
Constants: WMO guide to meteorological instruments (No. 8), from memory.
"""

import math
from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction

from measurements.engineering.validity import between, not_below_zero, require, scaled, shown

_MAGNUS_A, _MAGNUS_B = Decimal("17.62"), Decimal("243.12")
_WATER_TO_AIR = 0.621945  # mass of a mole of water over that of dry air
COLDEST_C, HOTTEST_C = -45, 60
STANDARD_HPA = Decimal("1013.25")
USUAL_MARGIN_K = 3.0  # ISO 8502-4, general practice
WETTEST_PERCENT = 85.0  # general practice


def dew_point_exact(air_c: Fraction, humidity_percent: Fraction) -> Fraction:
    """Dew point in °C, worked to 30 digits so that a judged margin does not depend on binary floats."""
    _check_air(air_c)
    between("relative humidity", humidity_percent, 0, 100, "%")
    require(humidity_percent > 0, "Air without any humidity has no dew point: read the instrument again.")
    with localcontext() as context:
        context.prec = 30
        air = _decimal(air_c)
        gamma = (_decimal(humidity_percent) / 100).ln() + _MAGNUS_A * air / (_MAGNUS_B + air)
        return Fraction(_MAGNUS_B * gamma / (_MAGNUS_A - gamma))


def dew_point_c(air_c: float, humidity_percent: float) -> float:
    """Dew point in °C."""
    return float(dew_point_exact(Fraction(air_c), Fraction(humidity_percent)))


def humidity_for_dew_point(air_c: float, dew_c: float) -> float:
    """Relative humidity in % at which air of this temperature has this dew point; 100 where they are equal.

    The Magnus formula turned round: ln(RH/100) = 17.62 Td/(243.12 + Td) - 17.62 T/(243.12 + T).
    """
    _check_air(air_c)
    between("dew point", dew_c, COLDEST_C, air_c, "°C")
    # The dew point is at most the air's temperature: a last binary digit must not make it wetter than wet.
    return min(100.0, 100 * _saturation_hpa(dew_c) / _saturation_hpa(air_c))


def humidity_from_wet_bulb(dry_c: float, wet_c: float, hpa: Decimal = STANDARD_HPA) -> float:
    """Relative humidity in % from dry and ventilated wet bulb.

    W = ((2501 - 2.326 Tw) Ws - 1.006 (T - Tw))/(2501 + 1.86 T - 4.186 Tw), W = 0.621945 e/(p - e)
    (psychrometric formula of the ASHRAE handbook, from memory). Wet bulb above 0 °C: below, it may be ice.
    """
    _check_air(dry_c)
    between("wet-bulb temperature", wet_c, 0, dry_c, "°C")
    between("air pressure", hpa, 500, 1100, "hPa")
    dry, wet, pressure = float(dry_c), float(wet_c), float(hpa)
    saturated = _WATER_TO_AIR * _saturation_hpa(wet) / (pressure - _saturation_hpa(wet))
    ratio = ((2501 - 2.326 * wet) * saturated - 1.006 * (dry - wet)) / (2501 + 1.86 * dry - 4.186 * wet)
    require(ratio > 0, "These two temperatures do not belong together: wet the sleeve and read again.")
    return 100 * ratio * pressure / ((_WATER_TO_AIR + ratio) * _saturation_hpa(dry))


@dataclass(frozen=True, slots=True)
class PaintAdvice:
    """Paint now, or wait and why. Temperatures in °C."""

    go: bool
    dew_point: float
    margin: float
    reason: str

    @property
    def dew_point_f(self) -> float:
        """Dew point in °F."""
        return scaled(self.dew_point, "C", "F")


def paint_advice(
    *,
    steel_c: float,
    air_c: float,
    humidity_percent: float,
    least_margin: float = USUAL_MARGIN_K,
    wettest: float = WETTEST_PERCENT,
) -> PaintAdvice:
    """Paint only if the steel is at least `least_margin` K above the dew point and the air not too wet."""
    between("steel temperature", steel_c, COLDEST_C, 100, "°C")
    not_below_zero("least margin", least_margin, "K")
    between("highest humidity", wettest, 1, 100, "%")
    dew = dew_point_c(air_c, humidity_percent)
    margin = steel_c - dew
    if margin < least_margin:
        reason = (
            f"Wait or warm the part: the steel is {margin:.1f} °C above the dew point, {shown(least_margin)} is needed."
        )
    elif humidity_percent > wettest:
        reason = f"Wait: {shown(humidity_percent)} % humidity is above {shown(wettest)} %."
    else:
        reason = f"Go: the steel is {margin:.1f} °C above the dew point."
    return PaintAdvice(reason.startswith("Go"), dew, margin, reason)


def _saturation_hpa(celsius: float) -> float:
    return 6.112 * math.exp(float(_MAGNUS_A) * celsius / (float(_MAGNUS_B) + celsius))


def _check_air(air_c: Fraction | float) -> None:
    between("air temperature", air_c, COLDEST_C, HOTTEST_C, "°C")


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)
