"""The parts of the station page that are put together by hand say what they are given, and escape all of it."""

from __future__ import annotations

from html.parser import HTMLParser

import pytest

from builds.templatetags.station_parts import feature_keys, hidden_fields, how_far, place_rows
from shop.templatetags.shop_look import key_pad

HOSTILE = "<script>\"'&"
FEATURE = {
    "code": "220.1",
    "name": "Torque",
    "url": "/at/?characteristic=220.1",
    "state": "in hand",
    "count": "2 of 12",
}
PLACE = {"name": "7", "url": "/at/?characteristic=220.1&position=7", "turn": "", "attempt": 1}
READ = PLACE | {"shown": "105", "other": "142.4 N·m", "verdict": "in", "word": "In", "who": "Rusk, 08:15"}


class Read(HTMLParser):
    """Tags with their attributes, and the text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def test_every_value_is_escaped() -> None:
    feature = dict.fromkeys(FEATURE, HOSTILE)
    place = dict.fromkeys(READ, HOSTILE) | {"turn": "", "attempt": 2, "late": True}
    drawn = [
        feature_keys([feature, feature | {"verdict": HOSTILE}]),
        place_rows([place, place | {"verdict": ""}]),
        hidden_fields([{"name": HOSTILE, "value": HOSTILE}]),
        how_far(HOSTILE, [HOSTILE]),
    ]
    for html in drawn:
        assert "<script" not in html
        assert HOSTILE[-3:] not in html
        assert "script" in str(Read(html).tags) + Read(html).text


def test_a_feature_tells_its_state_and_its_count() -> None:
    read = Read(feature_keys([FEATURE, FEATURE | {"current": True, "verdict": "out"}]))
    links = [attributes for tag, attributes in read.tags if tag == "a"]
    assert [one["href"] for one in links] == [FEATURE["url"]] * 2
    assert [one.get("aria-current") for one in links] == [None, "step"]
    assert read.text == "220.1 Torquein hand2 of 12220.1 TorqueOut2 of 12"


@pytest.mark.parametrize(
    ("place", "kind", "said"),
    [
        (READ, None, "7105 (142.4 N·m)InRusk, 08:15"),
        (READ | {"attempt": 2, "late": True}, None, "7 try 2105 (142.4 N·m)InRusk, 08:15 entered late"),
        (PLACE | {"turn": "next"}, "is-next", "7–next"),
        (PLACE, None, "7–not yet"),
        (READ | {"verdict": "", "word": ""}, None, "7105 (142.4 N·m)recordedRusk, 08:15"),
        (READ | {"superseded": True}, "is-superseded", "7105 (142.4 N·m)InRusk, 08:15"),
        (PLACE | {"stopped": True}, "is-stopped", "7–not yet"),
    ],
)
def test_a_place_tells_its_reading(place: dict[str, object], kind: str | None, said: str) -> None:
    read = Read(place_rows([place]))
    assert read.text == said
    assert read.tags[0] == ("tr", {"class": kind} if kind else {})
    assert ("a", {"href": PLACE["url"]}) in read.tags


def test_how_far_names_what_comes_next_and_what_is_missing() -> None:
    assert how_far("3 of 9, next 4", ["220.1: 4", "and 2 more"]) == (
        "<b>3 of 9, next 4</b><span>220.1: 4 · and 2 more</span>"
    )
    assert how_far("9 of 9") == "<b>9 of 9</b>"


@pytest.mark.parametrize(
    ("asked", "sends"),
    [({}, "."), ({"minus": True}, "-"), ({"whole": True}, "")],
)
def test_the_pad_has_the_keys_that_a_figure_needs(asked: dict[str, bool], sends: str) -> None:
    keys = [attributes["data-key"] for tag, attributes in Read(key_pad(**asked)).tags if tag == "button"]
    assert keys == [*"789456123", *([sends] if sends else []), "0", "back"]
