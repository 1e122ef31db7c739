"""The windows of the cards: what they give, where a figure does not agree, and what is kept of them.

The press windows come out again of the inputs kept beside them: thick-wall cylinders of one material (Lamé;
Machinery's Handbook and any text on press fits, from memory):
p = (d_int / d) E / [(D² + d²)/(D² - d²) + (d² + b²)/(d² - b²)], F = µ p π d L. Three significant figures.
"""

from decimal import Decimal
from math import pi

import pytest

from builds.definitions.card import Card
from builds.definitions.freezing import frozen_text
from builds.definitions.reading import read_kept, read_text
from builds.definitions.table import DefinitionError, Fault
from measurements.engineering.limits import Limits
from tests.builds.definitions.cards import SHIPPED, SORREL, TEASEL, THIRD, THIRD_FILE


def figures(card: Card, code: str) -> dict[str, float]:
    window = card.characteristic(code).window
    assert window is not None
    assert window.name == "press_force"
    ((role, fit),) = window.limits_of
    found = card.characteristic(fit)
    assert role == "interference"
    assert found.low is not None
    assert found.high is not None
    ends = {"interference_low": float(found.low), "interference_high": float(found.high)}
    return ends | {name: float(value) for name, value in window.inputs}


def force(d: float, outside: float, bore: float, inputs: dict[str, float], end: str) -> float:
    outer = (outside**2 + d**2) / (outside**2 - d**2)
    inner = (d**2 + bore**2) / (d**2 - bore**2)
    pressure = inputs[f"interference_{end}"] / d * inputs["modulus_psi"] / (outer + inner)
    return inputs[f"friction_{end}"] * pressure * pi * d * inputs["length"]


def three_figures(value: float) -> Decimal:
    return Decimal(f"{value:.2e}")


@pytest.mark.parametrize(("card", "low", "high"), [(SORREL, "3520", "19100"), (TEASEL, "2290", "14500")])
def test_spindle_into_tube(card: Card, low: str, high: str) -> None:
    inputs = figures(card, "70.1")
    args = (inputs["bore"], inputs["tube_outside"], inputs["spindle_bore"], inputs)
    limits = (Decimal(low), Decimal(high))
    assert (three_figures(force(*args, "low")), three_figures(force(*args, "high"))) == limits
    held = card.characteristic("70.1")
    assert (held.low, held.high) == limits


@pytest.mark.parametrize(("card", "low", "high"), [(SORREL, "2890", "14300"), (TEASEL, "1610", "8770")])
def test_tube_into_housing(card: Card, low: str, high: str) -> None:
    inputs = figures(card, "110.1")
    args = (inputs["fit_diameter"], inputs["neck_outside"], inputs["tube_bore"], inputs)
    limits = (Decimal(low), Decimal(high))
    assert (three_figures(force(*args, "low")), three_figures(force(*args, "high"))) == limits
    held = card.characteristic("110.1")
    assert (held.low, held.high) == limits


@pytest.mark.parametrize("card", [SORREL, TEASEL])
@pytest.mark.parametrize(("press", "fit"), [("70.1", "50.7"), ("110.1", "40.3")])
def test_the_press_window_takes_the_fit_of_the_card(card: Card, press: str, fit: str) -> None:
    window = card.characteristic(press).window
    assert window is not None
    assert window.limits_of == (("interference", fit),)


# 60 U I/(1000 v) at the ends of the card's own windows (calculated): 23 V 190 A 13 in/min and 27 V 230 A 9 in/min;
# 20 V 150 A 13 in/min and 24 V 185 A 9 in/min
@pytest.mark.parametrize(("card", "low", "high"), [(SORREL, "20.1", "41.4"), (TEASEL, "13.8", "29.6")])
@pytest.mark.parametrize("code", ["80.6", "130.8", "150.8"])
def test_arc_energy(card: Card, code: str, low: str, high: str) -> None:
    held = card.characteristic(code)
    assert held.window is not None
    assert [role for role, _ in held.window.limits_of] == ["volts", "amps", "travel_speed"]
    assert (held.low, held.high) == (Decimal(low), Decimal(high))


