"""Figures as typed, limits of a drawing, and the verdict.

Rules (house decisions):
- one decimal sign, the point; no grouping, no exponent; blank is not zero;
- a figure finer than the gauge's step is refused, because the gauge cannot have shown it;
- limits are inclusive and judged in the unit of the drawing, exactly, never in binary floats;
- a figure typed in another unit is converted, rounded to the gauge's step (a tie to the even step,
  which is the rounding method of ASTM E29, from memory), then judged;
- a figure far outside is asked about once before it is stored.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from fractions import Fraction

from measurements.engineering.units import Exact, convert, rounded, unit_named

# Stored as whole billionths in a 64-bit integer: nine decimals, and below 9.2e9.
LARGEST = Decimal(10) ** 9
MOST_DECIMALS = 9
_FIGURE = re.compile(r"([+-]?)([0-9]*)(?:\.([0-9]+))?", re.ASCII)
_LONGEST_SHOWN = 24


class FigureError(ValueError):
    """A typed figure that cannot be taken; the text says what to type instead."""


def plain(value: Decimal) -> str:
    """A figure without exponent and without trailing zeros, for a sentence."""
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def parse_figure(text: str, *, step: Decimal | None = None) -> Decimal:
    """The figure a person typed, or a `FigureError` that says what to type.

    `step` is the gauge's smallest step in the unit typed; None where no gauge is read.
    """
    typed = text.strip().replace("\N{MINUS SIGN}", "-")
    shown = typed if len(typed) <= _LONGEST_SHOWN else typed[:_LONGEST_SHOWN] + "…"
    if not typed:
        raise FigureError("Nothing was typed. Blank is not zero: type the figure that was read.")
    if "," in typed:
        raise FigureError(
            f"“{shown}” has a comma. Type a point for the decimal sign, as in 3.0642, and no sign between thousands."
        )
    match = _FIGURE.fullmatch(typed)
    if match is None or not (match[2] or match[3]):
        raise FigureError(f"“{shown}” is not a figure. Type digits with at most one point, such as 3.0642 or .008.")
    value = Decimal(typed) or Decimal(0)  # -0 is 0
    if abs(value) >= LARGEST:
        raise FigureError(f"“{shown}” is too large: figures here are smaller than {LARGEST:f}. Type it again.")
    if len((match[3] or "").rstrip("0")) > MOST_DECIMALS:
        raise FigureError(f"“{shown}” has more than {MOST_DECIMALS} decimals. Type what the gauge shows.")
    if step is not None and not on_step(value, step):
        raise FigureError(
            f"“{shown}” is finer than the gauge reads: its step is {plain(step)}. Type the figure the gauge shows."
        )
    return value


def on_step(value: Exact, step: Decimal) -> bool:
    """Whether a gauge with this step can show the value."""
    if step <= 0:
        raise ValueError(f"A gauge's step must be more than zero; {plain(step)} is not.")
    if isinstance(value, Decimal):
        return value % step == 0  # exact: figures here have 18 digits at most, Decimal works with 28
    return (value / Fraction(step)).denominator == 1


def to_drawing_unit(value: Decimal, unit_typed: str, drawing_unit: str, step: Decimal) -> Decimal:
    """The figure in the unit of the drawing; a converted one is rounded once, to the gauge's step."""
    if unit_named(unit_typed) == unit_named(drawing_unit):
        return value
    return rounded(convert(value, unit_typed, drawing_unit), step)


class Verdict(Enum):
    """What a figure is against its limits."""

    IN = "in"
    BELOW = "below"
    ABOVE = "above"
    NEVER = "never above"


@dataclass(frozen=True, slots=True)
class Limits:
    """Inclusive limits in the unit of the drawing; None where the drawing gives none.

    `never_above` stops the work at once when passed, whatever the limits say.
    """

    low: Decimal | None = None
    high: Decimal | None = None
    never_above: Decimal | None = None

    def __post_init__(self) -> None:
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"The low limit {plain(self.low)} is above the high limit {plain(self.high)}.")
        ceiling = self.never_above
        if ceiling is not None and self.high is not None and ceiling < self.high:
            raise ValueError(f"“Never above” {plain(ceiling)} is below the high limit {plain(self.high)}.")

    def width(self) -> Decimal:
        """The width of the tolerance; for a one-sided limit its own size, for 0 to 0 one unit."""
        if self.low is not None and self.high is not None and self.low != self.high:
            return self.high - self.low
        one = self.high if self.high is not None else self.low
        return abs(one or Decimal(0)) or Decimal(1)


def judge(value: Exact, limits: Limits) -> Verdict:
    """The verdict on an exact value; a value equal to a limit is in."""
    if limits.never_above is not None and _compared(value, limits.never_above) > 0:
        return Verdict.NEVER
    if limits.low is not None and _compared(value, limits.low) < 0:
        return Verdict.BELOW
    if limits.high is not None and _compared(value, limits.high) > 0:
        return Verdict.ABOVE
    return Verdict.IN


def _compared(value: Exact, limit: Decimal) -> int:
    """Below, on or above a limit as -1, 0, 1; exact for both kinds of value."""
    if isinstance(value, Decimal):
        return int(value.compare(limit))
    return (value > Fraction(limit)) - (value < Fraction(limit))


@dataclass(frozen=True, slots=True)
class Question:
    """Asked once before a figure far off is stored; the answer is kept. `meant` is a guess, or None."""

    text: str
    meant: Decimal | None = None


def _shifted(value: Decimal) -> Iterator[Decimal]:
    for places in (-1, 1, -2, 2, -3, 3, -4, 4):
        yield value.scaleb(places)


def far_off(value: Decimal, limits: Limits, step: Decimal | None = None) -> Question | None:
    """The question for a figure that looks like a slip of the finger, or None.

    Far off: beyond a limit by more than five tolerance widths, or out of limits now and in limits with
    the decimal sign moved. With `step`, a moved figure counts only if the gauge could have shown it:
    otherwise every figure a little over a one-sided limit would be asked about.
    """
    if judge(value, limits) is Verdict.IN:
        return None
    for meant in _shifted(value) if value else ():
        if judge(meant, limits) is Verdict.IN and (step is None or on_step(meant, step)):
            return Question(
                f"{plain(value)} is out of limits, but {plain(meant)} would be in: was the point in the right"
                f" place? Keep {plain(value)} only if that is what the gauge shows.",
                meant,
            )
    below = limits.low - value if limits.low is not None else Decimal(0)
    above = value - limits.high if limits.high is not None else Decimal(0)
    if max(below, above) > 5 * limits.width():
        return Question(
            f"{plain(value)} is beyond the limit by more than five times the tolerance."
            " Read the gauge again; keep the figure only if it shows the same."
        )
    return None
