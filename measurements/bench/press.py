"""Before the ram moves: the fit of this pair, the press force it should take, and what the logged peak says.

The card's window is the outer guard over every pair its drawing allows; this band is for the pair in hand, from its
own mean interference. Arithmetic and sources: measurements.engineering.fits.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from measurements.bench.answer import Answer, Line, Picture, Tone
from measurements.bench.given import Given, figure, in_mm, mean, three
from measurements.engineering.fits import Elastic, Joint, PressBand, contact_pressure_psi, press_band
from measurements.engineering.limits import Verdict, plain
from measurements.engineering.units import convert
from measurements.engineering.validity import scaled

SOURCE = "thick-wall cylinders after Lamé (Shigley, Mechanical Engineering Design, §3-16); force = π d L p μ"
CAUTION = ("Press guard closed. Never stand in line with the ram. Stop at once when a part goes in crooked.",)
DRY = "dry"


def press_fit(given: Given) -> Answer:
    """The band of peak force for this pair, and the verdict on the peak once it is logged.

    Roles: outer and bore in inches; may have peak in lbf and lubricant (a word). Figures: hub_outside, fit_diameter,
    shaft_bore, length in inches, modulus_psi, poisson, friction_low, friction_high, friction_dry.
    """
    delta = mean(given.values("outer")) - mean(given.values("bore"))
    least = min(given.values("outer")) - max(given.values("bore"))
    most = max(given.values("outer")) - min(given.values("bore"))
    if delta <= 0:
        return _loose(delta)
    joint, (low, high) = _joint(given), _friction(given)
    metres = scaled(delta, "in", "m")
    band = press_band(joint, (metres, metres), (low, high))
    lines = (
        Line("interference of this pair", figure(delta, 4, "in"), in_mm(delta, 3), f"{_span(least, most)} by reading"),
        Line("contact pressure", f"{contact_pressure_psi(joint, float(delta)):.0f} psi"),
        Line("peak force to expect", _force(band), _kilonewtons(band)),
    )
    says, tone = _said(given.one("peak"), band)
    return Answer(
        says,
        tone,
        lines,
        reason=_reasons(given, band),
        worked=(
            f"interference = mean of the outer {figure(mean(given.values('outer')), 4)}"
            f" - mean of the bore {figure(mean(given.values('bore')), 4)} = {figure(delta, 4, 'in')}",
            f"force = π · {_inches(joint.diameter)} · {_inches(joint.length)}"
            f" · {contact_pressure_psi(joint, float(delta)):.0f} psi · {low:g} to {high:g}",
        ),
        assumed=(
            *_assumed_friction(given, low, high),
            "Both parts are steel of the stated stiffness; what the press smooths of the roughness is not taken off.",
        ),
        source=SOURCE,
        validity="elastic: interference up to 1 % of the diameter, square and clean parts",
        caution=CAUTION,
        picture=_picture(given, band),
    )


def _loose(delta: Fraction) -> Answer:
    return Answer(
        f"Do not press: the parts have clearance, {figure(-delta, 4, 'in')}.",
        Tone.STOP,
        (Line("interference of this pair", figure(delta, 4, "in"), in_mm(delta, 3)),),
        reason=("A pair without interference carries nothing. Measure both parts again, then pair anew.",),
        source=SOURCE,
        caution=CAUTION,
    )


def _joint(given: Given) -> Joint:
    fixed = given.figures
    steel = Elastic.psi(float(fixed["modulus_psi"]), float(fixed["poisson"]))
    return Joint.inches(
        diameter=float(fixed["fit_diameter"]),
        hub_outside=float(fixed["hub_outside"]),
        shaft_bore=float(fixed["shaft_bore"]),
        length=float(fixed["length"]),
        hub=steel,
        shaft=steel,
    )


def _friction(given: Given) -> tuple[float, float]:
    low, high = float(given.figures["friction_low"]), float(given.figures["friction_high"])
    if given.word("lubricant") == DRY and "friction_dry" in given.figures:
        return low, float(given.figures["friction_dry"])
    return low, high


def _assumed_friction(given: Given, low: float, high: float) -> tuple[str, ...]:
    lubricant = given.word("lubricant")
    if lubricant == DRY:
        said = f"Pressed dry: friction {low:g} to {high:g}. Dry steel may gall: it wants lubricant."
    elif lubricant:
        said = f"Friction {low:g} to {high:g} with {lubricant}, as stated."
    else:
        said = f"Friction {low:g} to {high:g}, lubricated, as stated; the lubricant is not recorded yet."
    return (said,)


def _said(peak: Decimal | None, band: PressBand) -> tuple[str, Tone]:
    expected = _force(band)
    if peak is None:
        return f"This pair should take {expected} at full depth.", Tone.KNOW
    verdict = band.verdict(scaled(peak, "lbf", "N"))
    if verdict is Verdict.IN:
        return f"The peak of {plain(peak)} lbf is what this pair should take: {expected}.", Tone.GO
    word = "less" if verdict is Verdict.BELOW else "more"
    return f"The peak of {plain(peak)} lbf is {word} than this pair should take: {expected}.", Tone.STOP


def _reasons(given: Given, band: PressBand) -> tuple[str, ...]:
    peak = given.one("peak")
    window = "The card's window is wider: it covers every pair that the drawing allows."
    card = (window,) if "peak" in given.limits else ()
    if peak is None:
        return (*card, "Below the band: loose or tapered. Above it: galling, or a part that is not square.")
    return (band.advice(scaled(peak, "lbf", "N")), *card)


def _span(least: Fraction | Decimal, most: Fraction | Decimal) -> str:
    return f"{figure(least, 4)} to {figure(most, 4)}"


def _force(band: PressBand) -> str:
    """To three significant figures, as the card's window; short tons as a hand press shows them."""
    low, high = band.low_lbf, band.high_lbf
    return f"{three(low)} to {three(high)} lbf, {low / 2000:.1f} to {high / 2000:.1f} tons"


def _kilonewtons(band: PressBand) -> str:
    return f"{band.low / 1000:.1f} to {band.high / 1000:.1f} kN"


def _inches(metres: float) -> str:
    return figure(convert(Fraction(metres), "m", "in"), 4)


def _picture(given: Given, band: PressBand) -> Picture:
    data: dict[str, object] = {"low": f"{band.low_lbf:.1f}", "high": f"{band.high_lbf:.1f}"}
    limits, peak = given.limits.get("peak"), given.one("peak")
    if limits is not None and limits.low is not None and limits.high is not None:
        data |= {"window_low": str(limits.low), "window_high": str(limits.high)}
    return Picture("press band", data if peak is None else data | {"peak": str(peak)})
