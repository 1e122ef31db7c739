"""Material definitions: what a mill's certificate must state, read from TOML and checked whole. See MATERIAL.md."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path as FilePath

from builds.definitions.table import DefinitionError, Fault, Source, Table
from builds.definitions.text_lines import line_numbers

MOST_BYTES = 200_000
#: Names as a certificate prints them, by symbol.
ELEMENTS = {
    "C": "Carbon", "Mn": "Manganese", "P": "Phosphorus", "S": "Sulfur", "Si": "Silicon", "Cr": "Chromium",
    "Mo": "Molybdenum", "V": "Vanadium", "Ni": "Nickel", "Cu": "Copper", "B": "Boron", "Al": "Aluminium",
    "N": "Nitrogen", "Nb": "Niobium", "Ti": "Titanium", "Sn": "Tin", "Ca": "Calcium",
}  # fmt: skip
STRENGTH_UNITS = ("ksi", "MPa", "%", "HB", "HV", "HRC", "J", "ft-lb")
ROUNDING = ("absolute", "E29")
#: Without these no carbon equivalent means anything.
NEEDED = ("C", "Mn")
MOST_DECIMALS = 6
_CODE = re.compile(r"[a-z][a-z0-9_]*")
_BRACKETS = re.compile(r"\s*\([^)]*\)")
_TOML_LINE = re.compile(r"\(at line (\d+), column (\d+)\)")
SHIPPED = FilePath(__file__).resolve().parent / "materials"


@dataclass(frozen=True)
class StatedValue:
    """One value of a certificate. `code`: the element's symbol, or the word of a strength."""

    code: str
    name: str
    unit: str
    low: Decimal | None
    high: Decimal | None
    decimals: int
    needed: bool
    source: str


@dataclass(frozen=True)
class MaterialDefinition:
    """A material and everything its certificate has to state. `rounding`: "absolute" or "E29"."""

    code: str
    revision: str
    name: str
    grade: str
    rounding: str
    notice: str
    values: tuple[StatedValue, ...]


def same_name(name: str) -> str:
    """A value's name for comparing a card's words with a material's: small letters, nothing in brackets."""
    return _BRACKETS.sub("", name).strip().lower()


def element_of(name: str) -> str:
    """The symbol of the element with this name, or nothing."""
    return _SYMBOLS.get(same_name(name), "")


_SYMBOLS = {name.lower(): symbol for symbol, name in ELEMENTS.items()} | {"sulphur": "S", "aluminum": "Al"}


def read_material(content: bytes, file: str) -> MaterialDefinition:
    """The definition in a file of this name. Raises DefinitionError with every fault found."""
    if len(content) > MOST_BYTES:
        raise _broken(file, 1, f"expected at most {MOST_BYTES} bytes, found {len(content)}")
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise _broken(file, line, "expected plain text in UTF-8; this is another kind of file") from error
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        found = _TOML_LINE.search(str(error))
        line = int(found.group(1)) if found else text.count("\n") + 1
        raise _broken(file, line, f"expected TOML; {error}") from error
    except (RecursionError, ArithmeticError) as error:
        raise _broken(file, 1, "expected numbers and tables of an ordinary size") from error
    source = Source(file=file, lines=line_numbers(text), root=data)
    made = _read(Table(data, source, ()))
    if source.faults:
        raise DefinitionError(sorted(source.faults, key=lambda fault: fault.line))
    return made


def _broken(file: str, line: int, expected: str) -> DefinitionError:
    return DefinitionError([Fault(file, line, "", "", expected)])


def _read(root: Table) -> MaterialDefinition:
    head = root.table("material") or Table({}, root.source, ("material",))
    values = [_element(table) for table in root.tables("element")]
    values += [_strength(table) for table in root.tables("strength")]
    made = MaterialDefinition(
        code=_word(head, "code"),
        revision=_short(head, "revision", 8),
        name=_short(head, "name", 60),
        grade=_short(head, "grade", 80),
        rounding=head.known("rounding", ROUNDING, "absolute"),
        notice=head.text("notice", ""),
        values=tuple(values),
    )
    head.done()
    root.done()
    _check(made, root)
    return made


def _element(table: Table) -> StatedValue:
    symbol = table.known("symbol", tuple(ELEMENTS))
    made = _value(table, symbol, ELEMENTS.get(symbol, symbol), "%", needed=table.flag("needed", True), decimals=3)
    for key, limit in (("low", made.low), ("high", made.high)):
        if limit is not None and not 0 <= limit <= 100:
            table.fault(key, f"expected per cent by mass from 0 to 100, found {limit}")
    return made


def _strength(table: Table) -> StatedValue:
    unit = table.known("unit", STRENGTH_UNITS)
    needed = table.flag("needed", True)
    return _value(table, _word(table, "code"), _short(table, "name", 80), unit, needed=needed, decimals=0)


def _value(table: Table, code: str, name: str, unit: str, *, needed: bool, decimals: int) -> StatedValue:
    low, high = table.decimal("low"), table.decimal("high")
    places = table.integer("decimals", decimals)
    made = StatedValue(code, name, unit, low, high, places, needed, table.text("source"))
    if places > MOST_DECIMALS:
        table.fault("decimals", f"expected at most {MOST_DECIMALS}, found {places}")
    if low is not None and high is not None and low > high:
        table.fault("low", f"expected a low limit of at most {high}, found {low}")
    table.done()
    return made


def _check(made: MaterialDefinition, root: Table) -> None:
    codes = [value.code for value in made.values]
    for code in dict.fromkeys(codes):
        if codes.count(code) > 1:
            root.fault("element" if code in ELEMENTS else "strength", f"expected {code} once, found it twice")
    for symbol in NEEDED:
        if symbol not in codes:
            root.fault("element", f"expected {ELEMENTS[symbol].lower()} ({symbol}): it is in every carbon equivalent")


def _word(table: Table, key: str) -> str:
    value = table.text(key)
    if value and (not _CODE.fullmatch(value) or len(value) > 12 + 28 * (key == "code" and table.path[0] == "material")):
        table.fault(key, f'expected a short word of small letters, digits and underscores, found "{value[:50]}"')
    return value


def _short(table: Table, key: str, longest: int) -> str:
    value = table.text(key)
    if len(value) > longest:
        table.fault(key, f"expected at most {longest} characters, found {len(value)}")
    return value
