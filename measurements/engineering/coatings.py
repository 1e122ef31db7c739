"""Paint film: wet and dry thickness, coverage, acceptance of film readings, cross-cut.

Film readings are judged exactly (`Fraction` from `Decimal`) in whatever unit they were read; the two rules of
acceptance, ISO 19840 and SSPC-PA 2, have different ideas of a reading and are never mixed on one axle.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from measurements.engineering.validity import above_zero, between, not_below_zero, require


@dataclass(frozen=True, slots=True)
class FilmVerdict:
    """Whether the film is accepted, its mean, and a sentence for each thing that is not right."""

    mean: Fraction
    findings: tuple[str, ...]

    @property
    def accepted(self) -> bool:
        """No finding."""
        return not self.findings


@dataclass(frozen=True, slots=True)
class Iso19840:
    """The settings of ISO 19840 acceptance; `strict` is the source's wording "less than 20 %"."""

    nominal: Decimal
    most: Decimal | None = None  # None: three times the nominal
    strict: bool = True

    def __post_init__(self) -> None:
        above_zero("nominal film thickness", self.nominal)
        require(
            self.most is None or self.most >= self.nominal,
            "The largest film allowed must not be less than the nominal one.",
        )

    def judge(self, readings: Sequence[Decimal]) -> FilmVerdict:
        """Mean >= nominal; none below 80 %; fewer than 20 % of them below nominal; none above the most."""
        require(bool(readings), "There is no film reading to judge.")
        exact = [Fraction(reading) for reading in readings]
        nominal = Fraction(self.nominal)
        most = 3 * nominal if self.most is None else Fraction(self.most)
        mean = sum(exact, Fraction(0)) / len(exact)
        thin = Fraction(sum(1 for reading in exact if reading < nominal), len(exact))
        findings = []
        if mean < nominal:
            findings.append("The mean is below the nominal film.")
        if min(exact) < nominal * Fraction(4, 5):
            findings.append("A reading is below 80 % of the nominal film.")
        if thin > Fraction(1, 5) or (self.strict and thin == Fraction(1, 5)):
            findings.append("Too many readings are below the nominal film.")
        if max(exact) > most:
            findings.append("A reading is above the largest film allowed.")
        return FilmVerdict(mean, tuple(findings))


def iso19840_readings(area_m2: float) -> int:
    """How many readings an area needs: 5 to 1 m², 10 to 3 m², 15 to 10 m² (from memory)."""
    above_zero("area", area_m2, "m²")
    require(area_m2 <= 10, "Above 10 m² divide the surface and take each part for itself.", field="area")
    return next(count for largest, count in ((1, 5), (3, 10), (10, 15)) if area_m2 <= largest)


@dataclass(frozen=True, slots=True)
class Pa2Area:
    """SSPC-PA 2 for one area of 10 m² (100 ft²): five spots, each the mean of three or more readings.

    Level 3 (as quoted): every spot from 80 % of the least to 120 % of the most; the area's mean inside.
    """

    low: Decimal
    high: Decimal
    spots: int = 5
    readings: int = 3

    def __post_init__(self) -> None:
        above_zero("least film", self.low)
        require(self.low <= self.high, "The least film must not be more than the most.")

    def spot_means(self, spots: Sequence[Sequence[Decimal]]) -> tuple[Fraction, ...]:
        """The mean of each spot; too few spots or readings are refused by number."""
        require(len(spots) >= self.spots, f"{self.spots} spots are needed, {len(spots)} are read.", field="spots")
        for number, spot in enumerate(spots, 1):
            require(
                len(spot) >= self.readings,
                f"Spot {number} has {len(spot)} readings; {self.readings} are needed.",
                field=f"spot {number}",
            )
        return tuple(sum(map(Fraction, spot), Fraction(0)) / len(spot) for spot in spots)

    def judge(self, spots: Sequence[Sequence[Decimal]]) -> FilmVerdict:
        """The verdict on one area from its readings by spot."""
        means = self.spot_means(spots)
        mean = sum(means, Fraction(0)) / len(means)
        findings = []
        for number, spot in enumerate(means, 1):
            if not Fraction(4, 5) * Fraction(self.low) <= spot <= Fraction(6, 5) * Fraction(self.high):
                findings.append(f"Spot {number} is outside 80 % of the least to 120 % of the most film.")
        if not Fraction(self.low) <= mean <= Fraction(self.high):
            findings.append("The mean of the area is outside the limits.")
        return FilmVerdict(mean, tuple(findings))


