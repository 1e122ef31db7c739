"""Typed access to the tables of a definition file. Every fault is collected, with its place."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar

from builds.definitions.text_lines import Path, nearest_line

Word = TypeVar("Word", bound=StrEnum)
MISSING = object()
MOST_DIGITS = 9  # before and after the point: what the record stores exactly
MOST_WHOLE = 1_000_000
_NAMES = ("number", "code", "axis", "role", "cause", "part_kind", "joint", "name", "operation")


@dataclass(frozen=True)
class Fault:
    """One thing wrong in a definition file: where, which key, and what was expected."""

    file: str
    line: int
    where: str
    key: str
    expected: str

    def __str__(self) -> str:
        place = f"{self.file}, line {self.line}"
        inside = ", ".join(part for part in (self.where, self.key and f"key {self.key}") if part)
        return f"{place}: {inside}: {self.expected}" if inside else f"{place}: {self.expected}"


class DefinitionError(ValueError):
    """A definition file that cannot be used; `faults` holds everything found wrong."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


@dataclass
class Source:
    """A file being read: its name, the line of each key, its data and the faults so far."""

    file: str
    lines: dict[Path, int]
    root: Mapping[str, object]
    faults: list[Fault] = field(default_factory=list)

    def fault(self, path: Path, key: str, expected: str) -> None:
        """Notes a fault at a key of the table at this path."""
        line = nearest_line(self.lines, (*path, key) if key else path)
        fault = Fault(self.file, line, self.describe(path), key, expected)
        if not any((fault.line, fault.where, fault.key) == (f.line, f.where, f.key) for f in self.faults):
            self.faults.append(fault)  # one fault a key: what follows from the first is noise

    def describe(self, path: Path) -> str:
        """The table's place in words: "operation 80, characteristic 80.3"."""
        said: list[str] = []
        here: object = self.root
        for step in path:
            if isinstance(step, int) and isinstance(here, list) and step < len(here):
                here = here[step]
                said[-1] = f"{said[-1]} {_name_of(here, step)}"
            elif isinstance(step, str) and isinstance(here, dict):
                here = here.get(step)
                said.append(step)
        return ", ".join(said)


def _name_of(table: object, index: int) -> str:
    if isinstance(table, dict):
        for name in _NAMES:
            if isinstance(table.get(name), str | int):
                return str(table[name])
    return f"no. {index + 1}"