SHIPPED_TEXT = {name: (SHIPPED / f"{name}.toml").read_text(encoding="utf-8") for name in ("sorrel_960", "teasel_680")}


def faults(text: str) -> tuple[Fault, ...]:
    with pytest.raises(DefinitionError) as refused:
        read_text(text, "card.toml")
    return refused.value.faults


@pytest.mark.parametrize(
    ("name", "code", "written", "wrong", "expected"),
    [
        ("sorrel_960", "70.1", "low = 3520", "low = 3510", "3520"),
        ("sorrel_960", "70.1", "high = 19100", "high = 19200", "19100"),
        ("sorrel_960", "80.6", "high = 41.4", "high = 41.3", "41.4"),
        ("teasel_680", "110.1", "low = 1610", "low = 1620", "1610"),
        ("teasel_680", "150.8", "low = 13.8", "low = 13.9", "13.8"),
    ],
)
def test_a_figure_that_does_not_agree_is_told_with_both(
    name: str, code: str, written: str, wrong: str, expected: str
) -> None:
    text = SHIPPED_TEXT[name]
    at = text.index(written, text.index(f'code = "{code}"'))
    broken = text[:at] + wrong + text[at + len(written) :]
    (fault,) = faults(broken)
    key, found = wrong.split(" = ")
    assert (fault.file, fault.line, fault.key) == ("card.toml", broken[:at].count("\n") + 1, key)
    assert fault.where.endswith(f"characteristic {code}")
    assert f"expected {expected}, which its window " in fault.expected
    assert f"found {found};" in fault.expected


def test_a_changed_input_is_told_where_it_is_felt() -> None:
    """The interference of the spindle made larger: its press window no longer agrees with the card's figures."""
    text = SHIPPED_TEXT["sorrel_960"]
    at = text.index("high = 0.0029", text.index('code = "50.7"'))
    found = faults(text[:at] + "high = 0.0030" + text[at + 13 :])
    # 19141 lbf at .0029 in goes to 19801 at .0030 (calculated: the force is in proportion to the interference)
    assert [(fault.key, fault.expected.split(";")[0]) for fault in found] == [
        ("high", "expected 19800, which its window press_force gives, found 19100")
    ]


def test_limits_left_out_are_worked_out() -> None:
    """The third model: 60 mm fit in a 90 mm flange, tube bore 40 mm, 50 mm long, .02 to .04 mm, E 206 GPa.

    p = δ E / (d [(D² + d²)/(D² - d²) + (d² + b²)/(d² - b²)]) = δ 206000/(60 x 5.2) N/mm²; F = μ p π 60 x 50:
    13.2 MPa x .08 gives 9.956 kN, 26.4 MPa x .15 gives 37.33 kN (calculated by hand).
    """
    held = THIRD.characteristic("17.3")
    assert (held.low, held.high) == (Decimal("10.0"), Decimal("37.3"))


