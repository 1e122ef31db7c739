"""FORMAT.md is true to the code: its card loads, and it names every word and key a file may use."""

import re
from dataclasses import fields
from pathlib import Path

import pytest

from builds.definitions import words
from builds.definitions.card import (
    AdviceCall,
    After,
    Hold,
    Interchange,
    Invalidates,
    Material,
    Need,
    Operation,
    PartKind,
    Photo,
    Weld,
)
from builds.definitions.characteristic import Characteristic, Window
from builds.definitions.computations import COMPUTATIONS
from builds.definitions.reading import read_text
from measurements.bench.advice import ADVICE
from measurements.engineering.windows import FORMS

TEXT = (Path(words.__file__).parent / "FORMAT.md").read_text(encoding="utf-8")
MARKED = set(re.findall(r"`([^`\n]+)`", TEXT))
WORDS = {word for mark in MARKED for word in re.findall(r"[^\s,=\[\]{}\"<>]+", mark)}
WRITTEN = {
    "characteristics",
    "welds",
    "needs",
    "photos",
    "class_",
    "computation",
    "given",
    "window",
    "hold",
    "looks_at_all",
}


def blocks() -> list[str]:
    return re.findall(r"```toml\n(.*?)```", TEXT, flags=re.DOTALL)


def test_the_smallest_card_loads() -> None:
    card = read_text(blocks()[0], "FORMAT.md")
    assert [operation.number for operation in card.operations] == [10, 20]


def test_the_options_of_the_page_load_too() -> None:
    other = """
[[option]]
axis = "differential"
label = "Differential"
default = "open"
value = [{ code = "open", label = "open" }, { code = "locking_air", label = "locking" }]

[[option]]
axis = "air_port"
label = "Air port"
default = "no"
value = [{ code = "no", label = "no" }, { code = "yes", label = "yes" }]
"""
    card = read_text(blocks()[0] + blocks()[1] + other, "FORMAT.md")
    assert len(card.options) == 3


@pytest.mark.parametrize(
    "listed",
    [
        words.ROLES,
        words.SKILLS,
        words.GAUGE_KINDS,
        words.ZONES,
        words.UNITS,
        COMPUTATIONS,
        words.Kind,
        words.HoldKind,
        words.Tracking,
        words.Class,
        words.ReactionKind,
    ],
)
def test_every_word_is_named(listed: list[str]) -> None:
    assert {str(word) for word in listed} <= WORDS | MARKED


def test_a_word_left_out_would_be_found() -> None:
    assert "spanner" not in WORDS


@pytest.mark.parametrize("sample", ["every", "first and every 5", "first piece", "each heat", "batch"])
def test_every_sample_is_named(sample: str) -> None:
    assert sample in MARKED


@pytest.mark.parametrize(
    "thing",
    [
        Operation,
        AdviceCall,
        Characteristic,
        Window,
        Hold,
        Photo,
        Need,
        Weld,
        After,
        Invalidates,
        Interchange,
        Material,
        PartKind,
    ],
)
def test_every_key_is_named(thing: type) -> None:
    keys = {field.name for field in fields(thing)} - WRITTEN
    described = WORDS | set(re.findall(r"[a-z_]+", TEXT))
    assert keys <= described


def test_inputs_of_every_advice_are_named() -> None:
    names = {
        name
        for entry in ADVICE.values()
        for name in (*entry.inputs, *entry.named, *entry.may_have, *entry.figures, *entry.may_fix)
    }
    assert names | set(ADVICE) <= WORDS


def test_inputs_of_every_window_are_named() -> None:
    names = {name for form in FORMS.values() for name in (form.name, form.unit, *form.spans)}
    figures = {name for form in FORMS.values() for choice in form.figures for name in choice}
    assert names | figures <= WORDS


def test_inputs_of_every_computation_are_named() -> None:
    inputs = {name for form in COMPUTATIONS.values() for name in (*form.inputs, *form.may_have, *form.constants)}
    assert inputs <= WORDS
