"""Line types, marks and verdict symbols."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from shop import drawing

GLOSSARY = {
    "booked": "not yet",
    "kitted": "ready",
    "on the floor": "in hand",
    "stopped": "stopped",
    "bought off": "done",
    "certified": "done",
    "gone": "done",
    "back": "in hand",
    "retired": "done",
    "not yet": "not yet",
    "ready": "ready",
    "in hand": "in hand",
    "set down": "ready",
    "waiting for time": "not yet",
    "waiting for sign": "not yet",
    "done": "done",
    "to redo": "not yet",
    "excused by change": "done",
}


@pytest.mark.parametrize(("word", "line"), GLOSSARY.items())
def test_every_state_word_has_its_line(word: str, line: str) -> None:
    assert drawing.line_of(word) == line


def test_an_unknown_word_is_never_drawn_as_done() -> None:
    assert drawing.line_of("quite something else") == "not yet"


def test_the_five_marks_differ_without_colour() -> None:
    def plain(word: str) -> tuple[str | None, str | None, int]:
        rect, *rest = ElementTree.fromstring(drawing.mark(word))
        return rect.get("stroke-width"), rect.get("stroke-dasharray"), len(rest)

    assert len({plain(word) for word in drawing.STATES}) == 5


def test_a_mark_holds_no_id_so_it_may_repeat() -> None:
    assert all("id=" not in drawing.mark(word) for word in drawing.STATES)


@pytest.mark.parametrize(("kind", "side"), [("high", -1), ("low", 1)])
def test_a_verdict_cross_lies_on_its_side_of_the_limits(kind: str, side: int) -> None:
    limits, cross = ElementTree.fromstring(drawing.verdict_mark(kind))
    assert limits.get("d") == "M2,8 H26 M2,20 H26"
    middle = float(cross.get("d", "").split(" ")[0].split(",")[1]) + 4
    assert (middle - 14) * side > 6


def test_in_is_a_dot_and_out_is_a_cross() -> None:
    assert "<circle" in drawing.verdict_mark("in")
    assert "<circle" not in drawing.verdict_mark("out")


def test_no_style_attribute_is_written() -> None:
    drawn = [
        *map(drawing.mark, drawing.STATES),
        *map(drawing.verdict_mark, ("in", "low", "missing", "stopped")),
    ]
    assert all("style=" not in one for one in [*drawn, drawing.house_mark()])


def test_attributes_are_escaped_and_empty_ones_left_out() -> None:
    assert drawing.element("a", href='"><x', rel="", kind="d-ink") == '<a href="&quot;&gt;&lt;x" class="d-ink"/>'


@pytest.mark.parametrize(
    ("value", "shown"), [(1.0, "1"), (1.256, "1.26"), (-0.001, "0"), (100.0, "100"), (2.50, "2.5")]
)
def test_coordinates_are_short(value: float, shown: str) -> None:
    assert drawing.number(value) == shown
