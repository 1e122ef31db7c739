"""What stands in the bench book, by subject. Every example has figures that somebody else worked out, or says how."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from measurements.bench.advice import ADVICE
from measurements.bench.answer import Answer, unknown
from measurements.bench.book import Entry, Field, Part
from measurements.bench.calculators import bolt_torque, hunting, iso_fit, length_at_20, unit_change, wrench_setting
from measurements.bench.given import Given
from measurements.bench.topics.bearings import BEARINGS
from measurements.bench.topics.bolts import BOLTS
from measurements.bench.topics.coatings import COATINGS
from measurements.bench.topics.gears import GEARS as GEAR_ENTRIES
from measurements.bench.topics.geometry import GEOMETRY
from measurements.bench.topics.measuring import FITS, GUARD, STORED
from measurements.bench.topics.strength import STRENGTH
from measurements.bench.topics.welds import WELDS

R, LOW, HIGH = Part.READING, Part.LOW, Part.HIGH
_CALCULATED = "calculated by hand with the formula"


def _asking(name: str) -> Callable[[Given], Answer]:
    """The advice of the bench; what it must have read is asked for here as there."""
    advice = ADVICE[name]

    def work(given: Given) -> Answer:
        missing = [role for role in advice.inputs if not given.readings.get(role)]
        if missing:
            return unknown(f"{advice.title}: not to be told yet.", *(f"{role} is not typed yet." for role in missing))
        return advice.work(given)

    return work


PRESS = Entry(
    "press_fit", "Press this pair", "Fits",
    (
        Field("outer", "Outer diameters read", "in", "3.0650 3.0650", R, several=True),
        Field("bore", "Bore diameters read", "in", "3.0631 3.0631", R, several=True),
        Field("hub_outside", "Outside of the outer part", "in", "3.625"),
        Field("fit_diameter", "Fit diameter", "in", "3.0625"),
        Field("shaft_bore", "Bore of the inner part, 0 when solid", "in", "1.625"),
        Field("length", "Length of the fit", "in", "3.750"),
        Field("modulus_psi", "Stiffness of the steel", "psi", "29000000"),
        Field("poisson", "Poisson's ratio", "", "0.29"),
        Field("friction_low", "Least friction", "", "0.08"),
        Field("friction_high", "Most friction", "", "0.15"),
        Field("peak", "Logged peak force", "lbf", "", R, needed=False),
    ),
    _asking("press_fit"), _CALCULATED,
)  # fmt: skip
ISO = Entry(
    "iso_fit", "Hole and shaft by ISO 286", "Fits",
    (
        Field("nominal", "Nominal size", "mm", "50"),
        Field("hole", "Hole", "", "H7", words=True),
        Field("shaft", "Shaft", "", "p6", words=True),
    ),
    iso_fit, "ISO 286-2: 50 H7 is 0 to +25 µm, 50 p6 +26 to +42 µm, so 1 to 42 µm of interference",
)  # fmt: skip
WARMING = Entry(
    "warming", "Warm a ring gear", "Fits",
    (
        Field("fit_diameter", "Fit diameter", "in", "6.000"),
        Field("interference", "Largest interference", "in", "0.0020"),
        Field("clearance", "Clearance to slide", "in", "0.0030"),
        Field("expansion", "Expansion, millionths per K", "", "11.5"),
        Field("room", "Temperature of the case", "F", "68"),
        Field("ceiling", "Never above", "F", "", needed=False),
        Field("temperature", "Probe reads", "F", "", R, needed=False),
    ),
    _asking("warming"), _CALCULATED + ": 0.0050 / (11.5e-6 · 6) = 72.5 K",
)  # fmt: skip
TORQUE = Entry(
    "bolt_torque", "Torque of a bolt", "Bolts",
    (
        Field("thread", "Thread", "", "1/2-20", words=True),
        Field("grade", "Class or grade", "", "8", words=True),
        Field("nut_factor", "Nut factor of this lubricant", "", "0.15"),
        Field("share", "Share of the proof load, 0.75 when left out", "", "0.75", needed=False),
    ),
    bolt_torque, "public SAE J429 torque tables: 1/2-20 grade 8 at 0.15 is 90 ft-lb",
)  # fmt: skip
WRENCH = Entry(
    "wrench_setting", "Wrench with an extension", "Bolts",
    (
        Field("target", "Torque at the bolt", "ft-lb", "30"),
        Field("wrench", "Length of the wrench", "in", "12"),
        Field("extension", "Length of the extension", "in", "6"),
        Field("angle", "Angle, 0 straight on", "", "0", needed=False),
    ),
    wrench_setting, "US TM 9-254: 30 with 12 and 6 in is set to 20",
)  # fmt: skip
GEARS = Entry(
    "hunting", "Which teeth meet", "Gears",
    (Field("pinion", "Pinion teeth", "", "9"), Field("ring", "Ring gear teeth", "", "41")),
    hunting, _CALCULATED + ": 9 and 41 have no common divisor",
)  # fmt: skip
ARC = Entry(
    "arc_energy", "Arc energy", "Welds",
    (
        Field("volts", "Volts", "V", "25", R),
        Field("amps", "Amperes", "A", "225", R),
        Field("length", "Length of the weld", "in", "12.5", R, needed=False),
        Field("arc_time", "Arc time", "s", "92", R, needed=False),
        Field("factor", "Thermal factor of the process", "", "0.8"),
        Field("low", "Least arc energy", "kJ/in", "", LOW, needed=False, role="energy"),
        Field("high", "Most arc energy", "kJ/in", "", HIGH, needed=False, role="energy"),
    ),
    _asking("arc_energy"), _CALCULATED + ": 25·225·60·92 / (1000·12.5·60) = 41.4 kJ/in",
)  # fmt: skip
PREHEAT = Entry(
    "preheat", "Preheat of a steel", "Welds",
    (
        Field("carbon", "Carbon", "%", "0.30", R),
        Field("manganese", "Manganese", "%", "0.50", R),
        Field("chromium", "Chromium", "%", "0.95", R, needed=False),
        Field("molybdenum", "Molybdenum", "%", "0.20", R, needed=False),
        Field("vanadium", "Vanadium", "%", "", R, needed=False),
        Field("nickel", "Nickel", "%", "", R, needed=False),
        Field("copper", "Copper", "%", "", R, needed=False),
        Field("thickness", "Thicker part", "in", "0.71875"),
        Field("hydrogen", "Hydrogen of the wire, ml/100 g", "", "5"),
        Field("heat_input", "Heat input, kJ/mm", "", "0.90"),
        Field("least", "Least preheat of the procedure", "F", "", LOW, needed=False, role="preheat"),
        Field("preheat", "Probe reads", "F", "", R, needed=False),
    ),
    _asking("preheat"), _CALCULATED + ": CET = 0.30 + (0.50 + 0.20)/10 + 0.95/20 = 0.4175",
)  # fmt: skip
DEW = Entry(
    "dew_point", "Paint now, or wait", "Paint",
    (
        Field("surface", "Steel", "F", "13 C", R),
        Field("air", "Air", "F", "16 C", R),
        Field("humidity", "Relative humidity", "%", "71", R),
        Field("margin", "Steel above the dew point, at least (a difference)", "F", "5.4", LOW, needed=False),
        Field("wettest", "Most humidity", "%", "85", needed=False),
    ),
    _asking("dew_point"), "published dew-point chart: 16 °C and 71 % give 11 °C, so steel at 13 °C is too cold",
)  # fmt: skip
WET = Entry(
    "wet_film", "Wet film", "Paint",
    (
        Field("dry_low", "Dry film, least", "mil", "75 um"),
        Field("dry_high", "Dry film, most", "mil", "75 um"),
        Field("volume_solids", "Solids, share of one", "", "0.60"),
        Field("thinner", "Thinner, share of one", "", "0.10"),
    ),
    _asking("wet_film"), "75 µm dry of 60 % solids with 10 % thinner are 137.5 µm wet (calculated)",
)  # fmt: skip
LEAK = Entry(
    "leak_test", "Leak, or the weather", "Test",
    (
        Field("start", "Pressure at the start", "psi", "5.00", R),
        Field("start_temperature", "Temperature at the start", "F", "72.0", R),
        Field("end", "Pressure at the end", "psi", "4.89", R),
        Field("end_temperature", "Temperature at the end", "F", "70.0", R),
        Field("seconds", "Held for", "s", "300", R),
        Field("barometer", "Air pressure", "psi", "14.70", R, needed=False),
        Field("drop", "Most corrected drop", "psi", "0.10", HIGH, needed=False),
        Field("volume", "Volume, litres", "", "12"),
        Field("test_seconds", "Time of the test", "s", "300"),
        Field("settled", "Temperature may change by (a difference)", "F", "2"),
    ),
    _asking("leak_test"), _CALCULATED + ": 19.70 · (529.67 / 531.67) - 19.59 = 0.036 psi",
)  # fmt: skip
LENGTH = Entry(
    "length_at_20", "Length at 20 °C", "Measuring",
    (
        Field("reading", "Reading", "mm", "88.900"),
        Field("part", "Part", "C", "35"),
        Field("gauge", "Gauge", "C", "20"),
        Field("part_expansion", "Expansion of the part, millionths per K", "", "11.5", needed=False),
        Field("gauge_expansion", "Expansion of the gauge, millionths per K", "", "11.5", needed=False),
        Field("tolerance", "Tolerance of the drawing", "mm", "", needed=False),
    ),
    length_at_20, _CALCULATED + ": 88.900 · (1 - 11.5e-6 · 15) = 88.88466 mm",
)  # fmt: skip
UNITS = Entry(
    "units", "From one unit to another", "Measuring",
    (
        Field("value", "Figure", "", "3.0625"),
        Field("from", "From", "", "in", words=True),
        Field("to", "To", "", "mm", words=True),
    ),
    unit_change, "1 in = 25.4 mm exactly: 77.7875 mm",
)  # fmt: skip

ENTRIES = (
    PRESS, ISO, *FITS, WARMING,
    TORQUE, WRENCH, *BOLTS,
    GEARS, *GEAR_ENTRIES, *BEARINGS,
    *STRENGTH, *GEOMETRY,
    ARC, PREHEAT, *WELDS,
    DEW, WET, *COATINGS,
    LEAK, STORED,
    LENGTH, GUARD, UNITS,
)  # fmt: skip
BOOK: Mapping[str, Entry] = {entry.name: entry for entry in ENTRIES}
