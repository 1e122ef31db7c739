"""Preheat, interpass and cooling time of a weld.

EN 1011-2 method B (annex C.8, as quoted): Tp = 697 CET + 160 tanh(d/35) + 62 HD^0.35 + (53 CET - 32) Q - 328,
d the thicker plate's own thickness in mm (never the combined thickness, which belongs to method A), HD the
hydrogen in ml/100 g, Q in kJ/mm. Valid: Re <= 1000 MPa, CET 0.2-0.5 %, d 10-90 mm, HD 1-20, Q 0.5-4.0.
A result at or below room temperature is "none by formula" and is never shown as a negative figure.
The engineer's welding procedure stands above all of this.
"""

import math
from dataclasses import dataclass

from measurements.engineering.validity import above_zero, between, not_below_zero, require, scaled

ROOM_C = 20.0
SHOP_LEAST_C = 150.0  # house default for 4130
SHOP_INTERPASS_C = 250.0  # from memory
_PARENT_ABOVE_WELD = 0.03


@dataclass(frozen=True, slots=True)
class Preheat:
    """Preheat in °C, or None when the formula asks for none."""

    celsius: float | None
    formula: float

    @property
    def fahrenheit(self) -> float | None:
        """The same in °F."""
        return None if self.celsius is None else scaled(self.celsius, "C", "F")

    @property
    def text(self) -> str:
        """A sentence for the page."""
        if self.celsius is None:
            return "None by formula: bring the part to room temperature and dry it."
        return f"At least {math.ceil(self.celsius)} °C, measured on both sides."


def governing_cet(parent: float, weld: float | None = None) -> float:
    """CET for method B: the parent's; the weld metal's + 0.03 where the parent is not 0.03 above it."""
    between("CET of the parent metal", parent, 0, 1, "%")
    if weld is None:
        return parent
    between("CET of the weld metal", weld, 0, 1, "%")
    return parent if parent - weld >= _PARENT_ABOVE_WELD else weld + _PARENT_ABOVE_WELD


def method_b_parts(cet: float, thickness_mm: float, hydrogen: float, heat: float) -> tuple[float, ...]:
    """The four parts of method B: 750 CET - 150, 160 tanh(d/35) - 110, 62 HD^0.35 - 100, (53 CET - 32) Q
    - 53 CET + 32. Their sum is the preheat; each shows what that influence costs."""
    between("CET", cet, 0.2, 0.5, "%")
    between("plate thickness", thickness_mm, 10, 90, "mm")
    between("hydrogen", hydrogen, 1, 20, "ml/100 g")
    between("heat input", heat, 0.5, 4.0, "kJ/mm")
    return (
        750 * cet - 150,
        160 * math.tanh(thickness_mm / 35) - 110,
        62 * hydrogen**0.35 - 100,
        (53 * cet - 32) * heat - 53 * cet + 32,
    )


def preheat_method_b(
    cet: float, thickness_mm: float, hydrogen: float, heat: float, *, yield_mpa: float = 460.0
) -> Preheat:
    """Least preheat by EN 1011-2 method B."""
    above_zero("yield strength", yield_mpa, "MPa")
    require(yield_mpa <= 1000, "Method B holds to 1000 MPa of yield strength.", field="yield strength")
    formula = sum(method_b_parts(cet, thickness_mm, hydrogen, heat))
    return Preheat(formula if formula > ROOM_C else None, formula)


# EN 1011-2 method A, table C.1: hydrogen above (ml/100 g), then for CE .49 and .43 the largest combined
# thickness in mm welded without preheat at 1 and at 2 kJ/mm.
_METHOD_A = (
    (15, (25, 50), (40, 80)),
    (10, (30, 55), (50, 90)),
    (5, (35, 65), (60, 100)),
    (3, (50, 100), (100, 100)),
    (0, (60, 100), (100, 100)),
)


def combined_thickness(*paths_mm: float) -> float:
    """Sum of the heat paths' thicknesses in mm, each averaged over 75 mm from the weld (as quoted)."""
    require(len(paths_mm) >= 2, "A joint has at least two heat paths: give each thickness.")
    for path in paths_mm:
        above_zero("thickness of a path", path, "mm")
    return sum(paths_mm)


def largest_without_preheat(ce: float, hydrogen: float, heat: float) -> int:
    """Largest combined thickness in mm without preheat, method A table C.1, on the safe side between entries.

    CE to 0.49, heat 1 kJ/mm and more; above the table's CE (4130 is) preheat is needed.
    """
    between("CE", ce, 0, 1, "%")
    not_below_zero("hydrogen", hydrogen, "ml/100 g")
    require(heat >= 1, "The table begins at 1 kJ/mm.", field="heat input")
    require(ce <= 0.49, "Above the table's carbon equivalent of 0.49 the joint needs preheat.", field="CE")
    row = next(row for row in _METHOD_A if hydrogen > row[0] or row[0] == 0)
    at_one, at_two = row[2] if ce <= 0.43 else row[1]
    return at_two if heat >= 2 else at_one


@dataclass(frozen=True, slots=True)
class Cooling:
    """Time from 800 to 500 °C in s, and whether the heat flows through the plate only (2D) or also down."""

    seconds: float
    two_dimensional: bool
    transition_mm: float


def cooling_time(
    heat: float, thickness_mm: float, preheat_c: float, *, shape_2d: float = 1.0, shape_3d: float = 1.0
) -> Cooling:
    """t8/5 of EN 1011-2 annex D (as quoted); shape 1.0 bead on plate, 0.9 butt weld between runs.

    3D (6700 - 5 T0) Q [1/(500-T0) - 1/(800-T0)] F3; 2D (4300 - 4.3 T0) 1e5 (Q²/d²) [1/(500-T0)² -
    1/(800-T0)²] F2; 2D below the transition thickness. Unalloyed and low-alloy steel.
    """
    between("heat input", heat, 0.1, 10, "kJ/mm")
    above_zero("plate thickness", thickness_mm, "mm")
    between("preheat", preheat_c, -20, 450, "°C")
    for name, shape in (("shape factor 2D", shape_2d), ("shape factor 3D", shape_3d)):
        between(name, shape, 0.3, 1.0)
    to_500, to_800 = 500 - preheat_c, 800 - preheat_c
    deep, flat = 6700 - 5 * preheat_c, (4300 - 4.3 * preheat_c) * 1e5
    transition = math.sqrt(flat / deep * heat * (1 / to_500 + 1 / to_800))
    if thickness_mm < transition:
        seconds = flat * (heat / thickness_mm) ** 2 * (1 / to_500**2 - 1 / to_800**2) * shape_2d
        return Cooling(seconds, True, transition)
    return Cooling(deep * heat * (1 / to_500 - 1 / to_800) * shape_3d, False, transition)


def start_refusal(measured_c: float, needed_c: float, interpass_most_c: float = SHOP_INTERPASS_C) -> str:
    """Why the arc must not start at this temperature, or an empty text."""
    between("measured temperature", measured_c, -40, 1200, "°C")
    require(needed_c <= interpass_most_c, "The preheat needed is above the highest interpass temperature.")
    if measured_c < needed_c:
        return f"Do not start: {measured_c:.0f} °C is measured, {needed_c:.0f} °C is needed. Heat again."
    if measured_c > interpass_most_c:
        return f"Do not start: {measured_c:.0f} °C is above {interpass_most_c:.0f} °C. Let it cool."
    return ""
