"""Writes a card as canonical TOML: reading that gives an equal card; equal cards give equal texts."""

import json
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from builds.definitions.card import AXLE, Card, Operation
from builds.definitions.characteristic import Characteristic, Positions, PositionSet, Sample
from builds.definitions.grammar import as_count, write_reaction, write_sample
from builds.definitions.options import When

Pairs = Iterable[tuple[str, Any]]


def write_card(card: Card) -> str:
    """The canonical text of a card."""
    lines: list[str] = []
    for header, values in tables_of(card):
        lines += ["", header, *(f"{name} = {value_text(value)}" for name, value in values.items())]
    return "\n".join(lines).strip() + "\n"


def tables_of(card: Card) -> list[tuple[str, dict[str, Any]]]:
    """The tables of a card in the order of the file: header, and the keys not at their usual value."""
    out = _Out()
    out.table(
        "[axle]",
        code=card.code,
        name=card.name,
        revision=card.revision,
        title=card.title,
        drawing=card.drawing,
        unit_system=card.unit_system,
        notice=card.notice,
        sides=card.sides,
    )
    out.pairs("[axle.facts]", card.facts)
    out.pairs("[axle.service]", card.service)
    for station in card.stations:
        out.table("[[station]]", code=station.code, name=station.name)
    for unit in card.units:
        out.table("[[unit]]", **_fields(unit))
    for material in card.materials:
        out.table("[[material]]", **_fields(material, rounding="absolute"))
    for kind in card.part_kinds:
        out.table("[[part_kind]]", **_fields(kind))
    for document in card.documents:
        out.table("[[document]]", **_fields(document))
    for option in card.options:
        out.table("[[option]]", axis=option.axis, label=option.label, default=option.default)
        for value in option.values:
            out.table("[[option.value]]", code=value.code, label=value.label, facts=dict(value.facts))
    for refusal in card.refusals:
        out.table("[[refusal]]", when=_when(refusal.when), reason=refusal.reason)
    for operation in card.operations:
        _operation(out, operation)
    for after in card.after:
        out.table("[[after]]", **_fields(after))
    for invalidates in card.invalidates:
        out.table("[[invalidates]]", **_fields(invalidates))
    for rule in card.interchanges:
        out.table("[[interchange]]", **_fields(rule))
    return out.tables


def _operation(out: "_Out", operation: Operation) -> None:
    out.table(
        "[[operation]]",
        number=operation.number,
        name=operation.name,
        station=operation.station,
        per="" if operation.per == AXLE else operation.per,
        zone="" if operation.zone == "whole" else operation.zone,
        when=_when(operation.when),
        starts_after=operation.starts_after,
        signs=operation.signs,
        beside=operation.beside,
        helps=operation.helps,
        on_reject=operation.on_reject,
        skill=operation.skill,
        may_set_down="" if operation.may_set_down else False,
        set_down_reason=operation.set_down_reason,
        batch=operation.batch or "",
        closing="" if operation.closing else False,
        minutes=operation.minutes,
        documents=operation.documents,
        caution=operation.caution,
        instruction=operation.instruction,
    )
    hold = operation.hold
    if hold:
        looks_at: object = "all" if hold.looks_at_all else hold.looks_at
        out.table(
            "[operation.hold]",
            kind=hold.kind,
            by=hold.by,
            looks_at=looks_at,
            is_the_work=hold.is_the_work or "",
            skill=hold.skill,
        )
    for photo in operation.photos:
        out.table("[[operation.photo]]", **_fields(photo, required="always"))
    for weld in operation.welds:
        out.table("[[operation.weld]]", **_fields(weld))
    for need in operation.needs:
        out.table("[[operation.need]]", **_fields(need, quantity=Decimal(1)))
    for found in operation.characteristics:
        _characteristic(out, found)
    for call in operation.advice:
        pairs = {name: dict(getattr(call, name)) for name in ("inputs", "figures")}
        out.table("[[operation.advice]]", name=call.name, **pairs, by_side=call.by_side or "")


