"""Paint: how far a litre goes, and whether a film is accepted by the one rule or the other."""

from __future__ import annotations

from dataclasses import replace

from measurements.bench.answer import Answer, Line, Tone
from measurements.bench.book import Entry, Field, Part
from measurements.bench.given import Given
from measurements.bench.paint import CAUTION, film_readings, film_spots
from measurements.bench.topics.typed import CALCULATED, fixed, number, turned
from measurements.engineering.coatings import spread_ft2_per_gallon, spread_m2_per_litre
from measurements.engineering.validity import between, not_below_zero, require, scaled

R, LOW, HIGH = Part.READING, Part.LOW, Part.HIGH


def coverage(given: Given) -> Answer:
    """Figures: film (µm), solids (share), area (m²), loss (share)."""
    film, solids, area, loss = (number(given, name) for name in ("film", "solids", "area", "loss"))
    between("loss (a share of one)", loss, 0, 0.9)
    not_below_zero("area", area, "m²")
    spread = spread_m2_per_litre(film, solids)
    inch = spread_ft2_per_gallon(scaled(film, "µm", "mil"), solids)
    lines = [Line("a litre covers", fixed(spread, 2, "m²/L"), fixed(inch, 1, "ft²/gal"), "without loss")]
    litres = area / (spread * (1 - loss))
    if area:
        lines.append(Line("paint for the area", fixed(litres, 2, "L"), turned(litres, "L", "gal", 2)))
    return Answer(
        f"A litre covers {fixed(spread, 2, 'm²')} at {film:g} µm dry.",
        Tone.KNOW,
        tuple(lines),
        worked=(f"1000 · {solids:g} / {film:g} = {fixed(spread, 2, 'm²/L')}",),
        assumed=(f"Loss {100 * loss:g} % of the paint; spraying loses much more than a brush.",),
        source="volume of solids over the dry film",
        validity="solids of 0.05 to 1",
        caution=CAUTION,
    )


def by_spots(given: Given) -> Answer:
    """The advice of the bench. Role: readings (mil), three to a spot in their order."""
    values = given.values("readings")
    require(len(values) % 3 == 0, f"{len(values)} readings were typed: each spot has three.")
    named = {f"{number // 3 + 1}{'ABC'[number % 3]}": value for number, value in enumerate(values)}
    return film_spots(replace(given, readings={"readings": named}))


COATINGS = (
    Entry(
        "coverage", "How far the paint goes", "Paint",
        (
            Field("film", "Dry film", "µm", "75"),
            Field("solids", "Solids, share of one", "", "0.60"),
            Field("area", "Area to paint", "m²", "", needed=False),
            Field("loss", "Loss, share of one", "", "", needed=False),
        ),
        coverage, CALCULATED + ": 10 · 60 % / 75 µm = 8.0 m²/L", also="spread litre gallon",
    ),
    Entry(
        "film_readings", "Film by ISO 19840", "Paint",
        (
            Field("readings", "Dry film readings", "mil",
                  "120um 130um 125um 110um 140um 150um 135um 128um 122um 121um", R, several=True),
            Field("nominal", "Nominal film", "mil", "120 um", LOW, role="mean"),
            Field("most", "Most film, 3 times when left out", "mil", "", HIGH, needed=False, role="mean"),
        ),
        film_readings, CALCULATED + ": mean 128.1 µm of 120, one of ten below 120, none below 96", also="thickness",
    ),
    Entry(
        "film_spots", "Film by SSPC-PA 2", "Paint",
        (
            Field("readings", "Readings, three to a spot, five spots", "mil",
                  "4.0 4.2 4.1 4.4 4.6 4.5 3.9 4.0 4.1 4.8 4.7 4.9 4.2 4.3 4.1", R, several=True),
            Field("least", "Least film", "mil", "4.0", LOW, role="mean"),
            Field("most", "Most film", "mil", "6.0", HIGH, role="mean"),
        ),
        by_spots, CALCULATED + ": spots 4.1, 4.5, 4.0, 4.8, 4.2, mean 4.32 mil", also="thickness",
    ),
)  # fmt: skip
