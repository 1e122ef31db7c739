"""Limit windows that a build card works out instead of typing: press force and arc energy.

A card names the window and its fixed inputs in the units of its drawing. Press force is rounded to three
significant figures, at most to the decimals of the drawing. Arc energy is cut outwards to those decimals, so that
no arc inside its own limits of volts, amps and speed is refused for its energy.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from measurements.engineering.fits import Elastic, Joint, press_band
from measurements.engineering.units import convert, rounded
from measurements.engineering.validity import require, scaled
from measurements.engineering.welds import arc_energy_window

Inputs = Mapping[str, Decimal]


@dataclass(frozen=True, slots=True)
class Window:
    """Low and high limit in the drawing's unit."""

    low: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True)
class Form:
    """What one window is worked out from, in one unit of its result.

    `figures`: the names each may go by, the general one first, and its unit. `spans`: roles with a smallest and a
    largest figure, written as `role_low` and `role_high`, and the unit of each.
    """

    name: str
    unit: str
    figures: Mapping[tuple[str, ...], str]
    spans: Mapping[str, str]
    says: str
    work: Callable[["Form", Inputs, int], Window]

    def check(self, inputs: Inputs) -> None:
        """Refuse inputs of which one is missing, stands twice or is not used."""
        for names in (*self.figures, *((end,) for role in self.spans for end in _ends(role))):
            given = [name for name in names if name in inputs]
            wanted = f"The window {self.name} needs the input {' or '.join(names)}"
            require(bool(given), f"{wanted}; it is missing.", field=names[0])
            require(len(given) == 1, f"{wanted} once; {' and '.join(given)} are the same.", field=names[0])
        for name in inputs:
            require(name in self.known, f"The window {self.name} has no input {name}.", field=name)

    @property
    def known(self) -> tuple[str, ...]:
        """Every name that an input may have."""
        single = (name for names in self.figures for name in names)
        return (*single, *(end for role in self.spans for end in _ends(role)))

    def unit_of(self, name: str) -> str:
        """The unit of an input by any of its names; empty for a plain number."""
        units = {one: unit for names, unit in self.figures.items() for one in names}
        units |= {end: unit for role, unit in self.spans.items() for end in _ends(role)}
        return units[name]


def form_of(name: str, unit: str) -> Form:
    """The window of this name with its result in this unit, or a refusal that names what there is."""
    names = sorted({known for known, _ in FORMS})
    require(name in names, f"There is no window “{name}”. There are: {', '.join(names)}.", field="name")
    units = [known for other, known in FORMS if other == name]
    require(unit in units, f"The window {name} is worked out in {' or '.join(units)}, not in {unit}.", field="unit")
    return FORMS[name, unit]


def window(name: str, inputs: Inputs, unit: str, decimals: int = 0) -> Window:
    """The limits in this unit with so many decimals; a refusal names what is unknown, missing or stray."""
    form = form_of(name, unit)
    form.check(inputs)
    return form.work(form, inputs, decimals)


def _press_force(form: Form, inputs: Inputs, decimals: int) -> Window:
    """Peak press force of equal materials: the smallest interference and friction, and the largest."""
    single = {names[0]: float(inputs[next(name for name in names if name in inputs)]) for names in form.figures}
    length_unit, stress_unit = ("in", "psi") if form.unit == "lbf" else ("mm", "MPa")
    fit, hub, bore, length = (
        scaled(single[name], length_unit, "m") for name in ("fit_diameter", "hub_outside", "shaft_bore", "length")
    )
    material = Elastic(scaled(single[f"modulus_{stress_unit.lower()}"], stress_unit, "Pa"), single["poisson"])
    joint = Joint(fit, hub, bore, length, material, material)
    tight, friction = ([float(inputs[end]) for end in _ends(role)] for role in ("interference", "friction"))
    low, high = (scaled(figure, length_unit, "m") for figure in tight)
    band = press_band(joint, (low, high), (friction[0], friction[1]))
    ends = (scaled(force, "N", form.unit) for force in (band.low, band.high))
    return Window(*(_three_figures(force, decimals) for force in ends))


def _arc_energy(form: Form, inputs: Inputs, decimals: int) -> Window:
    """Arc energy: the lowest volts and amps at the highest speed, and the other way round."""
    volts, amps, speed = ([Fraction(inputs[end]) for end in _ends(role)] for role in form.spans)
    if form.unit == "kJ/mm":
        speed = [convert(figure, "mm/min", "in/min") for figure in speed]
    energy = arc_energy_window((volts[0], volts[1]), (amps[0], amps[1]), (speed[0], speed[1]))
    step = Fraction(1, 10**decimals)
    low, high = (convert(figure, "kJ/in", form.unit) / step for figure in (energy.low, energy.high))
    return Window(Decimal(math.floor(low)).scaleb(-decimals), Decimal(math.ceil(high)).scaleb(-decimals))


def _ends(role: str) -> tuple[str, str]:
    return f"{role}_low", f"{role}_high"


def _three_figures(value: float, decimals: int) -> Decimal:
    places = min(2 - Decimal(value).adjusted(), decimals) if value else 0
    return rounded(Decimal(value), Decimal(1).scaleb(-places))


# What a pressed tube calls the same three diameters: outside of the hub, fit, bore of the inner part.
_LENGTHS = (
    ("hub_outside", "tube_outside", "neck_outside"),
    ("fit_diameter", "bore"),
    ("shaft_bore", "spindle_bore", "tube_bore"),
    ("length",),
)
_PRESS_SAYS = (
    "F = π d L p μ, with the pressure p of thick-walled cylinders of one material (Lamé): the lower limit from the"
    " smallest interference and friction, the upper from the largest, both to three significant figures."
)
_ARC_SAYS = (
    "E = 60 U I / (1000 v): the lower limit from the lowest volts and amps at the highest speed, the upper from the"
    " highest at the lowest, both cut outwards to the last decimal."
)


def _press(unit: str, length_unit: str, stress_unit: str) -> Form:
    figures = dict.fromkeys(_LENGTHS, length_unit) | {
        ("poisson",): "",
        (f"modulus_{stress_unit.lower()}",): stress_unit,
    }
    spans = {"interference": length_unit, "friction": ""}
    return Form("press_force", unit, figures, spans, _PRESS_SAYS, _press_force)


def _arc(unit: str, speed_unit: str) -> Form:
    return Form("arc_energy", unit, {}, {"volts": "V", "amps": "A", "travel_speed": speed_unit}, _ARC_SAYS, _arc_energy)


FORMS: dict[tuple[str, str], Form] = {
    (form.name, form.unit): form
    for form in (
        _press("lbf", "in", "psi"),
        _press("N", "mm", "MPa"),
        _press("kN", "mm", "MPa"),
        _arc("kJ/in", "in/min"),
        _arc("kJ/mm", "mm/min"),
    )
}
