"""End play of hub and carrier bearings, by dial and by turning the nut back.

Formula: play = largest - smallest dial reading (pushed in, pulled out); from no play a nut turned back gives
play = pitch * angle/360. Units: one length unit, exact; degrees. Validity: rock-free reading along the axis;
back-off 0 to 720 degrees from no play and no preload. Errors: slack of the thread; seat the bearings by turning.
Source: arithmetic; .001 to .005 in by dial: TMC RP 618A as reproduced; seat at 50 ft-lb turning, then back
off: public full-floating hub tables.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from measurements.engineering.units import Exact, convert
from measurements.engineering.validity import above_zero, between, finite, not_below_zero, require

SEEN_END_PLAY_IN = (Decimal(".001"), Decimal(".005"))  # wheel bearings by dial, TMC RP 618A as reproduced


def end_play(readings: Sequence[Exact]) -> Fraction:
    """End play from dial readings pushed in and pulled out: largest - smallest, exact."""
    require(
        len(readings) >= 2,
        "End play needs the dial pushed in and pulled out: two readings.",
        field="readings",
    )
    for reading in readings:
        finite("dial reading", reading)
    return Fraction(max(readings)) - Fraction(min(readings))


def end_play_of_back_off(pitch: Exact, turned_back_deg: Exact) -> Fraction:
    """End play a nut makes when turned back from no play and no preload: pitch * angle / 360."""
    above_zero("thread pitch", pitch)
    between("angle turned back", turned_back_deg, 0, 720, "degrees")
    return Fraction(pitch) * Fraction(turned_back_deg) / 360


def back_off_of_end_play(pitch: Exact, wanted: Exact) -> Fraction:
    """The angle in degrees to turn the nut back for a wanted end play."""
    above_zero("thread pitch", pitch)
    not_below_zero("end play wanted", wanted)
    return Fraction(wanted) * 360 / Fraction(pitch)


def pitch_of_threads_per_inch(threads: Exact) -> Fraction:
    """Thread pitch in millimetres from threads per inch."""
    above_zero("threads per inch", threads)
    return convert(1 / Fraction(threads), "in", "mm")
