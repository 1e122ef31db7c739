"""The closed lists of words an axle definition may use. A word that is not here fails loading."""

from enum import StrEnum

SIDES = ("left", "right")
ANY_SECOND_PERSON = "second_person"
LAST_ARC = "last_arc"

ROLES = {
    "receiver": "receiver",
    "tube_prep": "tube prep",
    "welder": "welder",
    "painter": "painter",
    "assembler": "assembler",
    "hub_bench": "hub bench",
    "lead_builder": "lead builder",
    "inspector": "inspector",
    "engineer": "engineer",
    "quality": "quality",
    "shipper": "shipper",
    "manager": "manager",
    "office": "office",
    "owner": "owner",
}

SKILLS = {
    "gas_metal_arc": "gas-metal-arc welding",
    "gas_tungsten_arc": "gas-tungsten-arc welding",
    "visual_weld_look": "looking at welds",
}


def skill_words(process: str) -> str:
    """How a process is called; one that this list does not know, by its code."""
    return SKILLS.get(process, process.replace("_", " "))


GAUGE_KINDS = {
    "tape_or_rule": "tape or rule",
    "outside_micrometer": "outside micrometer",
    "bore_gauge": "bore gauge",
    "height_stand_or_long_caliper": "height stand or long caliper",
    "long_caliper_or_gauge_bar": "long caliper or gauge bar",
    "dial_indicator": "dial indicator",
    "angle_gauge": "angle gauge",
    "digital_angle_gauge": "digital angle gauge",
    "press_load_cell": "press load cell",
    "feeler": "feeler",
    "contact_pyrometer": "contact pyrometer",
    "machine_meter": "machine meter",
    "stop_watch": "stop watch",
    "undercut_gauge": "undercut gauge",
    "weld_gauge": "weld gauge",
    "plug_gauge": "plug gauge",
    "taper_plug_gauge": "taper plug gauge",
    "surface_probe": "surface probe",
    "air_and_humidity_meter": "air and humidity meter",
    "magnetic_film_gauge": "magnetic film gauge",
    "torque_wrench": "torque wrench",
    "inch_pound_wrench": "inch-pound wrench",
    "depth_tool": "depth tool",
    "depth_gauge": "depth gauge",
    "scale": "scale",
    "air_pressure_gauge": "air pressure gauge",
    "low_range_pressure_gauge": "low-range pressure gauge",
    "gas_thermometer": "gas thermometer",
    "barometer": "barometer",
}

UNITS = (
    "in",
    "mm",
    "mil",
    "µm",
    "deg",
    "turns",
    "lbf",
    "N",
    "kN",
    "ft-lb",
    "in-lb",
    "N·m",
    "psi",
    "ksi",
    "kPa",
    "MPa",
    "bar",
    "mbar",
    "F",
    "C",
    "V",
    "A",
    "in/min",
    "mm/min",
    "kJ/in",
    "kJ/mm",
    "s",
    "min",
    "h",
    "oz",
    "g",
    "kg",
    "%",
    "count",
    "B-grade",
    "yes/no",
)

ZONES = (
    "whole",
    "tube",
    "spindle",
    "housing",
    "brackets",
    "gear set",
    "pinion",
    "cover",
    "hub",
    "brake",
    "shaft",
)


class Kind(StrEnum):
    """How a characteristic gets its value."""

    MEASURED = "measured"
    COUNTED = "counted"
    YES_NO = "yes_no"
    GO_NO_GO = "go_no_go"
    CHOICE = "choice"
    TEXT = "text"
    TIME = "time"  # a moment the worker states; it may start a wait (see Characteristic.event)
    PHOTO = "photo"
    COMPUTED = "computed"
    GIVEN = "given"  # belongs to a heat or to a bought part; the visit cites it


class HoldKind(StrEnum):
    """When a second signature is due."""

    HOLD = "hold"  # stop until signed, every time
    WITNESS = "witness"  # invited; work may go on without
    FIRST_HEAT = "first_heat"  # stop until one inspector has freed this heat, shop-wide, once
    FIRST_PIECE = "first_piece"  # stop at the first piece of a station, shift and model
    CERTIFICATE = "certificate"  # the signature that stands under the certificate


class SampleKind(StrEnum):
    """Which pieces are measured."""

    EVERY = "every"
    FIRST_AND_EVERY = "first_and_every"  # pieces 1, 1+n, 1+2n ... of a station, shift and model
    EACH_HEAT = "each_heat"  # once for the heat, not per axle
    BATCH = "batch"  # once for the batch that several axles share
    FIRST_PIECE = "first_piece"  # piece 1 of a station, shift and model


class ReactionKind(StrEnum):
    """What a value out of limit does."""

    REPEAT = "repeat"  # again at the same place, n times, then a red tag
    WAIT = "wait"  # try again when it is so; nothing else goes on
    BACK = "back"  # back to an earlier operation, so many rounds, then a red tag
    TAG = "tag"  # red tag at once
    STOP = "stop"  # red tag and stop the axle at once


class Tracking(StrEnum):
    """How a part keeps its identity."""

    SERIAL = "serial"  # unique, in one place only
    LOT = "lot"  # counted, one lot on many axles
    BULK = "bulk"  # an open drum, can or spool, used over a time span
    HEAT = "heat"  # known by the steel melt
    PIECE = "piece"  # a cut length of a heat


class Class(StrEnum):
    """What a concession on this characteristic needs."""

    SAFETY = "S"
    FIT = "F"
    LOOK = "L"
