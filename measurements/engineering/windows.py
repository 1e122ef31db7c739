"""Limit windows that a build card works out instead of typing: press force and arc energy.

A card names the window and its fixed inputs in the units of an inch drawing; the result agrees with the
limits it prints. Press force is rounded to three significant figures. Arc energy is cut outwards to one
decimal, so that no arc inside its own windows of volts, amps and speed is refused for its energy.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from measurements.engineering.fits import Elastic, Joint, press_band
from measurements.engineering.validity import OutsideValidity
from measurements.engineering.welds import arc_energy_window

Inputs = Mapping[str, Decimal]


@dataclass(frozen=True, slots=True)
class Window:
    """Low and high limit in the drawing's unit."""

    low: Decimal
    high: Decimal


# What a pressed tube calls the same three diameters: outside of the hub, fit, bore of the inner part.
_HUB_OUTSIDE = ("hub_outside", "tube_outside", "neck_outside")
_FIT = ("fit_diameter", "bore")
_INNER_BORE = ("shaft_bore", "spindle_bore", "tube_bore")
_PRESS_REST = ("length", "interference_low", "interference_high", "modulus_psi", "poisson")
_PRESS_FRICTION = ("friction_low", "friction_high")
_ARC = ("volts_low", "volts_high", "amps_low", "amps_high", "speed_low", "speed_high")


def window(name: str, inputs: Inputs) -> Window:
    """The window of this name, or a refusal that names what is unknown or missing."""
    if name not in WINDOWS:
        raise OutsideValidity(f"There is no window “{name}”. There are: {', '.join(sorted(WINDOWS))}.")
    return WINDOWS[name](inputs)


def _press_force(inputs: Inputs) -> Window:
    """Peak press force in lbf, equal materials; inches, psi."""
    hub_outside, fit, inner = (_one_of(inputs, names) for names in (_HUB_OUTSIDE, _FIT, _INNER_BORE))
    length, low, high, modulus, poisson = (_one_of(inputs, (name,)) for name in _PRESS_REST)
    slippery, sticky = (_one_of(inputs, (name,)) for name in _PRESS_FRICTION)
    steel = Elastic.psi(modulus, poisson)
    joint = Joint.inches(diameter=fit, hub_outside=hub_outside, shaft_bore=inner, length=length, hub=steel, shaft=steel)
    band = press_band(joint, (low * 0.0254, high * 0.0254), (slippery, sticky))
    return Window(_three_figures(band.low_lbf), _three_figures(band.high_lbf))


def _arc_energy(inputs: Inputs) -> Window:
    """Arc energy in kJ/in; volts, amps, in/min."""
    for name in _ARC:
        _one_of(inputs, (name,))
    volts, amps, speed = ((inputs[f"{name}_low"], inputs[f"{name}_high"]) for name in ("volts", "amps", "speed"))
    energy = arc_energy_window(volts, amps, speed)
    return Window(Decimal(math.floor(energy.low * 10)) / 10, Decimal(math.ceil(energy.high * 10)) / 10)


WINDOWS: dict[str, Callable[[Inputs], Window]] = {"press_force": _press_force, "arc_energy": _arc_energy}


def _one_of(inputs: Inputs, names: tuple[str, ...]) -> float:
    for name in names:
        if name in inputs:
            return float(inputs[name])
    raise OutsideValidity(f"The window needs the input {' or '.join(names)}.", field=names[0])


def _three_figures(value: float) -> Decimal:
    return Decimal(f"{value:.3g}") if value else Decimal(0)
