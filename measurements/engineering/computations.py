"""The named computations of a build card: what a card computes and nobody types.

A card gives a characteristic the name of a computation, the code that feeds each of its `inputs` (named by
their role, such as outer and bore), and fixed constants. `compute` takes the readings by role and position,
with the codes for its refusals, and gives one exact result per group. A position is "left A", "right 7",
"3" or "": its first word is the side when it is left or right. Computations that reduce readings give one
result per side ("" without a side), the others one per position.

Every result is a `Fraction`, exact and never rounded: 3.0652 - 3.0642 and .0082 - .0062 change their
verdict in binary floats. Only the dew point needs a logarithm; it is worked to 30 digits.
An input may be None for a position that is expected and not yet read: it is refused by name.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from measurements.engineering.dew_point import dew_point_exact
from measurements.engineering.leak import STANDARD_ATMOSPHERE_PSI, corrected_drop
from measurements.engineering.limits import Limits, plain
from measurements.engineering.units import Exact, convert, rounded
from measurements.engineering.validity import above_zero

SIDES = ("left", "right")
Readings = Mapping[str, Exact | None]
Columns = Mapping[str, Mapping[str, Fraction]]
Constants = Mapping[str, Decimal]


class MissingInput(ValueError):
    """A reading a computation needs is not there; names its code and position."""

    def __init__(self, code: str, position: str = "") -> None:
        self.code, self.position = code, position
        self.where = f"{code} position {position}" if position else code
        super().__init__(f"{self.where} is not read yet: it is needed here.")


@dataclass(frozen=True, slots=True)
class Result:
    """An exact result, and what is shown beside it (such as smallest and largest)."""

    value: Fraction
    shown: Mapping[str, Fraction] = field(default_factory=dict)

    def remark(self, limits: Limits) -> str:
        """A sentence when the computed smallest is below the window although the value is judged by means."""
        smallest = self.shown.get("smallest")
        if smallest is None or limits.low is None or smallest >= Fraction(limits.low):
            return ""
        return f"The computed minimum is below the window: a pair of readings gives less than {plain(limits.low)}."


@dataclass(frozen=True, slots=True)
class Computation:
    """One entry of the table: its inputs by role, what may be left out, and what it says it does."""

    inputs: tuple[str, ...]
    work: Callable[[Columns, Constants], dict[str, Result]]
    says: str
    optional_inputs: tuple[str, ...] = ()
    constants: tuple[str, ...] = ()
    by_side: bool = False
    fewest: int = 1


def side_of(position: str) -> str:
    """ "left" or "right" when the position begins so, else ""."""
    first = position.split(" ", 1)[0]
    return first if first in SIDES else ""


def _by_side(column: Mapping[str, Fraction]) -> dict[str, list[Fraction]]:
    groups: dict[str, list[Fraction]] = {}
    for position, value in column.items():
        groups.setdefault(side_of(position), []).append(value)
    return groups


def _mean(values: Sequence[Fraction]) -> Fraction:
    return sum(values, Fraction(0)) / len(values)


def _interference(of: Columns, _: Constants) -> dict[str, Result]:
    shafts, holes = _by_side(of["outer"]), _by_side(of["bore"])
    return {
        side: Result(
            _mean(shaft) - _mean(holes[side]),
            {"smallest": min(shaft) - max(holes[side]), "largest": max(shaft) - min(holes[side])},
        )
        for side, shaft in shafts.items()
    }


def _reduce(
    reduce: Callable[[list[Fraction]], Fraction],
) -> Callable[[Columns, Constants], dict[str, Result]]:
    def work(of: Columns, _: Constants) -> dict[str, Result]:
        return {
            side: Result(reduce(values), {"smallest": min(values), "largest": max(values)})
            for side, values in _by_side(of["readings"]).items()
        }

    return work


def _spread(values: list[Fraction]) -> Fraction:
    return max(values) - min(values)


def _difference(of: Columns, _: Constants) -> dict[str, Result]:
    return {position: Result(first - of["second"][position]) for position, first in of["first"].items()}


def _arc_energy(of: Columns, _: Constants) -> dict[str, Result]:
    out = {}
    for position, volts in of["volts"].items():
        speed = of["travel_speed"][position]
        above_zero("travel speed", speed)
        out[position] = Result(volts * of["amps"][position] * 60 / (1000 * speed))
    return out


def _travel_speed(of: Columns, _: Constants) -> dict[str, Result]:
    out = {}
    for position, length in of["length"].items():
        seconds = of["arc_time"][position]
        above_zero("arc time", seconds, "s")
        out[position] = Result(length * 60 / seconds)
    return out


def _hours_since(of: Columns, _: Constants) -> dict[str, Result]:
    last = max(of["arcs"].values())
    return {position: Result((look - last) / 3600) for position, look in of["look"].items()}


def _corrected_drop(of: Columns, constants: Constants) -> dict[str, Result]:
    standard = Fraction(constants.get("standard_atmosphere", STANDARD_ATMOSPHERE_PSI))
    unit = "C" if constants.get("celsius") else "F"
    out = {}
    for position, start in of["start_pressure"].items():
        end = of["end_pressure"][position]
        atmosphere = of["barometer"][position] if "barometer" in of else standard
        drop = corrected_drop(
            start=start,
            end=end,
            start_kelvin=convert(of["start_temperature"][position], unit, "K"),
            end_kelvin=convert(of["end_temperature"][position], unit, "K"),
            atmosphere=atmosphere,
        )
        out[position] = Result(drop, {"raw": start - end, "atmosphere": atmosphere})
    return out


def _dew_point_margin(of: Columns, constants: Constants) -> dict[str, Result]:
    unit = "C" if constants.get("celsius") else "F"
    out = {}
    for position, surface in of["surface_temperature"].items():
        dew_c = dew_point_exact(convert(of["air_temperature"][position], unit, "C"), of["relative_humidity"][position])
        dew = convert(dew_c, "C", unit)
        out[position] = Result(surface - dew, {"dew point": dew})
    return out


def _reduction(reduce: Callable[[list[Fraction]], Fraction], says: str, fewest: int = 1) -> Computation:
    return Computation(("readings",), _reduce(reduce), f"{says}, per side", by_side=True, fewest=fewest)


COMPUTATIONS: dict[str, Computation] = {
    "interference_of_means": Computation(
        ("outer", "bore"), _interference, "mean of the outer − mean of the bore, per side", by_side=True
    ),
    "out_of_round": _reduction(_spread, "largest − smallest diameter of one bore", fewest=2),
    "variation": _reduction(_spread, "largest − smallest of all points", fewest=2),
    "mean_of": _reduction(_mean, "mean of the readings"),
    "smallest_of": _reduction(min, "smallest of the readings"),
    "largest_of": _reduction(max, "largest of the readings"),
    "count_of": _reduction(lambda values: Fraction(len(values)), "how many positions are read"),
    "difference": Computation(("first", "second"), _difference, "first − second, per position"),
    "arc_energy": Computation(
        ("volts", "amps", "travel_speed"),
        _arc_energy,
        "V·A·60/(1000·speed), kJ per unit of length; speed per minute",
    ),
    "travel_speed": Computation(
        ("length", "arc_time"), _travel_speed, "length·60/arc time in seconds, unit of length per minute"
    ),
    "hours_since_last_arc": Computation(
        ("look", "arcs"), _hours_since, "hours from the end of the last of all arcs; moments in seconds"
    ),
    "corrected_pressure_drop": Computation(
        ("start_pressure", "end_pressure", "start_temperature", "end_temperature", "barometer"),
        _corrected_drop,
        "gauge pressure lost, corrected to the start temperature by the gas law in absolute pressure",
        optional_inputs=("barometer",),
        constants=("standard_atmosphere", "celsius"),
    ),
    "dew_point_margin": Computation(
        ("surface_temperature", "air_temperature", "relative_humidity"),
        _dew_point_margin,
        "surface temperature − dew point of the air; humidity in %",
        constants=("celsius",),
    ),
}

# Only the last arc counts, wherever it was: its inputs have no positions in common.
_UNPAIRED = {"hours_since_last_arc"}


def computation_named(name: str) -> Computation:
    """The table's entry, or a ValueError naming those there are."""
    if name not in COMPUTATIONS:
        raise ValueError(f"There is no computation “{name}”. There are: {', '.join(sorted(COMPUTATIONS))}.")
    return COMPUTATIONS[name]


