"""Text and line contrast of both themes, by the formula of WCAG 2.2 (relative luminance, contrast ratio)."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

TOKENS = (Path(__file__).parents[2] / "shop/static/shop/tokens.css").read_text()
TEXT, LINE = 4.5, 3.0

TEXT_PAIRS = [
    ("ink", "sheet"),
    ("ink", "paper"),
    ("ink", "desk"),
    ("soft", "sheet"),
    ("soft", "paper"),
    ("soft", "done"),
    ("here", "sheet"),
    ("here", "paper"),
    ("here", "here-tint"),
    ("ink", "here-tint"),
    ("soft", "here-tint"),
    ("on-here", "here"),
    ("on-here", "here-deep"),
    ("here-deep", "sheet"),
    ("stop", "sheet"),
    ("stop", "paper"),
    ("stop", "stop-tint"),
    ("on-sign", "sign"),
    ("caution-ink", "caution"),
    ("ink", "done"),
    ("soft", "desk"),
]
LINE_PAIRS = [
    ("line", "sheet"),
    ("faint", "sheet"),
    ("faint", "paper"),
    ("here", "done"),
    ("sign", "sheet"),
    ("caution-bar", "caution"),
    ("stop", "done"),
]


def block(start: str) -> dict[str, str]:
    found = re.search(re.escape(start) + r" \{(.*?)\n\}", TOKENS, re.DOTALL)
    assert found is not None
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", found[1]))


THEMES = {"light": block(":root"), "dark": block(':root[data-theme="dark"]')}


def luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_the_ends_of_its_scale() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") < TEXT < contrast("#767676", "#ffffff")


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(("front", "back"), TEXT_PAIRS)
def test_text_can_be_read(theme: str, front: str, back: str) -> None:
    assert contrast(THEMES[theme][front], THEMES[theme][back]) >= TEXT


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(("front", "back"), LINE_PAIRS)
def test_lines_can_be_seen(theme: str, front: str, back: str) -> None:
    assert contrast(THEMES[theme][front], THEMES[theme][back]) >= LINE


def test_dark_by_choice_and_dark_by_device_are_one() -> None:
    assert dark_by_device() == THEMES["dark"]


def dark_by_device() -> dict[str, str]:
    found = re.search(r'not\(\[data-theme="light"\]\) \{(.*?)\n\} \}', TOKENS, re.DOTALL)
    assert found is not None
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", found[1]))
