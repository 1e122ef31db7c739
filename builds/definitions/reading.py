"""Reads an axle definition from TOML text. All faults are reported at once, each with its line and key."""

import re
import tomllib
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path as FilePath

from builds.definitions.card import (
    After,
    Card,
    Document,
    Interchange,
    Invalidates,
    Material,
    PartKind,
    Station,
    UnitRole,
)
from builds.definitions.checking import check
from builds.definitions.grammar import read_when
from builds.definitions.options import Fact, Option, OptionValue, Refusal
from builds.definitions.reading_operation import read_operation
from builds.definitions.table import DefinitionError, Fault, Source, Table, as_decimal, shown
from builds.definitions.text_lines import line_numbers
from builds.definitions.windows import worked_out
from builds.definitions.words import ROLES, SIDES, Tracking

MOST_BYTES = 2_000_000
_CODE = re.compile(r"[a-z][a-z0-9_]*")
_TOML_LINE = re.compile(r"\(at line (\d+), column (\d+)\)")


def read_file(path: FilePath) -> Card:
    """The card in a file; DefinitionError says all that is wrong with it."""
    return read_bytes(path.read_bytes(), path.name)


def read_bytes(content: bytes, file: str) -> Card:
    """The card in an uploaded file of this name; DefinitionError says all that is wrong with it."""
    if len(content) > MOST_BYTES:
        raise _broken(file, 1, f"expected at most {MOST_BYTES} bytes, found {len(content)}")
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise _broken(file, line, "expected plain text in UTF-8; this is another kind of file") from error
    return read_text(text, file)


def read_text(text: str, file: str) -> Card:
    """The card in a TOML text, its windows worked out; `file` names it in errors. DefinitionError holds every fault
    found."""
    return _read(text, file, worked_out)


def read_kept(text: str, file: str) -> Card:
    """The card in a text that was loaded before: its limits stand in it and are not worked out again."""
    return _read(text, file, lambda card, _: card)


def _read(text: str, file: str, complete: Callable[[Card, Source], Card]) -> Card:
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise _not_toml(str(error), text, file) from error
    except (RecursionError, ArithmeticError) as error:
        raise _broken(file, 1, "expected numbers and tables of an ordinary size") from error
    source = Source(file=file, lines=line_numbers(text), root=data)
    card = complete(_read_card(Table(data, source, ())), source)
    check(card, source)
    if source.faults:
        raise DefinitionError(sorted(source.faults, key=lambda fault: fault.line))
    return card


def _broken(file: str, line: int, expected: str) -> DefinitionError:
    return DefinitionError([Fault(file, line, "", "", expected)])


def _not_toml(said: str, text: str, file: str) -> DefinitionError:
    found = _TOML_LINE.search(said)
    line = int(found.group(1)) if found else text.count("\n") + 1
    return _broken(file, line, f"expected TOML; {said}")


def _read_card(root: Table) -> Card:
    axle = root.table("axle") or Table({}, root.source, ("axle",))
    card = Card(
        code=_code(axle, "code"),
        name=axle.text("name"),
        revision=axle.text("revision"),
        title=axle.text("title"),
        drawing=axle.text("drawing"),
        unit_system=axle.known("unit_system", ("in", "mm")),
        notice=axle.text("notice", ""),
        sides=axle.texts("sides", SIDES),
        facts=_text_pairs(axle, "facts"),
        service=_text_pairs(axle, "service"),
        stations=tuple(_station(table) for table in root.tables("station")),
        units=tuple(_unit(table) for table in root.tables("unit")),
        materials=tuple(_material(table) for table in root.tables("material")),
        part_kinds=tuple(_part_kind(table) for table in root.tables("part_kind")),
        documents=tuple(_document(table) for table in root.tables("document")),
        options=tuple(_option(table) for table in root.tables("option")),
        refusals=tuple(_refusal(table) for table in root.tables("refusal")),
        operations=tuple(read_operation(table) for table in root.tables("operation")),
        after=tuple(_after(table) for table in root.tables("after")),
        invalidates=tuple(_invalidates(table) for table in root.tables("invalidates")),
        interchanges=tuple(_interchange(table) for table in root.tables("interchange")),
    )
    axle.done()
    root.done()
    return card


