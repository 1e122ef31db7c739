"""Every template keeps the strict content policy and the house's habits."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.template.loader import get_template

TEMPLATES = Path(__file__).parents[2] / "templates"
#: Paper that only WeasyPrint renders: no browser and so no policy ever meets it, and it needs its styles inside.
PAPER = {
    "builds/certificate.html",
    "builds/_certificate_results.html",
    "builds/_certificate_style.html",
    "builds/label.html",
    "builds/notice_letter.html",
    "builds/reach_pdf.html",
}
PAGES = sorted({path.relative_to(TEMPLATES).as_posix() for path in TEMPLATES.rglob("*.html")} - PAPER)
NEVER = {
    "an inline style": r"""\sstyle\s*=""",
    "a style element": r"<style",
    "an inline script": r"<script(?![^>]*\ssrc=)",
    "an event attribute": r"\son[a-z]+\s*=\s*[\"']",
    "an evaluated htmx attribute": r"hx-(on|vars|vals=['\"]js)",
    "another host": r"(src|href|action)=[\"'](https?:)?//",
    "a value past escaping": r"\|\s*safe\b(?!seq)(?<!help_text\|safe)|autoescape off",
}


def broken(source: str) -> list[str]:
    return [what for what, pattern in NEVER.items() if re.search(pattern, source)]


@pytest.mark.parametrize("name", PAGES)
def test_a_template_compiles_and_keeps_the_policy(name: str) -> None:
    get_template(name)
    assert broken((TEMPLATES / name).read_text()) == []


@pytest.mark.parametrize(
    ("source", "what"),
    [
        ('<p style="color:red">', "an inline style"),
        ("<script>go()</script>", "an inline script"),
        ('<b onclick="go()">', "an event attribute"),
        ('<img src="//cdn.example/x.png">', "another host"),
        ("{{ name|safe }}", "a value past escaping"),
        ('<a hx-on:click="go()">', "an evaluated htmx attribute"),
    ],
)
def test_the_check_sees_what_it_looks_for(source: str, what: str) -> None:
    assert what in broken(source)


@pytest.mark.parametrize("name", [name for name in PAGES if name.startswith("components/")])
def test_a_component_says_what_it_takes(name: str) -> None:
    assert "{% comment %}" in (TEMPLATES / name).read_text() or "/_" in name
