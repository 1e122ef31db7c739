"""Limits that a card has worked out: kept with the revision, refused where they do not agree, told on the pages."""

from __future__ import annotations

import hashlib
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from builds.actions.releasing import load_definition, release
from builds.models import Revision
from builds.models.card import _parsed
from measurements.engineering.windows import Window
from measurements.models import Characteristic
from shop.models import Role
from tests.builds.floor import axle, person, released, visit
from tests.builds.pages import Browser, text_of
from tests.shopfloor import SORREL, THIRD

pytestmark = pytest.mark.django_db

#: The third model states no limit of 17.3: 10.0 to 37.3 kN by its window (worked by hand in definitions/test_windows).
TEXT = THIRD.read_text("utf-8")
HOW = (
    "Worked out from hub outside 90 mm; fit diameter 60 mm; shaft bore 40 mm; length 50 mm;"
    " interference 0.02 to 0.04 mm; modulus of elasticity 206 000 MPa; Poisson's ratio 0.3; friction 0.08 to 0.15."
)


def test_what_was_worked_out_is_in_the_text_its_hash_and_the_rows() -> None:
    revision = released(TEXT)
    assert 'code = "17.3"\nlow = 10.0  # worked out' in revision.text
    assert revision.sha256 == hashlib.sha256(revision.text.encode()).hexdigest()
    row = Characteristic.objects.get(card_key=revision.key, code="17.3")
    assert (row.low, row.high) == (Decimal("10.0"), Decimal("37.3"))


def test_a_released_limit_stays_when_the_arithmetic_changes(monkeypatch: pytest.MonkeyPatch) -> None:
    revision = released(TEXT)
    monkeypatch.setattr("builds.definitions.windows.window", lambda *_: Window(Decimal(11), Decimal(38)))
    _parsed.cache_clear()
    held = Revision.objects.get(pk=revision.pk).card.characteristic("17.3")
    assert (held.low, held.high) == (Decimal("10.0"), Decimal("37.3"))
    # the control: the same file loaded as the next revision gets what the arithmetic now gives
    engineer = person(Role.ENGINEER)
    text = TEXT.replace('revision = "1"', 'revision = "2"', 1)
    later = release(revision=load_definition(text=text, name="p.toml", by=engineer), by=engineer)
    assert later.card.characteristic("17.3").low == 11


def test_a_figure_that_does_not_agree_is_refused_on_the_page() -> None:
    text = SORREL.read_text("utf-8").replace("low = 3520", "low = 3530", 1)
    line = text[: text.index("low = 3530")].count("\n") + 1
    answer = Browser(person(Role.ENGINEER)).send("/cards/", file=SimpleUploadedFile("s.toml", text.encode()))
    assert answer.status_code == 422
    said = text_of(answer)
    assert f"s.toml, line {line}: operation 70, characteristic 70.1, key low: expected 3520" in said
    assert "found 3530" in said
    assert not Revision.objects.exists()


def test_the_card_page_tells_how() -> None:
    revision = released(TEXT)
    said = text_of(Browser(person(Role.ENGINEER)).get(f"/cards/{revision.model.code}/{revision.letter}/"))
    assert f"10 to 37.3 kN {HOW}" in said
    assert "F = π d L p μ" in said


def test_the_station_page_tells_how_beside_the_limits_of_the_entry() -> None:
    made = axle(released(TEXT))
    visit(made, 17, "left", by=person(Role.TUBE_PREP))
    browser, here = Browser(person(Role.TUBE_PREP)), reverse("station", args=[made.serial, 17, "left"])
    said = text_of(browser.get(f"{here}?characteristic=17.3"))
    assert "10.0 to 37.3 kN" in said
    assert HOW in said
    assert HOW not in text_of(browser.get(f"{here}?characteristic=17.1&position=A"))


def test_the_station_page_tells_how_once_for_a_computed_value_of_many_places() -> None:
    made = axle(released(Path(SORREL).read_text("utf-8")))
    visit(made, 130, by=person(Role.WELDER))
    said = text_of(Browser(person(Role.WELDER)).get(reverse("station", args=[made.serial, 130, "-"])))
    assert said.count("20.1 to 41.4 kJ/in") >= 6
    assert said.count("volts 23 to 27 V, the limits of 130.5; amps 190 to 230 A, the limits of 130.6") == 1