class Table:
    """One table; a key asked for is checked and remembered, and `done` reports the keys nobody asked for."""

    def __init__(self, data: Mapping[str, object], source: Source, path: Path) -> None:
        self.data = data
        self.source = source
        self.path = path
        self.asked: set[str] = set()

    def has(self, key: str) -> bool:
        """Whether the key is written."""
        return key in self.data

    def fault(self, key: str, expected: str) -> None:
        """Notes a fault at this key."""
        self.source.fault(self.path, key, expected)

    def raw(self, key: str) -> object:
        """The value as parsed, or MISSING."""
        self.asked.add(key)
        return self.data.get(key, MISSING)

    def text(self, key: str, default: str | None = None) -> str:
        """A text. Without a default it must be there and not be empty."""
        value = self.raw(key)
        if value is MISSING:
            if default is None:
                self.fault(key, "expected a text; it is missing")
            return default or ""
        if not isinstance(value, str) or (default is None and not value.strip()):
            self.fault(key, f"expected a text in quotes, found {shown(value)}")
            return default or ""
        return value

    def flag(self, key: str, default: bool = False) -> bool:
        """true or false."""
        value = self.raw(key)
        if value is MISSING:
            return default
        if not isinstance(value, bool):
            self.fault(key, f"expected true or false, found {shown(value)}")
            return default
        return value

    def integer(self, key: str, default: int | None = None, least: int = 0) -> int:
        """A whole number of at least `least`."""
        value = self.raw(key)
        if value is MISSING and default is not None:
            return default
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= MOST_WHOLE:
            self.fault(key, f"expected a whole number of {least} or more, found {shown(value)}")
            return default or least
        return value

    def decimal(self, key: str) -> Decimal | None:
        """A number, exact as written, or None when the key is absent."""
        value = self.raw(key)
        if value is MISSING:
            return None
        number = as_decimal(value)
        if number is None:
            self.fault(key, f"expected a number without quotes, found {shown(value)}")
        return number

    def word(self, key: str, kind: type[Word], default: Word | None = None) -> Word:
        """One word of a closed list."""
        value = self.raw(key)
        if value is MISSING and default is not None:
            return default
        for member in kind:
            if value == member.value:
                return member
        self.fault(key, f"expected one of {listed(kind)}, found {shown(value)}")
        return default if default is not None else next(iter(kind))

    def known(self, key: str, words: Collection[str], default: str | None = None) -> str:
        """One text of a closed list."""
        value = self.text(key, default)
        if value and value not in words and value != default:
            self.fault(key, f"expected one of {listed(words)}, found {shown(value)}")
        return value

    def texts(self, key: str, words: Collection[str] | None = None) -> tuple[str, ...]:
        """A list of texts, each from `words` where given; absent is empty."""
        value = self.raw(key)
        if value is MISSING:
            return ()
        if not isinstance(value, list) or not all(isinstance(one, str) and one for one in value):
            self.fault(key, f'expected a list of texts such as ["left", "right"], found {shown(value)}')
            return ()
        for one in value:
            if words is not None and one not in words:
                self.fault(key, f"expected only {listed(words)}, found {shown(one)}")
        if len(set(value)) != len(value):
            self.fault(key, f"expected each text once, found {shown(value)}")
        return tuple(value)

    def integers(self, key: str) -> tuple[int, ...]:
        """A list of whole numbers; absent is empty."""
        value = self.raw(key)
        if value is MISSING:
            return ()
        whole = isinstance(value, list) and all(type(one) is int and 0 <= one <= MOST_WHOLE for one in value)
        if not isinstance(value, list) or not whole:
            self.fault(key, f"expected a list of whole numbers such as [10, 20], found {shown(value)}")
            return ()
        return tuple(value)

    def pairs(self, key: str) -> tuple[tuple[str, object], ...]:
        """A table of plain values, in the order written; absent is empty."""
        value = self.raw(key)
        if value is MISSING:
            return ()
        if not isinstance(value, dict):
            self.fault(key, f"expected a table such as {{ name = value }}, found {shown(value)}")
            return ()
        return tuple(value.items())

    def table(self, key: str) -> "Table | None":
        """A table inside this one, or None when absent."""
        value = self.raw(key)
        if value is MISSING:
            return None
        if not isinstance(value, dict):
            self.fault(key, f"expected a table, found {shown(value)}")
            return None
        return Table(value, self.source, (*self.path, key))

    def tables(self, key: str) -> list["Table"]:
        """The tables of an array of tables; absent is empty."""
        value = self.raw(key)
        if value is MISSING:
            return []
        if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
            self.fault(key, f"expected tables headed [[{key}]], found {shown(value)}")
            return []
        return [Table(one, self.source, (*self.path, key, index)) for index, one in enumerate(value)]

    def done(self) -> None:
        """Reports every key that is written but not known."""
        for key in self.data:
            if key not in self.asked:
                self.fault(key, f"unknown key; known here: {', '.join(sorted(self.asked))}")


def as_decimal(value: object) -> Decimal | None:
    """A number as an exact decimal, or None when it is none or has more digits than the record keeps."""
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        return None
    number = Decimal(value)
    exponent = number.as_tuple().exponent
    if not isinstance(exponent, int) or number.adjusted() >= MOST_DIGITS or exponent < -MOST_DIGITS:
        return None
    return number


def listed(words: Iterable[str]) -> str:
    """Words for a sentence, in their own order."""
    return ", ".join(str(word) for word in words) or "(nothing is declared)"


def shown(value: object) -> str:
    """A value as a person would recognise it in the file."""
    if value is MISSING:
        return "nothing"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(shown(one) for one in value) + "]"
    if isinstance(value, dict):
        return "a table"
    return str(value)


def one_of(value: str, known: Collection[str], place: Path, key: str, source: Source) -> None:
    """Notes a fault unless the value is one of the known ones."""
    if value not in known:
        source.fault(place, key, f"expected one of {listed(sorted(known))}, found {value or 'nothing'}")
