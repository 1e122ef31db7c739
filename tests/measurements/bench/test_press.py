"""The press advice against a case worked by hand and against the card's own window."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from measurements.bench.advice import advise, faults
from measurements.bench.answer import PICTURES, Answer, Tone
from measurements.bench.given import Given, Value
from measurements.engineering.limits import Limits
from measurements.engineering.windows import window

FIGURES = {
    name: Decimal(text)
    for name, text in {
        "hub_outside": "3.625",
        "fit_diameter": "3.0625",
        "shaft_bore": "1.625",
        "length": "3.750",
        "modulus_psi": "29000000",
        "poisson": "0.29",
        "friction_low": "0.08",
        "friction_high": "0.15",
        "friction_dry": "0.20",
    }.items()
}
PAIR: dict[str, dict[str, Value]] = {
    "outer": {"": Decimal("3.0650")},
    "bore": {"A": Decimal("3.0629"), "B": Decimal("3.0631")},
}


def answer(**more: dict[str, Value]) -> Answer:
    return advise("press_fit", Given(readings=PAIR | more, figures=FIGURES), {"bore": "50.3 Spindle bore"})


def band(told: Answer) -> tuple[int, int]:
    assert told.picture is not None
    return round(float(told.picture.data["low"])), round(float(told.picture.data["high"]))


def test_the_band_is_that_of_this_pair() -> None:
    """Calculated from Lamé (Shigley §3-16), equal steel: p = δE/d · (Do²-d²)(d²-Di²) / (2d²(Do²-Di²))."""
    d, outside, inside, delta = 3.0625, 3.625, 1.625, 0.0020
    p = delta * 29e6 / d * (outside**2 - d**2) * (d**2 - inside**2) / (2 * d**2 * (outside**2 - inside**2))
    area = 3.141592653589793 * d * 3.750
    assert band(answer()) == (round(p * area * 0.08), round(p * area * 0.15))


def test_the_pair_at_the_card_s_edges_gives_the_card_s_window() -> None:
    """RULES: 70.1 is 3520 to 19100 lbf for .0010 to .0029 in of interference."""
    edges = window(
        "press_force",
        {name: FIGURES[name] for name in FIGURES if name != "friction_dry"}
        | {"interference_low": Decimal(".0010"), "interference_high": Decimal(".0029")},
        "lbf",
    )
    assert (edges.low, edges.high) == (3520, 19100)
    loosest, tightest = answer(outer={"": Decimal("3.0640")}), answer(outer={"": Decimal("3.0659")})
    assert (round(band(loosest)[0], -1), round(band(tightest)[1], -2)) == (3520, 19100)


@pytest.mark.parametrize(
    ("peak", "tone", "word"),
    [(7034, Tone.STOP, "less"), (7036, Tone.GO, "is what"), (13190, Tone.GO, "is what"), (13192, Tone.STOP, "more")],
)
def test_the_logged_peak_is_judged_against_the_pair(peak: int, tone: Tone, word: str) -> None:
    """A peak inside the card's window and outside the pair's band is told; both ends of the band are in."""
    told = answer(peak={"": Decimal(peak)})
    assert (told.tone, word in told.says) == (tone, True)


def test_a_dry_fit_is_told_and_may_take_more() -> None:
    wet, dry = answer(lubricant={"": "press oil"}), answer(lubricant={"": "dry"})
    assert band(dry)[0] == band(wet)[0]
    assert band(dry)[1] == pytest.approx(band(wet)[1] * 0.20 / 0.15, abs=2)
    assert "Pressed dry" in dry.assumed[0]
    assert "press oil" in wet.assumed[0]
    assert "not recorded yet" in answer().assumed[0]


def test_clearance_is_never_pressed() -> None:
    told = answer(outer={"": Decimal("3.0629")})
    assert (told.tone, told.says) == (Tone.STOP, "Do not press: the parts have clearance, 0.0001 in.")


def test_what_is_missing_is_named_and_nothing_is_guessed() -> None:
    told = answer(bore={})
    assert (told.tone, told.reason, told.lines) == (Tone.UNKNOWN, ("50.3 Spindle bore is not read yet.",), ())


def test_what_no_press_fit_has_is_not_answered() -> None:
    told = answer(outer={"": Decimal("3.1650")})
    assert told.tone is Tone.UNKNOWN
    assert "1 % of the diameter" in told.reason[0]


def test_an_advice_named_wrongly_is_told() -> None:
    roles = ("outer", "bore")
    assert faults("press_fit", roles, FIGURES) == []
    assert faults("press_fit", ("outer", "hub"), FIGURES)[0] == "expected an input bore; press_fit needs it"
    assert "found hub" in faults("press_fit", (*roles, "hub"), FIGURES)[0]
    assert "the figure length" in faults("press_fit", roles, FIGURES.keys() - {"length"})[0]
    assert "found cut" in faults("press_fit", roles, (*FIGURES, "cut"))[0]
    assert "found pres_fit" in faults("pres_fit", roles, FIGURES)[0]


def test_the_picture_shows_the_card_s_window_where_the_card_has_one() -> None:
    limits = {"peak": Limits(Decimal(3520), Decimal(19100))}
    told = advise("press_fit", Given(readings=PAIR, figures=FIGURES, limits=limits), {})
    assert told.picture is not None
    assert told.picture.kind in PICTURES
    assert (told.picture.data["window_low"], told.picture.data["window_high"]) == ("3520", "19100")
    assert "window_low" not in (answer().picture or told.picture).data


def test_an_answer_does_not_depend_on_the_order_of_its_readings() -> None:
    turned = replace(Given(readings=PAIR, figures=FIGURES), readings=dict(reversed(PAIR.items())))
    assert advise("press_fit", turned, {}).says == answer().says
