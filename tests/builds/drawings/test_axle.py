"""The axle's drawing: zones, lines, words, links."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from builds.drawings.axle import AxlePicture, Zone, axle_table, large_axle, small_axle

SVG = "{http://www.w3.org/2000/svg}"


def picture(*zones: Zone, sides: tuple[str, ...] = ("left", "right"), brake: str = "disc") -> AxlePicture:
    return AxlePicture("TBK-26-0148-8", zones, sides, brake)


HUB = Zone("hub", "done", "left")


def shapes(drawn: str, kind: str) -> list[ElementTree.Element]:
    return [e for e in ElementTree.fromstring(drawn).iter() if kind in e.get("class", "").split()]


@pytest.mark.parametrize(
    ("word", "kind", "dash"),
    [
        ("done", "d-done", None),
        ("in hand", "d-hand", None),
        ("ready", "d-ready", None),
        ("not yet", "d-wait", "7 5"),
        ("waiting for time", "d-wait", "7 5"),
        ("stopped", "d-stop", None),
    ],
)
def test_a_state_is_drawn_by_its_line(word: str, kind: str, dash: str | None) -> None:
    outline = shapes(small_axle(picture(Zone("hub", word, "left"))), kind)[0]
    assert outline.get("stroke-dasharray") == dash
    assert (outline.get("fill") == "url(#axle-small-hatch)") is (word == "stopped")


def test_lines_differ_in_weight_without_colour() -> None:
    widths = {
        word: shapes(small_axle(picture(Zone("hub", word, "left"))), kind)[0].get("stroke-width")
        for word, kind in (("done", "d-done"), ("in hand", "d-hand"), ("ready", "d-ready"))
    }
    assert float(widths["in hand"] or 0) > float(widths["done"] or 0) > float(widths["ready"] or 0)


def test_only_listed_zones_are_drawn() -> None:
    drawn = large_axle(picture(HUB, Zone("pinion", "ready")))
    assert "hub left: done" in drawn
    assert "pinion: ready" in drawn
    assert "cover" not in drawn


def test_one_side_leaves_the_other_out() -> None:
    both = large_axle(picture(HUB, Zone("hub", "done", "right")))
    right = large_axle(picture(HUB, Zone("hub", "done", "right"), sides=("right",)))
    assert "hub left" in both
    assert "hub left" not in right
    assert "hub right" in right


def test_hatching_is_defined_once_and_only_when_something_is_stopped() -> None:
    stopped = small_axle(picture(Zone("hub", "stopped", "left"), Zone("tube", "stopped", "left")), key="one")
    assert stopped.count('id="one-hatch"') == 1
    assert "hatch" not in small_axle(picture(HUB))


def test_two_drawings_on_a_page_share_no_id() -> None:
    first, second = (small_axle(picture(Zone("hub", "stopped", "left")), key=key) for key in ("a", "b"))
    ids = [{e.get("id") for e in ElementTree.fromstring(d).iter() if e.get("id")} for d in (first, second)]
    assert not ids[0] & ids[1]


def test_title_and_description_name_the_drawing() -> None:
    root = ElementTree.fromstring(large_axle(picture(HUB)))
    named = {e.get("id"): e.text for e in root if e.tag in (SVG + "title", SVG + "desc")}
    told = [named[name] for name in root.get("aria-labelledby", "").split()]
    assert told == ["Axle TBK-26-0148-8, seen from above", "hub left: done"]


def test_a_zone_with_an_address_is_a_link_that_says_its_state() -> None:
    root = ElementTree.fromstring(large_axle(picture(Zone("hub", "ready", "left", "/axles/1/hub-left"))))
    links = list(root.iter(SVG + "a"))
    assert [(a.get("href"), a.get("aria-label")) for a in links] == [("/axles/1/hub-left", "hub left: ready")]
    assert root.get("role") == "group"


def test_a_note_stands_in_place_of_the_word() -> None:
    drawn = large_axle(picture(Zone("tube", "done", "left", note=".0021 in")))
    assert ".0021 in" in drawn


def test_a_long_note_takes_two_lines_and_is_said_in_one() -> None:
    drawn = large_axle(picture(Zone("tube", "done", "left", note="fit .0021 in\n.053 mm")))
    shown = [t.text for t in ElementTree.fromstring(drawn).iter(SVG + "text")]
    assert shown == ["tube left", "fit .0021 in", ".053 mm"]
    assert "tube left: fit .0021 in, .053 mm" in drawn


def test_text_is_escaped() -> None:
    drawn = large_axle(picture(Zone("hub", "done", "left", note='<script>&"')))
    assert "<script>" not in drawn
    assert "&lt;script&gt;&amp;" in drawn


def test_the_table_says_the_same_from_left_to_right() -> None:
    zones = (Zone("hub", "done", "right"), Zone("pinion", "not yet"), Zone("hub", "stopped", "left"))
    columns, rows = axle_table(picture(*zones))
    assert [column["label"] for column in columns] == ["Zone", "State"]
    assert [(row["cells"][0]["text"], row["cells"][1]["state"], row["stopped"]) for row in rows] == [  # type: ignore[index]
        ("hub left", "stopped", True),
        ("pinion", "not yet", False),
        ("hub right", "done", False),
    ]


def test_a_drum_is_drawn_unlike_a_disc() -> None:
    brake = Zone("brake", "done", "left")
    assert small_axle(picture(brake)) != small_axle(picture(brake, brake="drum"))
