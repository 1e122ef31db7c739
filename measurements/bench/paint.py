"""In the paint shop: paint now or wait, how much wet film to lay, and whether the dry film is accepted.

Arithmetic and sources: measurements.engineering.dew_point and .coatings. The paint maker's sheet stands above both.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from measurements.bench.answer import Answer, Line, Picture, Tone, unknown
from measurements.bench.given import Given, figure, in_celsius
from measurements.engineering.coatings import FilmVerdict, Iso19840, Pa2Area, wet_film
from measurements.engineering.dew_point import COLDEST_C, WETTEST_PERCENT, dew_point_exact, humidity_for_dew_point
from measurements.engineering.limits import Limits, plain
from measurements.engineering.units import convert

CAUTION = (
    "Solvent vapour: no ignition, run the extraction. Isocyanate two-pack: supplied air, a filter mask is not enough.",
)
_MICROMETRES = "µm"
#: 3 K, ISO 8502-4 and general practice.
_USUAL_F = Decimal("5.4")


@dataclass(frozen=True, slots=True)
class _Air:
    """What was read and what follows, in °F and %."""

    surface: Fraction
    air: Fraction
    humidity: Decimal
    dew: Fraction
    needed: Fraction
    wettest: Decimal

    @property
    def margin(self) -> Fraction:
        return self.surface - self.dew

    @property
    def warm_enough(self) -> Fraction:
        """The steel temperature at which it goes, rounded up to a tenth."""
        return Fraction(math.ceil((self.dew + self.needed) * 10), 10)

    @property
    def dry_enough(self) -> int:
        """The highest whole humidity at which this steel would do; below 1 there is none."""
        wanted = min(self.surface - self.needed, self.air)
        dew, dry = (float(convert(one, "F", "C")) for one in (wanted, self.air))
        return min(math.floor(humidity_for_dew_point(dry, max(dew, COLDEST_C))), math.floor(self.wettest))


def dew_point(given: Given) -> Answer:
    """Go or wait, and what would make it go.

    Roles: surface and air (°F), humidity (%); may have margin, whose least is the card's. Figure: wettest, the highest
    humidity, may be left out.
    """
    air = _air(given)
    says, tone = _paint_now(air)
    return Answer(
        says,
        tone,
        (
            Line("dew point", figure(air.dew, 1, "°F"), in_celsius(air.dew, 1)),
            Line("steel above it", figure(air.margin, 1, "°F"), f"{figure(air.margin * 5 / 9, 1)} °C"),
            Line("steel at least", figure(air.warm_enough, 1, "°F"), in_celsius(air.warm_enough, 1)),
            Line("humidity", f"{plain(air.humidity)} %", note=f"not above {plain(air.wettest)} %"),
        ),
        reason=("Steel near the dew point carries water that nobody sees; paint does not hold on it.",),
        worked=(
            f"γ = ln({plain(air.humidity)}/100) + 17.62 T/(243.12 + T), T = {in_celsius(air.air, 2)};"
            f" dew point = 243.12 γ/(17.62 - γ) = {in_celsius(air.dew, 2)}",
        ),
        assumed=(
            "The meters are right: 1 °F and 2 % of humidity together move the dew point by about 2 °F (calculated).",
            "The coldest place of the axle is the one that was read.",
        ),
        source="Magnus formula (WMO No. 8, from memory); 3 °C or 5 °F above, ISO 8502-4 and general practice",
        validity="air from -49 to 140 °F",
        caution=CAUTION,
        picture=_dew_picture(air),
    )


def _air(given: Given) -> _Air:
    surface, air, humidity = (given.values(role)[0] for role in ("surface", "air", "humidity"))
    least = given.limits.get("margin", Limits()).low
    return _Air(
        Fraction(surface),
        Fraction(air),
        humidity,
        convert(dew_point_exact(convert(air, "F", "C"), Fraction(humidity)), "C", "F"),
        Fraction(_USUAL_F if least is None else least),
        given.figures.get("wettest", Decimal(WETTEST_PERCENT)),
    )


def _paint_now(air: _Air) -> tuple[str, Tone]:
    wet = air.humidity > air.wettest
    if air.margin >= air.needed and not wet:
        return f"The steel is {figure(air.margin, 1, '°F')} above the dew point.", Tone.GO
    if air.margin >= air.needed:
        most = plain(air.wettest)
        return f"{plain(air.humidity)} % humidity is above {most} %. It goes at {most} % or less.", Tone.WAIT
    goes = f"the steel at {figure(air.warm_enough, 1, '°F')} or more"
    if air.dry_enough >= 1:
        goes += f"{' and' if wet else ', or with'} the humidity at {air.dry_enough} % or less"
    return (
        f"The steel is {_above(air.margin)} the dew point; {figure(air.needed, 1, '°F')} above is needed."
        f" It goes with {goes}."
    ), Tone.WAIT


def _dew_picture(air: _Air) -> Picture:
    needed, dew = figure(air.dew + air.needed, 1), figure(air.dew, 1)
    data = {"unit": "°F", "low": needed, "low_says": "needed", "other": dew, "other_says": "dew point"}
    return Picture("thermometer", data | {"value": figure(air.surface, 1), "says": "steel"})


def _above(margin: Fraction) -> str:
    return f"{figure(abs(margin), 1, '°F')} {'above' if margin >= 0 else 'below'}"


def lay_wet(given: Given) -> Answer:
    """How much wet film leaves the dry film that is wanted. Figures: dry_low, dry_high (mil), volume_solids and
    thinner (shares of one)."""
    low, high = float(given.figures["dry_low"]), float(given.figures["dry_high"])
    solids, thinner = float(given.figures["volume_solids"]), float(given.figures["thinner"])
    least, most = (Fraction(wet_film(one, solids, thinner)) for one in (low, high))
    return Answer(
        f"Lay {figure(least, 1)} to {figure(most, 1, 'mil')} wet in all, for {low:g} to {high:g} mil dry.",
        Tone.KNOW,
        (Line("wet film", f"{figure(least, 1)} to {figure(most, 1, 'mil')}", _microns(least, most)),),
        worked=(f"wet = dry · (1 + {thinner:g}) / {solids:g}",),
        assumed=(f"Solids by volume {100 * solids:g} %, thinner added {100 * thinner:g} %, as stated.",),
        source="wet film = dry film (1 + thinner) / volume solids",
        validity="before the solvent leaves: read the comb at once",
        caution=CAUTION,
    )


def _microns(*mils: Fraction) -> str:
    return " to ".join(figure(convert(one, "mil", _MICROMETRES), 0) for one in mils) + f" {_MICROMETRES}"


def film_spots(given: Given) -> Answer:
    """SSPC-PA 2: five spots of three readings. Role: readings (mil) at "1A", "1B" ...; may have mean, whose limits are
    those of the film."""
    spots: dict[str, list[Decimal]] = {}
    for position, value in given.readings["readings"].items():
        if isinstance(value, Decimal):
            spots.setdefault(position.rstrip("ABCDEFGHIJ") or position, []).append(value)
    limits = given.limits.get("mean", Limits())
    if limits.low is None or limits.high is None:
        return unknown("Film: not to be told.", "No least and no most film are given.")
    area = Pa2Area(limits.low, limits.high)
    most = (limits.high * Decimal("1.2"), "120 %:")
    short = 5 * 3 - sum(min(len(values), 3) for values in spots.values())
    means = [sum(map(Fraction, values), Fraction(0)) / len(values) for values in spots.values()]
    if short > 0:
        return Answer(
            f"{short} of 15 readings are still to come.",
            Tone.UNKNOWN,
            _spot_lines(spots, means),
            reason=("Five spots of three readings make an area; fewer are not judged.",),
            source=_PA2,
            picture=_film_picture(means, area.low, most),
        )
    verdict = area.judge(list(spots.values()))
    return _film(verdict, _spot_lines(spots, means), _PA2, _film_picture(means, area.low, most))


_PA2 = "SSPC-PA 2 as quoted: spots of three within 80 % of the least and 120 % of the most, the area's mean inside"
_ISO = "ISO 19840: mean at least nominal, none below 80 %, fewer than 20 % below nominal, none above the most"


def film_readings(given: Given) -> Answer:
    """ISO 19840: single readings. Role: readings; may have mean, whose limits are nominal and most (mil)."""
    values = given.values("readings")
    limits = given.limits.get("mean", Limits())
    if limits.low is None:
        return unknown("Film: not to be told.", "No nominal film is given.")
    verdict = Iso19840(limits.low, limits.high).judge(values)
    lines = (Line("readings", str(len(values)), note=f"{plain(min(values))} to {plain(max(values))} mil"),)
    means = [Fraction(value) for value in values]
    most = (3 * limits.low, "3 times:") if limits.high is None else (limits.high, "most:")
    return _film(verdict, lines, _ISO, _film_picture(means, limits.low, most))


def _film(verdict: FilmVerdict, lines: tuple[Line, ...], source: str, picture: Picture) -> Answer:
    mean = figure(verdict.mean, 2, "mil")
    says = f"The film is accepted, {mean} in the mean."
    if not verdict.accepted:
        says = f"Not accepted: {verdict.findings[0]} The mean is {mean}."
    return Answer(
        says,
        Tone.GO if verdict.accepted else Tone.STOP,
        (Line("mean film", mean, _microns(verdict.mean)), *lines),
        reason=verdict.findings[1:] or ("One rule is used throughout; the two rules of acceptance are never mixed.",),
        assumed=("The gauge was set on the bare steel of this axle; thin edges are not in the readings.",),
        source=source,
        validity="one coated area up to 10 m²",
        caution=("Touch up thin spots with the same batch, within its recoat time.",),
        picture=picture,
    )


def _spot_lines(spots: dict[str, list[Decimal]], means: Sequence[Fraction]) -> tuple[Line, ...]:
    return tuple(
        Line(f"spot {name}", figure(mean, 2, "mil"), note=f"mean of {len(spots[name])}")
        for name, mean in zip(spots, means, strict=True)
    )


def _film_picture(values: Sequence[Fraction], low: Decimal, high: tuple[Decimal, str]) -> Picture:
    """The readings against what each of them must keep; the mean has narrower limits."""
    least, (most, says) = low * Decimal("0.8"), high
    data: dict[str, object] = {"unit": "mil", "spots": [figure(value, 2) for value in values]}
    bounds = {"low": plain(least), "low_says": "80 %:", "high": plain(most), "high_says": says}
    return Picture("film", data | bounds)