def pa2_areas(area_m2: float) -> int:
    """How many areas of 10 m² are measured: all of them to 30 m², three to 100 m², one more for each
    further 100 m² (the first figure as quoted, the rest from memory)."""
    above_zero("area", area_m2, "m²")
    if area_m2 <= 30:
        return math.ceil(area_m2 / 10)
    return 3 if area_m2 <= 100 else 3 + math.ceil((area_m2 - 100) / 100)


def wet_film(dry_film: float, volume_solids: float, thinner: float = 0.0) -> float:
    """Wet film to lay for a dry film: DFT (1 + thinner)/VS; shares of one, thickness in any one unit."""
    above_zero("dry film", dry_film)
    _check_solids(volume_solids)
    between("thinner added", thinner, 0, 1)
    return dry_film * (1 + thinner) / volume_solids


def dry_film(wet: float, volume_solids: float, thinner: float = 0.0) -> float:
    """Dry film left by a wet one: WFT VS/(1 + thinner)."""
    above_zero("wet film", wet)
    _check_solids(volume_solids)
    between("thinner added", thinner, 0, 1)
    return wet * volume_solids / (1 + thinner)


def spread_m2_per_litre(dry_film_um: float, volume_solids: float) -> float:
    """Area one litre covers without loss, 1000 VS/DFT (volume over thickness)."""
    above_zero("dry film", dry_film_um, "µm")
    _check_solids(volume_solids)
    return 1000 * volume_solids / dry_film_um


def spread_ft2_per_gallon(dry_film_mil: float, volume_solids: float) -> float:
    """The same in ft² per US gallon: 1604 VS/DFT (231 in³ laid .001 in thick is 1604.2 ft²)."""
    above_zero("dry film", dry_film_mil, "mil")
    _check_solids(volume_solids)
    return 231_000 / 144 * volume_solids / dry_film_mil


def cross_cut_spacing_mm(film_um: float) -> int:
    """Spacing of the cuts, ISO 2409: 1 mm to 60 µm, 2 to 120, 3 to 250 (spacing from memory)."""
    above_zero("film", film_um, "µm")
    require(film_um <= 250, "Above 250 µm the cross-cut does not apply (ISO 2409).", field="film")
    return next(spacing for largest, spacing in ((60, 1), (120, 2), (250, 3)) if film_um <= largest)


def cross_cut_class(area_lost_percent: float) -> int:
    """Class 0 (nothing lost) to 5 (more than 65 %), ISO 2409; bounds from memory. Not the ASTM B grades."""
    between("area lost", area_lost_percent, 0, 100, "%")
    bounds = (0, 5, 15, 35, 65, 100)
    return next(grade for grade, most in enumerate(bounds) if area_lost_percent <= most)


def tape_grade(area_lost_percent: float) -> int:
    """ASTM D3359 grade, 5 (none) to 0 (more than 65 %): 4B under 5 %, 3B 5-15 %, 2B 15-35 %, 1B 35-65 %.

    The scale has no gap on paper: a value on a bound takes the worse grade, except 0 and 65.
    """
    between("area lost", area_lost_percent, 0, 100, "%")
    if area_lost_percent == 0:
        return 5
    if area_lost_percent > 65:
        return 0
    return next(grade for grade, least in ((1, 35), (2, 15), (3, 5), (4, 0)) if area_lost_percent >= least)


def film_area_m2(outside_diameter_m: float, length_m: float) -> float:
    """Painted surface of a tube, π D L."""
    above_zero("outside diameter", outside_diameter_m, "m")
    not_below_zero("length", length_m, "m")
    return math.pi * outside_diameter_m * length_m


def _check_solids(volume_solids: float) -> None:
    between("volume solids (a share of one)", volume_solids, 0.05, 1)
