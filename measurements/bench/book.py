"""The bench book: the same answers as at the bench, from figures that somebody types.

An entry lists its fields; `given` turns typed words into what the answers are worked out from, or says field by field
what cannot be taken. A figure may carry a unit of its own: "77.79 mm" in a field that is in inches.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from measurements.bench.answer import Answer, unknown
from measurements.bench.given import Given, Value
from measurements.engineering.limits import FigureError, Limits, parse_figure, plain
from measurements.engineering.units import convert, rounded, same_dimension
from measurements.engineering.validity import OutsideValidity

#: A converted figure keeps so much; what is typed in the field's own unit keeps all of it.
FINEST = Decimal("0.000000001")
MOST_FIGURES = 60
_WITH_UNIT = re.compile(r"(?P<figure>[-+\N{MINUS SIGN}]?[\d.,]+)\s*(?P<unit>[^\d\s.,-]\S*)?")


class Part(StrEnum):
    """Which part of what an answer is worked out from a field fills."""

    READING = "reading"
    FIGURE = "figure"
    LOW = "low"  # a limit of the reading of that role
    HIGH = "high"


@dataclass(frozen=True, slots=True)
class Field:
    """One field. `key` is its name in addresses and commands, `role` what it fills where that is another word."""

    key: str
    label: str
    unit: str = ""
    example: str = ""
    part: Part = Part.FIGURE
    needed: bool = True
    several: bool = False
    choices: tuple[str, ...] = ()
    words: bool = False
    role: str = ""

    @property
    def fills(self) -> str:
        return self.role or self.key

    @property
    def says(self) -> str:
        """The label with its unit and what may be left out, for a page or a list."""
        what = f"{self.label}, {self.unit}" if self.unit else self.label
        return what if self.needed else f"{what} (may be left out)"


@dataclass(frozen=True, slots=True)
class Entry:
    """One computation of the book. `checked` names where the example's figures come from, `also` more words to find
    it by."""

    name: str
    title: str
    subject: str
    fields: tuple[Field, ...]
    work: Callable[[Given], Answer]
    checked: str
    also: str = ""

    @property
    def example(self) -> dict[str, str]:
        return {field.key: field.example for field in self.fields if field.example}


class CannotTake(ValueError):
    """What was typed cannot be taken; `faults` says why, by field."""

    def __init__(self, faults: Mapping[str, str]) -> None:
        super().__init__("; ".join(faults.values()))
        self.faults = dict(faults)


def given(entry: Entry, typed: Mapping[str, str]) -> Given:
    """What was typed as readings, limits and figures. Raises CannotTake with a sentence for each field at fault."""
    faults: dict[str, str] = {
        key: f"{entry.title} has no field “{key[:30]}”. Its fields: {', '.join(field.key for field in entry.fields)}."
        for key in typed
        if key not in {field.key for field in entry.fields}
    }
    readings: dict[str, dict[str, Value]] = {}
    figures: dict[str, Decimal] = {}
    ends: dict[str, dict[str, Decimal]] = {}
    for field in entry.fields:
        text = " ".join(typed.get(field.key, "").split())
        if not text:
            if field.needed:
                faults[field.key] = f"{field.label}: nothing was typed. Blank is not zero."
            continue
        try:
            values = _values(field, text)
        except (FigureError, ValueError) as fault:
            faults[field.key] = f"{field.label}: {fault}"
            continue
        if field.part is Part.READING:
            names = [str(number) for number in range(1, len(values) + 1)] if field.several else [""]
            readings[field.fills] = dict(zip(names, values, strict=True))
        elif isinstance(values[0], Decimal):
            found = figures if field.part is Part.FIGURE else ends.setdefault(field.fills, {})
            found[field.fills if field.part is Part.FIGURE else field.part] = values[0]
    if faults:
        raise CannotTake(faults)
    words = {
        field.fills: str(typed[field.key]).strip()
        for field in entry.fields
        if (field.words or field.choices) and field.key in typed
    }
    limits = _limits(entry, ends)
    return Given(readings=readings, limits=limits, figures=figures, facts=words)


def _limits(entry: Entry, ends: Mapping[str, Mapping[str, Decimal]]) -> dict[str, Limits]:
    """The typed limits by role; CannotTake at both fields of a least that is above its most."""
    found = {}
    for role, typed in ends.items():
        low, high = typed.get(Part.LOW), typed.get(Part.HIGH)
        if low is not None and high is not None and low > high:
            why = f"{plain(low)} as the least is above {plain(high)} as the most. One of the two is wrong."
            pair = [one for one in entry.fields if one.fills == role and one.part in (Part.LOW, Part.HIGH)]
            raise CannotTake({field.key: f"{field.label}: {why}" for field in pair})
        found[role] = Limits(low, high)
    return found


def _values(field: Field, text: str) -> list[Value]:
    if field.words:
        return [text]
    if field.choices:
        if text not in field.choices:
            raise ValueError(f"“{text[:30]}” is none of {', '.join(field.choices)}.")
        return [text]
    if not field.several:
        return [_figure(field, text)]
    parts = _parts(text)
    if len(parts) > MOST_FIGURES:
        raise ValueError(f"{len(parts)} figures were typed; {MOST_FIGURES} can be taken.")
    return [_numbered(field, part, number) for number, part in enumerate(parts, start=1)]


def _parts(text: str) -> list[str]:
    """The figures of a list: semicolons or spaces between them; nothing between two semicolons stays, and is refused
    with its number, for a figure left out would move all that follow."""
    chunks = [chunk.strip() for chunk in text.split(";")]
    if len(chunks) > 1 and not chunks[-1]:
        chunks.pop()
    return [part for chunk in chunks for part in re.split(r"\s+(?=[-+.\d\N{MINUS SIGN}])", chunk)]


def _numbered(field: Field, text: str, number: int) -> Decimal:
    try:
        return _figure(field, text)
    except ValueError as fault:
        raise ValueError(f"figure {number}: {fault}") from fault


def _figure(field: Field, text: str) -> Decimal:
    found = _WITH_UNIT.fullmatch(text)
    unit = found["unit"] if found is not None else None
    if found is None or unit is None:
        return parse_figure(text)
    figure = parse_figure(found["figure"])
    if not field.unit or not _fits(unit, field.unit):
        wanted = f"in {field.unit}" if field.unit else "without a unit"
        raise ValueError(f"“{unit[:12]}” is no unit of this figure; it is {wanted}.")
    return rounded(convert(figure, unit, field.unit), FINEST)


def _fits(unit: str, wanted: str) -> bool:
    try:
        return same_dimension(unit, wanted)
    except ValueError:  # no unit that is known here
        return False


def work_out(entry: Entry, what: Given) -> Answer:
    """The answer, or the sentence that says why there is none from these figures."""
    try:
        return entry.work(what)
    except OutsideValidity as outside:
        return unknown(f"{entry.title}: not to be told from these figures.", outside.text)
    except (ArithmeticError, ValueError):
        return unknown(
            f"{entry.title}: not to be told from these figures.",
            "They lie too far from any that this work has. Look for a slipped point or a wrong unit.",
        )


def of_subject(entries: Sequence[Entry]) -> dict[str, list[Entry]]:
    """The entries by subject, each in the order of the book."""
    found: dict[str, list[Entry]] = {}
    for entry in entries:
        found.setdefault(entry.subject, []).append(entry)
    return found


def search(entries: Sequence[Entry], text: str) -> list[Entry]:
    """The entries that have every word of the text in their title, subject, name, fields or other words."""
    wanted = text.lower().split()
    return [entry for entry in entries if all(word in _found_by(entry) for word in wanted)]


def _found_by(entry: Entry) -> str:
    labels = " ".join(field.label for field in entry.fields)
    return f"{entry.title} {entry.subject} {entry.name} {entry.also} {labels}".lower()
