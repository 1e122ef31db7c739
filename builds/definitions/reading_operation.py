"""Reads one operation of a definition file: its hold, welds, needs and characteristics."""

from decimal import Decimal

from builds.definitions.card import AXLE, AdviceCall, Hold, Need, Operation, Photo, Weld
from builds.definitions.characteristic import Characteristic, Computation, Given, Window
from builds.definitions.grammar import read_limits, read_positions, read_reaction, read_sample, read_when
from builds.definitions.table import Table, as_decimal, shown
from builds.definitions.words import (
    ANY_SECOND_PERSON,
    GAUGE_KINDS,
    ROLES,
    SIDES,
    SKILLS,
    ZONES,
    Class,
    HoldKind,
    Kind,
)


def read_operation(table: Table) -> Operation:
    """One [[operation]] with everything under it."""
    hold = table.table("hold")
    found = Operation(
        number=table.integer("number", least=1),
        name=table.text("name"),
        station=table.text("station"),
        per=table.text("per", AXLE),
        signs=table.texts("signs", ROLES),
        beside=table.texts("beside", ROLES),
        helps=table.texts("helps", ROLES),
        on_reject=table.texts("on_reject", ROLES),
        skill=table.known("skill", SKILLS, ""),
        hold=_hold(hold) if hold else None,
        may_set_down=table.flag("may_set_down", True),
        set_down_reason=table.text("set_down_reason", ""),
        batch=table.flag("batch"),
        closing=table.flag("closing", True),
        caution=table.texts("caution"),
        instruction=table.text("instruction", ""),
        photos=tuple(_photo(one) for one in table.tables("photo")),
        minutes=_minutes(table),
        documents=table.texts("documents"),
        zone=table.known("zone", ZONES, "whole"),
        starts_after=table.integers("starts_after"),
        welds=tuple(_weld(one) for one in table.tables("weld")),
        needs=tuple(_need(one) for one in table.tables("need")),
        characteristics=tuple(_characteristic(one) for one in table.tables("characteristic")),
        advice=tuple(_advice(one) for one in table.tables("advice")),
        when=read_when(table),
    )
    table.done()
    return found


def _advice(table: Table) -> AdviceCall:
    found = AdviceCall(
        name=table.text("name"),
        inputs=_codes(table),
        figures=_numbers(table, "figures"),
        by_side=table.flag("by_side"),
    )
    table.done()
    return found


def _codes(table: Table, key: str = "inputs") -> tuple[tuple[str, str], ...]:
    pairs = tuple((name, value) for name, value in table.pairs(key) if isinstance(value, str))
    if len(pairs) != len(table.pairs(key)):
        table.fault(key, 'expected codes in quotes such as { outer = "40.1" }')
    return pairs


def _minutes(table: Table) -> tuple[int, int, int]:
    said = table.integers("minutes")
    if len(said) != 3 or not 0 < said[0] <= said[1] <= said[2]:
        table.fault("minutes", f"expected three rising counts, [low, likely, high], found {shown(list(said))}")
        return (0, 0, 0)
    return (said[0], said[1], said[2])


def _hold(table: Table) -> Hold:
    everything = table.raw("looks_at") == "all"
    found = Hold(
        kind=table.word("kind", HoldKind),
        by=table.texts("by", (*ROLES, ANY_SECOND_PERSON)),
        looks_at=() if everything else table.integers("looks_at"),
        looks_at_all=everything,
        is_the_work=table.flag("is_the_work"),
        skill=table.known("skill", SKILLS, ""),
    )
    if not found.by and not table.has("by"):
        table.fault("by", "expected the roles that may sign this hold; it is missing")
    table.done()
    return found


def _photo(table: Table) -> Photo:
    found = Photo(table.text("name"), table.known("required", ("always", "on_finding"), "always"), read_when(table))
    table.done()
    return found


def _weld(table: Table) -> Weld:
    found = Weld(
        joint=table.text("joint"),
        name=table.text("name"),
        process=table.known("process", SKILLS),
        procedure=table.text("procedure"),
        procedure_revision=table.text("procedure_revision"),
        positions_of=table.text("positions_of"),
        into=table.texts("into"),
        repair=table.text("repair", ""),
        when=read_when(table),
    )
    table.done()
    return found


def _need(table: Table) -> Need:
    quantity = table.decimal("quantity")
    if quantity is not None and quantity <= 0:
        table.fault("quantity", f"expected more than nothing, found {quantity}")
    found = Need(
        part_kind=table.text("part_kind"),
        role=table.text("role"),
        quantity=Decimal(1) if quantity is None else quantity,
        unit=table.text("unit", ""),
        sides=table.texts("sides", SIDES),
        matched_set=table.text("matched_set", ""),
        kit=table.flag("kit"),
        sawn_length=table.texts("sawn_length"),
        remnant_length=table.text("remnant_length", ""),
        heat_from=table.text("heat_from", ""),
        note=table.text("note", ""),
        when=read_when(table),
    )
    table.done()
    return found


def _characteristic(table: Table) -> Characteristic:
    low, high = read_limits(table)
    computation, given, window = table.table("computation"), table.table("given"), table.table("window")
    found = Characteristic(
        code=table.text("code"),
        name=table.text("name"),
        kind=table.word("kind", Kind),
        unit=table.text("unit", ""),
        low=low,
        high=high,
        decimals=table.integer("decimals", 0),
        step=table.decimal("step"),
        gauge_kind=table.known("gauge_kind", GAUGE_KINDS, ""),
        needs_setting=table.flag("needs_setting"),
        fixture=table.text("fixture", ""),
        positions=read_positions(table),
        sample=read_sample(table),
        class_=table.word("class", Class, Class.LOOK),
        reaction=table.text("reaction", ""),
        source=table.text("source", ""),
        on_low=read_reaction(table, "on_low"),
        on_high=read_reaction(table, "on_high"),
        never_above=table.decimal("never_above"),
        rejects=table.text("rejects", ""),
        computation=_computation(computation) if computation else None,
        given=_given(given) if given else None,
        window=_window(window) if window else None,
        choices=table.texts("choices"),
        accepted=table.texts("accepted"),
        recorded_only=table.flag("recorded_only"),
        optional=table.flag("optional"),
        needed_with=_codes(table, "needed_with"),
        event=table.text("event", ""),
        side=table.known("side", SIDES, ""),
        agreed=table.flag("agreed"),
        note=table.text("note", ""),
        when=read_when(table),
    )
    table.done()
    return found


def _computation(table: Table) -> Computation:
    found = Computation(
        name=table.text("name"),
        inputs=_codes(table),
        constants=_numbers(table, "constants"),
        event=table.text("event", ""),
    )
    table.done()
    return found


def _numbers(table: Table, key: str) -> tuple[tuple[str, Decimal], ...]:
    numbers: list[tuple[str, Decimal]] = []
    for name, value in table.pairs(key):
        number = as_decimal(value)
        if number is None:
            table.fault(key, f"expected numbers, found {name} = {shown(value)}")
        else:
            numbers.append((name, number))
    return tuple(numbers)


def _given(table: Table) -> Given:
    found = Given(table.known("source", ("heat", "part")), table.text("role"))
    table.done()
    return found


def _window(table: Table) -> Window:
    found = Window(table.text("name"), _numbers(table, "inputs"), _codes(table, "limits_of"))
    table.done()
    return found
