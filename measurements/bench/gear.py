"""At the gear bench: what the backlash points round the ring gear say.

Arithmetic and sources: measurements.engineering.gears.once_per_turn.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from measurements.bench.answer import Answer, Line, Picture, Tone, unknown
from measurements.bench.given import Given, figure, in_mm
from measurements.engineering.gears.once_per_turn import (
    Round,
    RoundReading,
    Shape,
    fit_round,
    locate_runout,
    read_round,
)
from measurements.engineering.limits import Limits, plain

SOURCE = "least squares over one turn; what the shapes mean: common practice, no source"
CAUTION = ("Hands clear of the mesh when turning. Support the carrier.",)


def backlash_round(given: Given) -> Answer:
    """Runout, an oval gear, one bad tooth, or fine.

    Roles: points (in, numbered 1, 2, ... in order round the gear) and variation, for its limit; may have bench_runout
    and housing_runout (in). Figures: points, how many; read_to, what the dial repeats to; factor, backlash per unit of
    shift of the ring gear.
    """
    names = [str(number) for number in range(1, int(given.figures["points"]) + 1)]
    read = [given.at("points", name) for name in names]
    missing = [name for name, value in zip(names, read, strict=True) if value is None]
    if missing:
        return unknown(
            f"The round is told when all {len(names)} points are read.", f"Not read yet: {', '.join(missing)}."
        )
    most = given.limits.get("variation", Limits()).high
    if most is None:
        return unknown("The round: not to be told.", "No limit is given for the variation.")
    fitted = fit_round([value for value in read if value is not None])
    found = read_round(fitted, most, given.figures["read_to"])
    outside = _outside(given, fitted)
    return Answer(
        _said(found, fitted, most, outside),
        Tone.GO if found.shape is Shape.EVEN and not outside else Tone.STOP,
        _lines(fitted, most),
        reason=(*_where(given, fitted, found), *outside),
        worked=(
            f"spread = {figure(fitted.largest, 4)} - {figure(fitted.smallest, 4)} = {figure(fitted.spread, 4, 'in')}",
            f"fit y = {fitted.mean:.5f} + {fitted.lobe.amplitude:.5f} · cos(t - {fitted.lobe.phase_deg:.0f}°)",
        ),
        assumed=(
            f"The points are equally spaced and in order, the dial set alike; it repeats to"
            f" {plain(given.figures['read_to'])} in.",
            f"{plain(given.figures['factor'])} of backlash for each unit the ring gear moves.",
        ),
        source=SOURCE,
        validity="4 or more equally spaced points (fewer than 8 do not tell an oval gear from a bad tooth);"
        " caps at final torque and preload present",
        caution=CAUTION,
        picture=_picture(given, names, fitted, found),
    )


def _outside(given: Given, fitted: Round) -> tuple[str, ...]:
    limits = given.limits.get("points", Limits())
    if limits.low is None or limits.high is None:
        return ()
    numbers = fitted.outside(limits.low, limits.high)
    return (f"Outside the limits of a point: {', '.join(map(str, numbers))}.",) if numbers else ()


def _said(found: RoundReading, fitted: Round, most: Decimal, outside: tuple[str, ...]) -> str:
    spread = f"Spread {figure(fitted.spread, 4)} in, {plain(most)} is the most."
    if found.shape is Shape.EVEN:
        return f"The round is even. {spread}" if not outside else f"Even, but not in place. {spread}"
    return f"{found.says} {spread}"


def _lines(fitted: Round, most: Decimal) -> tuple[Line, ...]:
    return (
        Line("spread", figure(fitted.spread, 4, "in"), in_mm(fitted.spread), f"most {plain(most)} in"),
        Line("mean", f"{fitted.mean:.4f} in"),
        Line("largest at", f"{fitted.lobe.phase_deg:.0f}° from point 1", "", "of the once-per-turn fit"),
        Line("largest departure from the fit", f"{fitted.residual:.5f} in"),
    )


def _where(given: Given, fitted: Round, found: RoundReading) -> tuple[str, ...]:
    """What to look at; for runout, where the back-face readings put it."""
    if found.shape is not Shape.ONCE_PER_TURN:
        return (found.look_at,)
    factor, bench, housing = given.figures["factor"], given.one("bench_runout"), given.one("housing_runout")
    expected = Fraction(fitted.spread) / Fraction(factor)
    asks = f"The spread asks for {figure(expected, 4)} in of back-face runout."
    if bench is None:
        return (asks, "The back-face runout of the bench is not known.", found.look_at)
    if housing is not None:
        return (asks, locate_runout(fitted, factor, bench, housing).says)
    if Fraction(bench) >= expected * 2 / 3:
        return (asks, locate_runout(fitted, factor, bench, 0).says)
    return (asks, f"The bench read {plain(bench)} in: dial the back face in the housing.", found.look_at)


def _picture(given: Given, names: list[str], fitted: Round, found: RoundReading) -> Picture | None:
    limits = given.limits.get("points", Limits())
    if limits.low is None or limits.high is None:
        return None
    return Picture(
        "round",
        {
            "low": str(limits.low),
            "high": str(limits.high),
            "points": [figure(given.at("points", name) or Decimal(0), 4) for name in names],
            "mean": f"{fitted.mean:.6f}",
            "amplitude": f"{fitted.lobe.amplitude:.6f}",
            "phase": f"{fitted.lobe.phase_deg:.2f}",
            "alone": str(found.point or ""),
        },
    )