WINDOW = THIRD_FILE.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "key", "said"),
    [
        ('name = "press_force"', 'name = "press"', "window", "There is no window “press”"),
        ('unit = "kN"', 'unit = "psi"', "unit", "worked out in lbf or N or kN, not in psi"),
        ('unit = "kN"', 'unit = "lbf"', "window", "needs the input modulus_psi; it is missing"),
        ("poisson = 0.3", "poison = 0.3", "window", "needs the input poisson; it is missing"),
        ("length = 50", "length = 50, width = 5", "window", "has no input width"),
        ("length = 50", 'length = "50"', "inputs", 'expected numbers, found length = "50"'),
        ("shaft_bore = 40", "shaft_bore = 61", "window", "bore must be smaller than the fit diameter"),
        ("friction_low = 0.08", "friction_low = 0.18", "window", "smallest friction must not be more"),
        ("decimals = 1\ngauge_kind = \"press", "low = 10.1\ndecimals = 1\ngauge_kind = \"press", "low",
         "expected 10, which its window press_force gives, found 10.1"),
        ("friction_high = 0.15 }", 'friction_high = 0.15 }\nlimits_of = { interference = "17.9" }', "window",
         "expected interference to be a characteristic of this card, found 17.9"),
        ("friction_high = 0.15 }", 'friction_high = 0.15 }\nlimits_of = { grip = "17.1" }', "window",
         "expected limits_of only interference, friction, found grip"),
        ("friction_high = 0.15 }", 'friction_high = 0.15 }\nlimits_of = { interference = "17.1" }', "window",
         "expected interference either in inputs or in limits_of, found both"),
        ("friction_high = 0.15 }", 'friction_high = 0.15 }\nlimits_of = { interference = "17.2" }', "window",
         "expected interference to have a low and a high limit; 17.2 has not"),
        ("friction_high = 0.15 }", 'friction_high = 0.15 }\nlimits_of = { friction = "17.1" }', "window",
         "expected friction in no unit; 17.1 is in mm"),
        ("friction_high = 0.15 }", "friction_high = 0.15 }\nlimits_of = { interference = 17.1 }", "limits_of",
         "expected codes in quotes"),
        ("friction_high = 0.15 }", "friction_high = 0.15 }\nstep = 1", "step", "unknown key; known here: inputs"),
    ],
)  # fmt: skip
def test_a_window_that_cannot_be_worked_out_is_told(old: str, new: str, key: str, said: str) -> None:
    assert old in WINDOW
    (fault,) = faults(WINDOW.replace(old, new, 1))
    assert "characteristic 17.3" in fault.where
    assert (fault.key, said in fault.expected) == (key, True), fault


def test_what_was_worked_out_stands_in_the_text_that_is_kept() -> None:
    kept = frozen_text(WINDOW, THIRD, "pipit.toml")
    assert kept.replace("low = 10.0  # worked out from its window when the card was loaded\n", "", 1).replace(
        "high = 37.3  # worked out from its window when the card was loaded\n", "", 1
    ) == (WINDOW)
    assert read_kept(kept, "pipit.toml") == THIRD
    assert frozen_text(kept, THIRD, "pipit.toml") == kept


def test_a_text_that_states_every_figure_is_kept_as_it_came() -> None:
    assert frozen_text(SHIPPED_TEXT["sorrel_960"], SORREL, "sorrel_960.toml") == SHIPPED_TEXT["sorrel_960"]


def test_a_kept_text_is_not_worked_out_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """The arithmetic changes one day: a card loaded now moves, or is refused; what was kept stays as it was."""
    kept = frozen_text(WINDOW, THIRD, "pipit.toml")
    moved = Limits(Decimal(11), Decimal(38))
    monkeypatch.setattr("builds.definitions.windows.window", lambda *_: moved)
    held = read_kept(kept, "pipit.toml").characteristic("17.3")
    assert (held.low, held.high) == (Decimal("10.0"), Decimal("37.3"))
    assert read_text(WINDOW, "pipit.toml").characteristic("17.3").low == 11  # the control: it is felt at loading
    assert [fault.key for fault in faults(kept)] == ["low", "high"]


def test_a_list_in_braces_leaves_no_room_and_says_so() -> None:
    lines = WINDOW.index('[[operation.characteristic]]\ncode = "17.1"'), WINDOW.index("[[operation]]\nnumber = 27")
    inline = (
        'characteristic = [{ code = "17.3", name = "Force", kind = "measured", unit = "kN", decimals = 1,'
        ' on_low = "tag", on_high = "tag", source = "test", class = "S", window = { name = "press_force", inputs ='
        " { hub_outside = 90, fit_diameter = 60, shaft_bore = 40, length = 50, interference_low = 0.02,"
        " interference_high = 0.04, modulus_mpa = 206000, poisson = 0.3, friction_low = 0.08, friction_high = 0.15 }"
        " } }]\n"
    )
    text = WINDOW[: lines[0]] + inline + WINDOW[lines[1] :]
    with pytest.raises(DefinitionError, match=r"low = 10\.0 and high = 37\.3 to be written out; there is no room"):
        frozen_text(text, read_text(text, "pipit.toml"), "pipit.toml")