def _code(table: Table, key: str) -> str:
    value = table.text(key)
    if value and not _CODE.fullmatch(value):
        table.fault(key, f"expected small letters, digits and underscores, found {shown(value)}")
    return value


def _text_pairs(table: Table, key: str) -> tuple[tuple[str, str], ...]:
    pairs = table.pairs(key)
    for name, value in pairs:
        if not isinstance(value, str):
            table.fault(key, f"expected texts in quotes, found {name} = {shown(value)}")
    return tuple((name, str(value)) for name, value in pairs)


def _station(table: Table) -> Station:
    found = Station(code=table.text("code"), name=table.text("name"))
    table.done()
    return found


def _unit(table: Table) -> UnitRole:
    found = UnitRole(
        _code(table, "role"),
        table.text("name"),
        table.texts("sides", SIDES),
        table.texts("options"),
        table.flag("any_options"),
        table.flag("for_stock"),
    )
    if found.role == "axle":
        table.fault("role", 'expected another word; "axle" is the axle itself')
    table.done()
    return found


def _material(table: Table) -> Material:
    found = Material(
        code=_code(table, "code"),
        name=table.text("name"),
        grade=table.text("grade"),
        weldable=table.flag("weldable"),
        rounding=table.known("rounding", ("absolute", "E29"), "absolute"),
    )
    table.done()
    return found


def _part_kind(table: Table) -> PartKind:
    found = PartKind(
        code=_code(table, "code"),
        name=table.text("name"),
        tracking=table.word("tracking", Tracking),
        material=table.text("material", ""),
        facts=table.texts("facts"),
    )
    table.done()
    return found


def _document(table: Table) -> Document:
    found = Document(
        code=table.text("code"),
        revision=table.text("revision"),
        title=table.text("title"),
        kind=table.known("kind", ("drawing", "instruction"), "instruction"),
    )
    table.done()
    return found


def _option(table: Table) -> Option:
    found = Option(
        axis=_code(table, "axis"),
        label=table.text("label"),
        values=tuple(_option_value(one) for one in table.tables("value")),
        default=table.text("default"),
    )
    table.done()
    return found


def _option_value(table: Table) -> OptionValue:
    facts: list[tuple[str, Fact]] = []
    for name, value in table.pairs("facts"):
        if isinstance(value, str | bool) or (isinstance(value, int | Decimal) and as_decimal(value) is not None):
            facts.append((name, value))
        else:
            table.fault("facts", f"expected a text, a number, true or false, found {name} = {shown(value)}")
    found = OptionValue(table.text("code"), table.text("label"), tuple(facts))
    table.done()
    return found


def _refusal(table: Table) -> Refusal:
    found = Refusal(read_when(table), table.text("reason"))
    table.done()
    return found


def _after(table: Table) -> After:
    found = After(
        operation=table.integer("operation"),
        event=table.text("event"),
        minutes=table.integer("minutes", least=1),
        reason=table.text("reason"),
        shorter_by=table.texts("shorter_by", ROLES),
    )
    table.done()
    return found


def _invalidates(table: Table) -> Invalidates:
    found = Invalidates(
        cause=_code(table, "cause"),
        name=table.text("name"),
        operations=table.integers("operations"),
        own_side=table.integers("own_side"),
        characteristics=table.texts("characteristics"),
        parts=table.texts("parts"),
        changed_at=table.integers("changed_at"),
        opened_by=table.integers("opened_by"),
    )
    table.done()
    return found


def _interchange(table: Table) -> Interchange:
    found = Interchange(
        name=table.text("name"),
        needs=table.texts("needs"),
        takes=table.texts("takes"),
        together=table.flag("together"),
        unit=table.text("unit", ""),
        of=table.texts("of"),
        same_options=table.texts("same_options"),
        either_hand=table.flag("either_hand"),
        redo=table.integers("redo"),
        when=read_when(table),
    )
    table.done()
    return found