def check_card(name: str, inputs: Collection[str], constants: Collection[str] = ()) -> None:
    """Refuse a computation named wrongly: unknown, an input missing or stray, a stray constant."""
    entry = computation_named(name)
    for role in entry.inputs:
        if role not in inputs and role not in entry.optional_inputs:
            raise ValueError(f"“{name}” needs the input “{role}”. It takes: {', '.join(entry.inputs)}.")
    for role in inputs:
        if role not in entry.inputs:
            raise ValueError(f"“{name}” has no input “{role}”. It takes: {', '.join(entry.inputs)}.")
    for constant in constants:
        if constant not in entry.constants:
            raise ValueError(f"“{name}” has no constant “{constant}”.")


def compute(
    name: str,
    inputs: Mapping[str, Readings],
    constants: Constants | None = None,
    codes: Mapping[str, str] | None = None,
) -> dict[str, Result]:
    """The exact results by group; a reading that is not there is refused by code and position.

    `inputs` is keyed by role; `codes` gives the characteristic's code for each role, for the refusal.
    """
    constants, code_of = constants or {}, codes or {}
    check_card(name, inputs, constants)
    entry = computation_named(name)
    columns: Columns = {role: _complete(code_of.get(role, role), readings) for role, readings in inputs.items()}
    if name not in _UNPAIRED:
        columns = columns if entry.by_side else _spread_unlabelled(columns)
        _same_groups(columns, code_of, by_side=entry.by_side)
    for role, column in columns.items():
        for side, values in _by_side(column).items():
            if len(values) < entry.fewest:
                raise MissingInput(code_of.get(role, role), f"{side} {len(values) + 1}".strip())
    return entry.work(columns, constants)


def _complete(code: str, readings: Readings) -> dict[str, Fraction]:
    if not readings:
        raise MissingInput(code)
    complete = {}
    for position, value in readings.items():
        if value is None:
            raise MissingInput(code, position)
        complete[position] = Fraction(value)
    return complete


def _spread_unlabelled(columns: Columns) -> Columns:
    """One reading without a position holds for every position of the other inputs."""
    positions = dict.fromkeys(position for column in columns.values() for position in column if position)
    return {
        role: dict.fromkeys(positions, column[""]) if positions and list(column) == [""] else column
        for role, column in columns.items()
    }


def _same_groups(columns: Columns, code_of: Mapping[str, str], *, by_side: bool) -> None:
    groups = {
        role: dict.fromkeys(side_of(position) if by_side else position for position in column)
        for role, column in columns.items()
    }
    for wanted in groups.values():
        for role, present in groups.items():
            for group in wanted:
                if group not in present:
                    raise MissingInput(code_of.get(role, role), group)


def as_decimal(value: Exact, places: int) -> Decimal:
    """A result rounded for show only (a tie to even); verdicts are given on the exact value."""
    return rounded(value, Decimal(1).scaleb(-places))
