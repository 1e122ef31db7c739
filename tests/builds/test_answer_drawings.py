"""The drawing of an answer says in words what it shows, and shows the peak where it lies."""

from __future__ import annotations

import pytest

from builds.drawings.answers import DRAWN, drawn
from measurements.bench.answer import PICTURES, Picture

BAND = {"low": "7035", "high": "13191"}


def test_every_kind_of_picture_is_drawn() -> None:
    assert set(DRAWN) == set(PICTURES)


def test_what_has_no_picture_has_no_drawing() -> None:
    assert drawn(None, "a") is None
    assert drawn(Picture("no such kind"), "a") is None


@pytest.mark.parametrize(("peak", "stops"), [("9000", False), ("7035", False), ("13191", False), ("15000", True)])
def test_a_peak_outside_the_pair_s_band_is_drawn_as_a_stop(peak: str, stops: bool) -> None:
    made = drawn(Picture("press band", BAND | {"peak": peak, "window_low": "3520", "window_high": "19100"}), "a")
    text = str(made)
    assert (f"peak {peak}" in text, "d-stopline" in text) == (True, stops)
    assert f"Peak {peak} lbf." in text


def test_without_a_peak_none_is_drawn() -> None:
    assert "peak" not in str(drawn(Picture("press band", BAND), "a")).lower()


SCALE = {"unit": "°F", "low": "300", "low_says": "needed", "high": "400", "high_says": "most"}


@pytest.mark.parametrize("kind", ["thermometer", "window"])
@pytest.mark.parametrize(("value", "outside"), [("299", True), ("300", False), ("400", False), ("401", True)])
def test_a_reading_outside_its_scale_is_told_by_word_and_line(kind: str, value: str, outside: bool) -> None:
    text = str(drawn(Picture(kind, SCALE | {"value": value, "says": "measured"}), "a"))
    assert (f"measured {value} °F, outside<" in text, "d-stopline" in text) == (outside, outside)
    assert "needed 300 °F; most 400 °F" in text


def test_what_is_not_read_yet_is_said_on_the_scale() -> None:
    assert "not read yet" in str(drawn(Picture("thermometer", SCALE), "a"))
    one = {"unit": "psi", "high": "0.1", "high_says": "most", "value": "0.2", "says": "lost"}
    assert "lost 0.2 psi, outside" in str(drawn(Picture("window", one), "a"))
    dew = {"unit": "°F", "low": "66.6", "low_says": "needed", "other": "61.6", "other_says": "dew point"}
    assert "dew point 61.6 °F" in str(drawn(Picture("thermometer", dew | {"value": "70", "says": "steel"}), "a"))


@pytest.mark.parametrize(("spots", "crosses"), [(["4.00", "2.40", "6.00"], 0), (["2.39", "6.01", "4.00"], 2)])
def test_a_spot_outside_is_crossed(spots: list[str], crosses: int) -> None:
    data = {"unit": "mil", "spots": spots, "low": "2.4", "low_says": "80 %:", "high": "6.0", "high_says": "120 %:"}
    text = str(drawn(Picture("film", data), "a"))
    assert text.count("l20,20") == crosses
    assert "80 %: 2.4 mil" in text


def test_many_readings_are_drawn_without_their_figures() -> None:
    data = {"unit": "mil", "spots": ["4.25"] * 15, "low": "2.4", "low_says": "80 %:"}
    text = str(drawn(Picture("film", data), "a"))
    assert text.count(">4.25<") == 0
    assert text.count("d-sheetline") == 15


def test_a_mark_lies_where_its_words_say_on_a_tooth_of_its_cut() -> None:
    """Toe left and heel right, top above root; slanted on even teeth, level on tapered ones."""
    hobbed = str(drawn(Picture("teeth", {"cut": "face-hobbed", "drive": "high toe", "coast": "low heel"}), "a"))
    milled = str(drawn(Picture("teeth", {"cut": "face-milled", "drive": "centre", "coast": "centre"}), "a"))
    assert ('cx="84"' in hobbed, 'cx="336"' in hobbed, "rotate" in hobbed) == (True, True, True)
    assert ('cx="210"' in milled, "rotate" in milled) == (True, False)
    assert "Drive: high toe. Coast: low heel." in hobbed


def test_an_edge_line_is_drawn_as_a_stop_and_a_mark_is_not() -> None:
    data = {"cut": "face-milled", "drive": "edge line or double mark", "coast": "centre"}
    assert "d-stopline" in str(drawn(Picture("teeth", data), "a"))
    assert "d-stopline" not in str(drawn(Picture("teeth", data | {"drive": "toe"}), "a"))


def test_the_round_crosses_out_what_lies_outside_and_draws_the_fit() -> None:
    data = {"low": ".0060", "high": ".0100", "points": [".0072", ".0104", ".0078", ".0070"]}
    made = str(drawn(Picture("round", data | {"mean": ".0081", "amplitude": ".0017", "phase": "90"}), "a"))
    assert ("point 2: .0104, out" in made, "point 1: .0072, in" in made, "d-hereline" in made) == (True, True, True)


def test_the_order_is_written_at_the_bolts_and_none_is_drawn_as_done() -> None:
    made = str(drawn(Picture("bolts", {"order": [1, 3, 2, 4], "torque": "105 ft-lb"}), "a"))
    assert "1.: not yet; 3.: not yet; 2.: not yet; 4.: not yet" in made
    assert ("105 ft-lb" in made, "d-done" in made) == (True, False)
