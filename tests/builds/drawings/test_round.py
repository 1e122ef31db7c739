"""Readings round a circle: where they stand against the two limit circles."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from builds.drawings.backlash_round import Wave, backlash_round
from builds.drawings.bore import bore
from builds.drawings.polar import INNER, OUTER, Point, Scale, turned

SVG = "{http://www.w3.org/2000/svg}"
LASH = (0.0072, 0.0081, 0.0096, 0.0104, 0.0101, 0.0089, 0.0078, 0.0070)


def eight() -> list[Point]:
    return [Point(str(n + 1), 45.0 * n, v, f"{v:.4f}"[1:], "in" if v <= 0.01 else "high") for n, v in enumerate(LASH)]


def drawn(**more: Wave) -> str:
    return backlash_round(eight(), limits=(0.006, 0.01), shown=(".0060", ".0100"), title="Backlash", **more)


def test_the_limits_lie_on_their_circles() -> None:
    scale = Scale(0.006, 0.010)
    assert scale.radius(0.006) == INNER
    assert scale.radius(0.010) == pytest.approx(OUTER)


def test_the_middle_of_the_limits_lies_between_the_circles() -> None:
    assert Scale(0.006, 0.010).radius(0.008) == pytest.approx((INNER + OUTER) / 2)


def test_a_wild_value_stays_on_the_sheet() -> None:
    scale = Scale(0.006, 0.010)
    assert OUTER < scale.radius(8.0) < 256
    assert 0 < scale.radius(-8.0) < INNER


def test_equal_limits_are_drawn_too() -> None:
    assert Scale(1.0, 1.0).radius(1.0) == INNER


@pytest.mark.parametrize(("degrees", "spot"), [(0, (0, -10)), (90, (10, 0)), (180, (0, 10)), (270, (-10, 0))])
def test_angles_run_clockwise_from_the_top(degrees: float, spot: tuple[float, float]) -> None:
    assert turned(10, degrees) == pytest.approx(spot, abs=1e-9)


def test_each_point_is_drawn_and_said_once() -> None:
    groups = list(ElementTree.fromstring(drawn()).iter(SVG + "g"))
    assert len(groups) == 8
    assert groups[3].findtext(SVG + "title") == "4: .0104, out"
    assert groups[0].findtext(SVG + "title") == "1: .0072, in"


def test_points_out_are_crosses_and_points_in_are_dots() -> None:
    groups = list(ElementTree.fromstring(drawn()).iter(SVG + "g"))
    crossed = [g.findtext(SVG + "title") for g in groups if g.find(SVG + "path") is not None]
    assert crossed == ["4: .0104, out", "5: .0101, out"]


def test_the_wave_is_drawn_only_when_it_is_known() -> None:
    assert "d-hereline" not in drawn()
    assert "d-hereline" in drawn(wave=Wave(0.0086, 0.001, 0.0005))


def test_a_flat_wave_is_a_circle() -> None:
    wave = Wave(0.008, 0.0, 0.0)
    assert wave.at(0.0) == wave.at(0.3) == 0.008


def test_a_wave_turns_with_its_parts() -> None:
    wave = Wave(0.008, 0.001, 0.0005)
    assert wave.at(0.0) == pytest.approx(0.009)
    assert wave.at(0.25) == pytest.approx(0.0085)


@pytest.mark.parametrize(
    ("verdict", "said", "kind"),
    [("", "B: not yet", "d-thin"), ("next", "B: next", "d-here"), ("missing", "B: no reading", "d-stopline")],
)
def test_a_place_without_a_reading_says_why(verdict: str, said: str, kind: str) -> None:
    points = [Point("B", 90, None, verdict=verdict)]
    svg = bore(points, limits=(3.0625, 3.0637), shown=("3.0625", "3.0637"), title="Bore")
    group = next(ElementTree.fromstring(svg).iter(SVG + "g"))
    assert group.findtext(SVG + "title") == said
    assert [e for e in group if e.get("class") == kind]


def test_a_bore_reading_goes_across() -> None:
    def lines(*points: Point) -> int:
        svg = bore(points, limits=(3.0625, 3.0637), shown=("3.0625", "3.0637"), title="Bore")
        return len(list(ElementTree.fromstring(svg).iter(SVG + "line")))

    assert lines(Point("A", 0, 3.0631, "3.0631", "in")) == lines(Point("A", 0, None)) + 1


def test_the_bore_says_its_limits_and_readings() -> None:
    points = [Point("A", 0, 3.0631, "3.0631", "in"), Point("B", 90, None, verdict="missing")]
    svg = bore(points, limits=(3.0625, 3.0637), shown=("3.0625", "3.0637"), title="Bore")
    assert ElementTree.fromstring(svg).findtext(SVG + "desc") == (
        "Limits 3.0625 to 3.0637. A: 3.0631, in; B: no reading"
    )
