"""The bolt circle: every position at its place, the next and the missing one unmistakable."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from builds.drawings.bolt_circle import Place, bolt_circle

SVG = "{http://www.w3.org/2000/svg}"


def places(count: int) -> list[Place]:
    return [Place(str(n), "104", "in") for n in range(1, count + 1)]


def groups(drawn: str) -> list[ElementTree.Element]:
    return [g for g in ElementTree.fromstring(drawn).iter(SVG + "g") if g.get("class") == "place"]


@pytest.mark.parametrize("count", [1, 4, 5, 12, 16, 24])
def test_every_position_is_drawn_once(count: int) -> None:
    drawn = bolt_circle(places(count), title="Bolts")
    assert len(groups(drawn)) == count


def test_neighbours_do_not_touch_with_24() -> None:
    first, second = groups(bolt_circle(places(24), title="Bolts"))[:2]
    (x1, y1, r1), (x2, y2, r2) = (
        tuple(float(disc.get(k, "0")) for k in ("cx", "cy", "r")) for disc in (first[1], second[1])
    )
    assert ((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5 > r1 + r2


def test_the_first_is_at_the_top_and_the_next_goes_clockwise() -> None:
    drawn = groups(bolt_circle(places(4), title="Bolts"))
    at = [(float(g[1].get("cx", "0")), float(g[1].get("cy", "0"))) for g in drawn]
    assert at[0][1] < 0
    assert at[1][0] > 0
    assert at[2][1] > 0
    assert at[3][0] < 0


@pytest.mark.parametrize(
    ("place", "kind", "said"),
    [
        (Place("7", "106", "in"), "d-done", "7: 106, in"),
        (Place("7", "98", "low"), "d-stopfill", "7: 98, out"),
        (Place("7", "113", "high"), "d-stopfill", "7: 113, out"),
        (Place("7", turn="next"), "d-here", "7: next"),
        (Place("7", verdict="missing"), "d-stop", "7: no reading"),
        (Place("7"), "d-wait", "7: not yet"),
    ],
)
def test_a_position_is_told_by_line_and_word(place: Place, kind: str, said: str) -> None:
    group = groups(bolt_circle([place], title="Bolts"))[0]
    assert group.findtext(SVG + "title") == said
    assert [e for e in group if e.get("class") == kind]


def test_a_reading_that_is_out_is_a_square_with_a_cross_at_its_number() -> None:
    """Told by the shape: a print or a grey screen shows it too."""
    out, inside = (bolt_circle([Place("7", "98", verdict)], title="Bolts") for verdict in ("low", "in"))
    assert [f"{{{SVG[1:-1]}}}rect" in {e.tag for e in groups(drawn)[0]} for drawn in (out, inside)] == [True, False]
    assert ["7 ×" in drawn for drawn in (out, inside)] == [True, False]


def test_a_missing_one_is_hatched_and_not_yet_is_not() -> None:
    assert "url(#bolts-hatch)" in bolt_circle([Place("7", verdict="missing")], title="Bolts")
    assert "hatch" not in bolt_circle([Place("7")], title="Bolts")


def test_an_arrow_leads_from_the_next_to_the_one_after() -> None:
    three = [Place("1", turn="next"), Place("2"), Place("3", turn="then")]
    two = [Place("1", turn="next"), Place("2"), Place("3")]
    assert bolt_circle(three, title="Bolts").count("<path") == 2
    assert bolt_circle(two, title="Bolts").count("<path") == 0


def test_the_description_lists_every_position() -> None:
    root = ElementTree.fromstring(bolt_circle([Place("1", "104", "in"), Place("2")], title="Ring <bolts>"))
    assert root.findtext(SVG + "desc") == "1: 104, in; 2: not yet"
    assert root.findtext(SVG + "title") == "Ring <bolts>"


def test_a_name_is_escaped() -> None:
    assert "<b>" not in bolt_circle([Place("<b>")], title="Bolts")