def _characteristic(out: "_Out", found: Characteristic) -> None:
    figures = {
        name: None if value is None else _figure(value, found.decimals)
        for name, value in (("low", found.low), ("high", found.high), ("never_above", found.never_above))
    }
    computation = found.computation and {
        "name": found.computation.name,
        "inputs": dict(found.computation.inputs),
        "constants": dict(found.computation.constants),
        "event": found.computation.event,
    }
    window = found.window and {
        "name": found.window.name,
        "inputs": dict(found.window.inputs),
        "limits_of": dict(found.window.limits_of),
    }
    out.table(
        "[[operation.characteristic]]",
        code=found.code,
        name=found.name,
        kind=found.kind,
        when=_when(found.when),
        side=found.side,
        positions=_positions(found.positions),
        sample="" if found.sample == Sample() else write_sample(found.sample),
        unit=found.unit,
        **figures,
        decimals=found.decimals or "",
        choices=found.choices,
        accepted=found.accepted,
        gauge_kind=found.gauge_kind,
        step=found.step,
        needs_setting=found.needs_setting or "",
        fixture=found.fixture,
        computation=computation,
        given=found.given and {"source": found.given.source, "role": found.given.role},
        rejects=found.rejects,
        window=window,
        recorded_only=found.recorded_only or "",
        optional=found.optional or "",
        needed_with=dict(found.needed_with),
        event=found.event,
        on_low=found.on_low and write_reaction(found.on_low),
        on_high=found.on_high and write_reaction(found.on_high),
        reaction=found.reaction,
        source=found.source,
        agreed=found.agreed or "",
        note=found.note,
        **{"class": "" if found.recorded_only and found.class_ == "L" else found.class_},
    )


def _fields(thing: object, **usual: object) -> dict[str, Any]:
    """The fields of a plain dataclass, without those at their usual value."""
    said: dict[str, Any] = {}
    for name, value in vars(thing).items():
        if isinstance(value, When):
            said[name] = _when(value)
        elif value is not False and not (name in usual and value == usual[name]):
            said[name] = value
    return said


def _when(when: When) -> dict[str, Any]:
    said: dict[str, Any] = {}
    for clause in when.clauses:
        values = list(clause.values)
        if clause.negated:
            said[clause.axis] = {"not": values}
        else:
            said[clause.axis] = values[0] if len(values) == 1 else values
    return said


def _positions(positions: Positions) -> object:
    if positions.open_ended:
        return {"prefix": positions.prefix, "minimum": positions.minimum}
    if positions == Positions():
        return None
    sets = [_position_set(one) for one in positions.sets]
    if len(sets) > 1 or "when" in sets[0]:
        return sets
    return sets[0].get("ordinals") if set(sets[0]) == {"ordinals"} else sets[0]


def _position_set(one: PositionSet) -> dict[str, Any]:
    count = as_count(one.ordinals)
    said: dict[str, Any] = {"when": _when(one.when), "sides": list(one.sides)}
    said["ordinals"] = count if count is not None else list(one.ordinals)
    return {name: value for name, value in said.items() if value}


def _figure(number: Decimal, decimals: int) -> Decimal:
    """The number with the decimals of the drawing, which never change its value."""
    padded = number.quantize(Decimal(1).scaleb(-decimals)) if decimals else number
    return padded if padded == number else number


def value_text(value: object) -> str:
    """One value as TOML."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, str):
        return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, Mapping):
        inside = ", ".join(f"{_key(name)} = {value_text(one)}" for name, one in value.items() if not _empty(one))
        return f"{{ {inside} }}"
    if isinstance(value, list | tuple):
        return _list_text(value)
    raise TypeError(f"a definition holds no {type(value).__name__}")


def _key(name: str) -> str:
    """A key of an inline table; one that holds a point, such as a code, stands in quotes."""
    return json.dumps(name, ensure_ascii=False) if "." in name else name


def _list_text(values: list[Any] | tuple[Any, ...]) -> str:
    texts = [value_text(one) for one in values]
    line = f"[{', '.join(texts)}]"
    if len(line) <= 100 and not any(isinstance(one, Mapping) for one in values):
        return line
    return "[\n" + "".join(f"  {text},\n" for text in texts) + "]"


def _empty(value: object) -> bool:
    return value is None or value == "" or value in ((), [], {})


class _Out:
    """Collects tables; a key without a value is left out."""

    def __init__(self) -> None:
        self.tables: list[tuple[str, dict[str, Any]]] = []

    def table(self, header: str, **values: object) -> None:
        """One table, even an empty one."""
        self.tables.append((header, {name: value for name, value in values.items() if not _empty(value)}))

    def pairs(self, header: str, pairs: Pairs) -> None:
        """A table of free names, unless it is empty."""
        kept = {name: value for name, value in pairs if not _empty(value)}
        if kept:
            self.tables.append((header, kept))
