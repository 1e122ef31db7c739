"""The rows of an axle file that are put together without a template: every word of the record in them is text, and a
drawing that axles share leads each to itself."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from django.utils import timezone

from builds.drawings.axle import large_axle
from builds.models import Axle
from builds.reports.axle_parts import FittedRow
from builds.reports.facts import standing
from builds.views.axle_rows import former_rows, part_rows, photo_rows
from builds.views.reading_rows import reading_row
from builds.views.station_picture import axle_picture, large_picture
from shop.models import Where
from tests.shopfloor import Floor, open_shop

AT = datetime(2025, 11, 20, 20, 0, tzinfo=UTC)
CLOCK = '<time datetime="2025-11-20T20:00:00+00:00">2025-11-20 13:00</time>'
WORDS = (
    "code", "name", "position", "side", "shown", "unit", "typed", "limits", "verdict", "word", "state", "void",
    "reason", "who", "terminal", "gauge", "calibration", "entered", "happened",
)  # fmt: skip
IN_IT = FittedRow(
    pk=5, role="<i>&_ring", host=7, host_mark="<i>&host", part=8, mark="<i>&mark", maker="<i>&maker", operation=60,
    who="<i>&who", at=AT, removal=None, out_at=None, out_reason=None, out_to=None, where=None,
)  # fmt: skip
CAME_OUT = IN_IT._replace(removal=9, out_at=AT, out_reason="<i>&reason", out_to=Where.SCRAP, where=Where.STOCK)


def row_of(word: str) -> dict[str, object]:
    return dict.fromkeys(WORDS, word) | {"pk": 7, "pass": 2, "try": 2, "late": True, "side": f"{word}2"}


@pytest.mark.parametrize("word", ["<i>&", "<i>&\x1f", "\x1f<i>&\x1f\x1f"])
def test_words_of_a_reading_are_text(word: str) -> None:
    """Also where somebody typed the very character that stands between the words while they are escaped."""
    drawn = reading_row(row_of(word), closed=False)
    assert "<i>" not in drawn
    assert drawn.count(word.replace("&", "&amp;").replace("<i>", "&lt;i&gt;")) >= len(WORDS) - 1


def test_words_of_a_part_are_text() -> None:
    axle = Axle(pk=7)
    drawn = part_rows(axle, [IN_IT])
    assert "<i>" not in drawn
    for word in ("ring", "mark", "maker", "who", "host"):
        assert f"&lt;i&gt;&amp;{' ' if word == 'ring' else ''}{word}" in drawn
    assert "<td>60, &lt;i" in drawn
    assert CLOCK in drawn
    assert 'href="?out=5"' in drawn
    assert "<td>, " not in part_rows(axle, [IN_IT._replace(operation=None)])
    assert "?out=" not in part_rows(Axle(pk=7, scrapped_at=AT), [IN_IT])


def test_a_part_that_came_out_says_why_and_where_it_is() -> None:
    drawn = former_rows([CAME_OUT])
    assert "<i>" not in drawn
    said = f"{CLOCK} to {CLOCK}: &lt;i&gt;&amp;reason. It went {Where.SCRAP.label}; now {Where.STOCK.label}.</li>"
    assert drawn.endswith(said)
    assert "now not placed.</li>" in former_rows([CAME_OUT._replace(where=None)])


def test_words_of_a_photo_are_text() -> None:
    visit = {"operation": {"number": 60, "name": "<i>&operation"}, "item_id": 7}
    drawn = photo_rows([{"pk": 3, "visit": visit, "name": "<i>&", "person": {"short_name": "<i>&who"}, "at": AT}])
    assert "<i>" not in drawn
    assert "<span>60 &lt;i&gt;&amp;operation: &lt;i&gt;&amp;</span>" in drawn
    assert f"&lt;i&gt;&amp;who, {CLOCK}" in drawn


@pytest.fixture(scope="module")
def floor(once_per_module: None) -> Floor:
    return open_shop()


@pytest.mark.django_db
def test_axles_in_the_same_state_share_a_drawing_and_no_address(floor: Floor) -> None:
    one, other = (standing(axle, timezone.now()) for axle in floor.axles(2))
    for stands, url in ((one, "/axles/A/"), (other, "/axles/B/"), (other, '/axles/"&<i>/')):
        drawn = large_picture(stands, url)
        assert drawn == large_axle(axle_picture(stands, url=url))
        assert drawn.count("?zone=") > 1
    assert "/axles/B/" not in large_picture(one, "/axles/A/")
