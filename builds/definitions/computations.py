"""The computations a card may name: what each one wants as input. The arithmetic itself lives elsewhere."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Form:
    """What a computation is called with. Inputs are codes of other characteristics of the card."""

    inputs: tuple[str, ...] = ()
    may_have: tuple[str, ...] = ()  # inputs that may be left out
    constants: tuple[str, ...] = ()  # fixed figures that may be given
    event: bool = False  # counts from an event
    says: str = ""


COMPUTATIONS = {
    "interference_of_means": Form(("outer", "bore"), says="mean of outer less mean of bore, in the drawing unit"),
    "out_of_round": Form(("readings",), says="largest less smallest of the readings across one bore"),
    "variation": Form(("readings",), says="largest less smallest of all readings"),
    "mean_of": Form(("readings",), says="mean of the readings"),
    "smallest_of": Form(("readings",), says="smallest of the readings"),
    "largest_of": Form(("readings",), says="largest of the readings"),
    "count_of": Form(("readings",), says="how many positions are read"),
    "difference": Form(("first", "second"), says="first less second"),
    "travel_speed": Form(("length", "arc_time"), says="length over arc time in seconds, in drawing units a minute"),
    "arc_energy": Form(("volts", "amps", "travel_speed"), says="V·A·60/(1000·speed), in kJ per drawing unit"),
    "hours_since_last_arc": Form(event=True, says="hours from the end of the last arc on the axle"),
    "corrected_pressure_drop": Form(
        ("start_pressure", "end_pressure", "start_temperature", "end_temperature"),
        may_have=("barometer",),
        constants=("standard_atmosphere", "celsius"),
        says="start pressure less end pressure brought to the start temperature; absolute in the gas law",
    ),
    "dew_point_margin": Form(
        ("surface_temperature", "air_temperature", "relative_humidity"),
        constants=("celsius",),
        says="surface temperature less dew point of the air",
    ),
}


def feeds(label: str, position: str) -> bool:
    """Whether a reading at `label` is an input of the computed value at `position`.

    A reading without a label feeds every position; a position without a label takes every reading; otherwise
    the labels are equal or the reading's label continues the position's ("left" takes "left 3").
    """
    return label in ("", position) or not position or label.startswith(f"{position} ")
