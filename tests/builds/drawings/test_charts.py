"""The limit strip, values over time, bars."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from builds.drawings.bars import Bar, bars
from builds.drawings.limit_window import LEFT, RIGHT, WIDE, limit_window
from builds.drawings.series import Level, Mark, series, series_table

SVG = "{http://www.w3.org/2000/svg}"
LOW, HIGH = (100.0, "100"), (110.0, "110")


def strip(value: float, verdict: str, low: tuple[float, str] | None = LOW) -> ElementTree.Element:
    return ElementTree.fromstring(limit_window(value, str(value), low=low, high=HIGH, verdict=verdict, key="k"))


def dot_at(value: float) -> float:
    circle = strip(value, "in").find(SVG + "circle")
    assert circle is not None
    return float(circle.get("cx", "nan"))


def cross_at(value: float) -> float:
    path = strip(value, "out").find(SVG + "path")
    assert path is not None
    return float(path.get("d", "")[1:].split(",")[0]) + 8


@pytest.mark.parametrize(("value", "x"), [(100, LEFT), (105, (LEFT + RIGHT) / 2), (110, RIGHT)])
def test_a_reading_in_limits_stands_in_proportion(value: float, x: float) -> None:
    assert dot_at(value) == pytest.approx(x, abs=0.01)


def test_a_reading_out_stands_on_its_side_and_on_the_sheet() -> None:
    assert 0 < cross_at(98) < LEFT
    assert RIGHT < cross_at(113) < WIDE
    assert 0 < cross_at(-9000) < LEFT
    assert RIGHT < cross_at(9000) < WIDE


def test_one_limit_draws_one_line() -> None:
    def limits(root: ElementTree.Element) -> list[str | None]:
        return [t.text for t in root.iter(SVG + "text")]

    assert limits(strip(104, "in")) == ["100", "110"]
    assert limits(strip(104, "in", low=None)) == ["110"]


def test_the_strip_says_value_verdict_and_limits() -> None:
    assert strip(98, "low").findtext(SVG + "desc") == "98, out, low limit 100, high limit 110"


MARKS = [Mark("wk 38", 4, "4"), Mark("wk 39", 1, "1", out=True), Mark("wk 40", 5, "5")]


def test_every_value_is_a_dot_and_one_that_is_out_a_cross() -> None:
    root = ElementTree.fromstring(series(MARKS, title="Finished", levels=[Level(4, "mean", centre=True)]))
    groups = list(root.iter(SVG + "g"))
    assert [g.findtext(SVG + "title") for g in groups] == ["wk 38: 4", "wk 39: 1, out", "wk 40: 5"]
    assert [g.find(SVG + "path") is not None for g in groups] == [False, True, False]
    assert root.findtext(SVG + "desc") == "3 values, out: wk 39 1"


def test_higher_values_stand_higher() -> None:
    groups = list(ElementTree.fromstring(series([MARKS[0], MARKS[2]], title="Finished")).iter(SVG + "g"))
    first, last = (float(g.find(SVG + "circle").get("cy", "nan")) for g in groups)  # type: ignore[union-attr]
    assert last < first


@pytest.mark.parametrize("marks", [[], [Mark("wk 38", 4, "4")], [Mark("a", 0, "0"), Mark("b", 0, "0")]])
def test_few_or_equal_values_are_drawn(marks: list[Mark]) -> None:
    root = ElementTree.fromstring(series(marks, title="Finished"))
    assert len(list(root.iter(SVG + "g"))) == len(marks)


def test_the_table_has_every_value() -> None:
    columns, rows = series_table(MARKS, "Axles")
    assert [c["label"] for c in columns] == ["When", "Axles", ""]
    assert [row["stopped"] for row in rows] == [False, True, False]


BARS = [Bar("Backlash out", 6, "6", "stopped", "/tags"), Bar("Kit short", 3, "3"), Bar("None", 0, "0")]


def test_bars_are_in_proportion() -> None:
    rects = list(ElementTree.fromstring(bars([BARS[1], Bar("Bore", 6, "6")], title="Why")).iter(SVG + "rect"))
    small, large = (float(r.get("width", "nan")) for r in rects)
    assert large == pytest.approx(2 * small)


def test_a_bar_of_nothing_has_its_figure_and_no_bar() -> None:
    svg = bars(BARS, title="Why")
    assert len([r for r in ElementTree.fromstring(svg).iter(SVG + "rect") if r.get("x") == "230"]) == 2
    assert "None: 0" in svg


def test_the_running_share_reaches_the_whole() -> None:
    shown = [t.text for t in ElementTree.fromstring(bars(BARS, title="Why", piled=True)).iter(SVG + "text")]
    assert [t for t in shown if t and t.endswith("%")] == ["67 %", "100 %", "100 %"]


def test_a_bar_with_an_address_is_a_link() -> None:
    links = list(ElementTree.fromstring(bars(BARS, title="Why")).iter(SVG + "a"))
    assert [(a.get("href"), a.get("aria-label")) for a in links] == [("/tags", "Backlash out: 6")]


def test_no_bars_say_so() -> None:
    assert "nothing to show" in bars([], title="Why")
