"""Units of a build card, and exact conversion between them.

Each unit is a pair: a dimension and an exact factor to the coherent SI unit of that dimension
(temperature also has a zero shift). The factors are legal definitions, so they are exact:
1 in = 25.4 mm, 1 lb = 0.453 592 37 kg, standard gravity 9.806 65 m/s2
(international yard and pound agreement 1959; NIST SP 811, from memory).

`convert` is exact and never rounds: the result is a `Fraction`. Round once, at the end, with `rounded`.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

Exact = Decimal | Fraction


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of one dimension: SI value = number * factor + zero."""

    dimension: str
    factor: Fraction
    zero: Fraction = Fraction(0)


_INCH = Fraction("0.0254")
_FOOT = 12 * _INCH
_POUND = Fraction("0.45359237")
_GRAVITY = Fraction("9.80665")
_POUND_FORCE = _POUND * _GRAVITY
_PSI = _POUND_FORCE / _INCH**2
_GALLON = 231 * _INCH**3

_BY_DIMENSION: dict[str, dict[str, Fraction]] = {
    "length": {
        "m": Fraction(1),
        "mm": Fraction(1, 1000),
        "cm": Fraction(1, 100),
        "µm": Fraction(1, 10**6),
        "in": _INCH,
        "ft": _FOOT,
        "mil": _INCH / 1000,
    },
    "force": {
        "N": Fraction(1),
        "kN": Fraction(1000),
        "lbf": _POUND_FORCE,
        "kgf": _GRAVITY,
        "tonf": 2000 * _POUND_FORCE,
    },
    "torque": {
        "N·m": Fraction(1),
        "kN·m": Fraction(1000),
        "ft-lb": _POUND_FORCE * _FOOT,
        "in-lb": _POUND_FORCE * _INCH,
        "kgf·m": _GRAVITY,
    },
    "pressure": {
        "Pa": Fraction(1),
        "kPa": Fraction(1000),
        "MPa": Fraction(10**6),
        "bar": Fraction(10**5),
        "mbar": Fraction(100),
        "psi": _PSI,
        "ksi": 1000 * _PSI,
    },
    "arc energy": {
        "kJ/m": Fraction(1000),
        "kJ/mm": Fraction(10**6),
        "kJ/cm": Fraction(10**5),
        "kJ/in": 1000 / _INCH,
    },
    "speed": {
        "m/s": Fraction(1),
        "mm/s": Fraction(1, 1000),
        "mm/min": Fraction(1, 60000),
        "cm/min": Fraction(1, 6000),
        "in/min": _INCH / 60,
        "in/s": _INCH,
    },
    "mass": {
        "kg": Fraction(1),
        "g": Fraction(1, 1000),
        "lb": _POUND,
        "oz": _POUND / 16,
    },
    "time": {"s": Fraction(1), "min": Fraction(60), "h": Fraction(3600), "d": Fraction(86400)},
    "volume": {
        "m³": Fraction(1),
        "L": Fraction(1, 1000),
        "mL": Fraction(1, 10**6),
        "cm³": Fraction(1, 10**6),
        "in³": _INCH**3,
        "gal": _GALLON,
    },
    "area": {"m²": Fraction(1), "mm²": Fraction(1, 10**6), "in²": _INCH**2, "ft²": _FOOT**2},
    "angle": {"deg": Fraction(1), "arcmin": Fraction(1, 60)},
    "turns": {"turns": Fraction(1)},
    "voltage": {"V": Fraction(1)},
    "current": {"A": Fraction(1)},
    "energy": {"J": Fraction(1), "kJ": Fraction(1000)},
    "share": {"%": Fraction(1)},
    "count": {"count": Fraction(1)},
    "adhesion grade": {"B-grade": Fraction(1)},
    "answer": {"yes/no": Fraction(1)},
}

_ALIASES = {
    "inch": "in", '"': "in", "um": "µm", "μm": "µm", "Nm": "N·m", "N.m": "N·m", "N-m": "N·m",
    "lbf·ft": "ft-lb", "lbf·in": "in-lb", "lb-ft": "ft-lb", "lb-in": "in-lb", "ft·lbf": "ft-lb",
    "°F": "F", "°C": "C", "degF": "F", "degC": "C", "°": "deg", "cc": "cm³", "cm3": "cm³", "in3": "in³",
    "m2": "m²", "ft2": "ft²", "mm2": "mm²", "in2": "in²", "m3": "m³", "l": "L", "ml": "mL", "ipm": "in/min",
    "hPa": "mbar",
}  # fmt: skip

UNITS: dict[str, Unit] = {
    name: Unit(dimension, factor) for dimension, members in _BY_DIMENSION.items() for name, factor in members.items()
} | {
    "K": Unit("temperature", Fraction(1)),
    "C": Unit("temperature", Fraction(1), Fraction("273.15")),
    "F": Unit("temperature", Fraction(5, 9), Fraction("459.67") * Fraction(5, 9)),
}


def unit_named(name: str) -> Unit:
    """The unit of this name or alias; an unknown one is refused with a sentence."""
    unit = UNITS.get(_ALIASES.get(name, name))
    if unit is None:
        raise ValueError(f"The unit “{name}” is not known here. Known units: {', '.join(sorted(UNITS))}.")
    return unit


def same_dimension(one: str, other: str) -> bool:
    """Whether a figure in one unit can be turned into the other."""
    return unit_named(one).dimension == unit_named(other).dimension


def convert(value: Exact, frm: str, to: str, *, difference: bool = False) -> Fraction:
    """Turn a figure in `frm` into `to`, exactly.

    `difference=True` is for a temperature difference: it scales by 1/1.8 and has no zero shift.
    """
    source, target = unit_named(frm), unit_named(to)
    if source.dimension != target.dimension:
        raise ValueError(f"A figure in {frm} ({source.dimension}) cannot be turned into {to} ({target.dimension}).")
    scaled = Fraction(value) * source.factor
    if difference:
        return scaled / target.factor
    return (scaled + source.zero - target.zero) / target.factor


def rounded(value: Exact, step: Decimal) -> Decimal:
    """The multiple of `step` nearest to the value; a tie goes to the even multiple (as in ASTM E29)."""
    if step <= 0:
        raise ValueError(f"A step must be more than zero; {step} is not.")
    return round(Fraction(value) / Fraction(step)) * step
