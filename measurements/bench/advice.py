"""The advices a build card may name: the roles it feeds, its fixed inputs, and who works it out.

An advice answers from what was just read. It never signs, never edits a reading, and says so when it does not know.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field

from measurements.bench.answer import Answer, unknown
from measurements.bench.arc import arc_energy
from measurements.bench.bolts import bolt_circle
from measurements.bench.carrier import carrier_share
from measurements.bench.gear import backlash_round
from measurements.bench.given import Given
from measurements.bench.leak import leak_test
from measurements.bench.paint import dew_point, film_readings, film_spots, lay_wet
from measurements.bench.pattern import tooth_pattern
from measurements.bench.preload import preload_step
from measurements.bench.press import press_fit
from measurements.bench.shims import SIZES, shim_advice
from measurements.bench.warming import warming
from measurements.bench.weld import ELEMENTS, preheat
from measurements.bench.welder import welder_and_wire
from measurements.engineering.validity import OutsideValidity


@dataclass(frozen=True, slots=True)
class Advice:
    """One advice: what it is called with.

    inputs    roles that must be read; may_have: roles that sharpen the answer
    named     roles that the card must feed, and that the answer does not wait for: it says which are not read
    figures   fixed inputs of the card; may_fix: those that may be left out
    facts     what it is told beside readings and figures: heats, welder, procedure, wire
    tries     whether it learns from this axle's earlier tries at the operation
    once      whether it is given when the pass is taken up and not again at each entry: twelve bolts, one order; only
              what sharpens it asks for it anew
    units     of the roles that are figures, as it works with them; a card in other units may not name it
    """

    title: str
    work: Callable[[Given], Answer]
    inputs: tuple[str, ...] = ()
    named: tuple[str, ...] = ()
    may_have: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()
    may_fix: tuple[str, ...] = ()
    facts: tuple[str, ...] = ()
    tries: bool = False
    once: bool = False
    units: Mapping[str, str] = field(default_factory=dict)


_MIL = {"readings": "mil", "mean": "mil"}

ADVICE: Mapping[str, Advice] = {
    "press_fit": Advice(
        "Press this pair",
        press_fit,
        inputs=("outer", "bore"),
        may_have=("peak", "lubricant"),
        figures=(
            "hub_outside",
            "fit_diameter",
            "shaft_bore",
            "length",
            "modulus_psi",
            "poisson",
            "friction_low",
            "friction_high",
        ),
        may_fix=("friction_dry",),
        units={"outer": "in", "bore": "in", "peak": "lbf"},
    ),
    "preheat": Advice(
        "Preheat",
        preheat,
        named=("preheat",),
        may_have=("interpass", *ELEMENTS),
        figures=("thickness", "hydrogen", "heat_input"),
        facts=("heats",),
        units={"preheat": "F", "interpass": "F"} | dict.fromkeys(ELEMENTS, "%"),
    ),
    "arc_energy": Advice(
        "Arc energy",
        arc_energy,
        named=("volts", "amps", "length", "arc_time"),
        may_have=("speed", "energy"),
        figures=("factor",),
        units={
            "volts": "V",
            "amps": "A",
            "length": "in",
            "arc_time": "s",
            "speed": "in/min",
            "energy": "kJ/in",
        },
    ),
    "welder_and_wire": Advice("Welder and wire", welder_and_wire, facts=("welder", "procedure", "wire")),
    "dew_point": Advice(
        "Paint now, or wait",
        dew_point,
        inputs=("surface", "air", "humidity"),
        may_have=("margin",),
        may_fix=("wettest",),
        units={"surface": "F", "air": "F", "humidity": "%", "margin": "F"},
    ),
    "wet_film": Advice("Wet film", lay_wet, figures=("dry_low", "dry_high", "volume_solids", "thinner")),
    "film": Advice("Film by spots", film_spots, inputs=("readings",), may_have=("mean",), units=_MIL),
    "film_readings": Advice("Film by readings", film_readings, inputs=("readings",), may_have=("mean",), units=_MIL),
    "leak_test": Advice(
        "Leak, or the weather",
        leak_test,
        named=("start", "start_temperature", "seconds", "end", "end_temperature"),
        may_have=("barometer", "drop"),
        figures=("volume", "test_seconds", "settled"),
        units={
            "start": "psi",
            "end": "psi",
            "barometer": "psi",
            "drop": "psi",
            "seconds": "s",
            "start_temperature": "F",
            "end_temperature": "F",
        },
    ),
    "warming": Advice(
        "Warm the ring gear",
        warming,
        named=("temperature",),
        figures=("fit_diameter", "interference", "clearance", "expansion", "room"),
        may_fix=("ceiling",),
        units={"temperature": "F"},
    ),
    "bolt_circle": Advice(
        "Bolts: order and wrench",
        bolt_circle,
        named=("torque",),
        may_have=("lubricant",),
        figures=("count",),
        may_fix=("wrench", "extension", "angle", "nut_factor", "ticked"),
        once=True,
        units={"torque": "ft-lb"},
    ),
    "shim_advice": Advice(
        "Side shims",
        shim_advice,
        inputs=("backlash",),
        may_have=("packs", "head"),
        figures=("step", "read_to", "ring_on_left"),
        may_fix=SIZES,
        tries=True,
        units={"backlash": "in", "packs": "in", "head": "in"},
    ),
    "tooth_pattern": Advice(
        "Contact pattern",
        tooth_pattern,
        named=("cut", "mark"),
        may_have=("head", "action", "amount"),
        figures=("thicker_is_in", "depth_step"),
        may_fix=("card_cut",),
        tries=True,
        units={"head": "in", "amount": "in"},
    ),
    "preload_step": Advice(
        "Pinion preload",
        preload_step,
        inputs=("torque",),
        may_have=("pack", "head"),
        figures=("step", "read_to", "thicker_is_less"),
        tries=True,
        units={"torque": "in-lb", "pack": "in", "head": "in"},
    ),
    "backlash_round": Advice(
        "Backlash round the gear",
        backlash_round,
        named=("points", "variation"),
        may_have=("bench_runout", "housing_runout"),
        figures=("points", "read_to", "factor"),
        units={"points": "in", "variation": "in", "bench_runout": "in", "housing_runout": "in"},
    ),
    "carrier_share": Advice(
        "Carrier's share",
        carrier_share,
        inputs=("total", "pinion"),
        may_have=("rise",),
        facts=("ring_teeth", "pinion_teeth"),
        units={"total": "in-lb", "pinion": "in-lb", "rise": "in-lb"},
    ),
}


def faults(name: str, roles: Collection[str], figures: Collection[str]) -> list[str]:
    """What is wrong with an advice as a card names it, a sentence each."""
    entry = ADVICE.get(name)
    if entry is None:
        return [f"expected one of {', '.join(ADVICE)}, found {name}"]
    needed = (*entry.inputs, *entry.named)
    said = [f"expected an input {role}; {name} needs it" for role in needed if role not in roles]
    known = (*needed, *entry.may_have)
    said += [f"expected only the inputs {', '.join(known)}, found {role}" for role in roles if role not in known]
    said += [f"expected the figure {one}; {name} needs it" for one in entry.figures if one not in figures]
    fixed = (*entry.figures, *entry.may_fix)
    said += [f"expected only the figures {', '.join(fixed)}, found {one}" for one in figures if one not in fixed]
    return said


def advise(name: str, given: Given, codes: Mapping[str, str]) -> Answer:
    """The answer to an advice; `codes` names the characteristic of each role for what is missing."""
    entry = ADVICE[name]
    missing = [codes.get(role, role) for role in entry.inputs if not given.readings.get(role)]
    if missing:
        return unknown(f"{entry.title}: not to be told yet.", *(f"{code} is not read yet." for code in missing))
    try:
        return entry.work(given)
    except OutsideValidity as outside:
        return unknown(f"{entry.title}: not to be told from these readings.", outside.text)


def unit_of(name: str, role: str) -> str:
    """The unit that an advice works with at this role; empty where it is a word, or not known."""
    entry = ADVICE.get(name)
    return entry.units.get(role, "") if entry is not None else ""
