"""Both shipped axles are complete: nothing of the shop's lists is dropped or altered."""

from dataclasses import replace
from decimal import Decimal

import pytest

from builds.definitions.card import Card
from builds.definitions.characteristic import Reaction
from builds.definitions.grammar import write_reaction
from builds.definitions.words import Kind
from tests.builds.definitions.cards import SORREL, TEASEL
from tests.builds.definitions.expected import CHARACTERISTICS, OPERATIONS

BOTH = pytest.mark.parametrize(("card", "column"), [(SORREL, 0), (TEASEL, 1)], ids=["sorrel", "teasel"])
Limits = tuple[str, int, Decimal | None, Decimal | None, str, str, Decimal | None]


def figure(text: str) -> Decimal | None:
    return None if text == "-" else Decimal(text)


def expected_characteristics(column: int) -> dict[str, Limits]:
    """The rows of one axle; a row is not on an axle whose columns are blank (yes/no rows have no figures)."""
    found: dict[str, Limits] = {}
    for line in CHARACTERISTICS.strip().splitlines():
        code, cls, decimals, *figures, on_low, on_high, never = [cell.strip() for cell in line.split("|")]
        low, high = figures[2 * column : 2 * column + 2]
        if (low, high) != ("-", "-") or figures == ["-"] * 4:
            found[code] = (cls, int(decimals), figure(low), figure(high), on_low, on_high, figure(never))
    return found


def said(reaction: Reaction | None) -> str:
    return write_reaction(reaction).removesuffix(", 3 rounds") if reaction else "-"


def held_characteristics(card: Card) -> dict[str, Limits]:
    """The characteristics numbered as in the shop's list; letters are the recorded extras."""
    return {
        found.code: (
            found.class_.value,
            found.decimals,
            found.low,
            found.high,
            said(found.on_low),
            said(found.on_high),
            found.never_above,
        )
        for operation in card.operations
        for found in operation.characteristics
        if found.code.split(".")[1].isdigit()
    }


@BOTH
def test_every_operation_with_its_station_name_and_minutes(card: Card, column: int) -> None:
    expected = [(o[0], o[1], o[2], o[3 + column]) for o in OPERATIONS if o[3 + column]]
    assert [(o.number, o.station, o.name, o.minutes) for o in card.operations] == expected


@pytest.mark.parametrize(("card", "count"), [(SORREL, 44), (TEASEL, 43)])
def test_number_of_operations(card: Card, count: int) -> None:
    assert len(card.operations) == count


@BOTH
def test_every_limited_characteristic(card: Card, column: int) -> None:
    assert held_characteristics(card) == expected_characteristics(column)


def test_the_list_has_102_rows() -> None:
    assert len(CHARACTERISTICS.strip().splitlines()) == 102
    assert len(expected_characteristics(0)) == 102
    assert len(expected_characteristics(1)) == 97


@BOTH
def test_a_dropped_row_would_be_found(card: Card, column: int) -> None:
    operations = tuple(
        replace(o, characteristics=tuple(c for c in o.characteristics if c.code != "300.2")) for o in card.operations
    )
    assert held_characteristics(replace(card, operations=operations)) != expected_characteristics(column)


@BOTH
def test_an_altered_limit_would_be_found(card: Card, column: int) -> None:
    tightened = tuple(
        replace(
            o,
            characteristics=tuple(
                replace(c, high=c.high - Decimal("0.0001")) if c.code == "50.3" and c.high else c
                for c in o.characteristics
            ),
        )
        for o in card.operations
    )
    assert held_characteristics(replace(card, operations=tightened)) != expected_characteristics(column)


@BOTH
def test_every_limit_says_where_it_comes_from_and_what_to_do(card: Card, column: int) -> None:
    bare = [c.code for o in card.operations for c in o.characteristics if c.judged and not (c.source and c.reaction)]
    assert bare == []


@BOTH
def test_the_notice_stands_on_the_card(card: Card, column: int) -> None:
    assert card.notice == (
        "Demonstration figures: do not build to them; the weld windows are not a qualified procedure."
    )


def test_only_the_sorrel_has_an_air_circuit_caliper_bolts_and_a_lock_nut() -> None:
    codes = {c.code for o in TEASEL.operations for c in o.characteristics}
    assert not codes & {"310.1", "310.2", "310.3", "380.3", "390.2"}
    assert 310 not in {o.number for o in TEASEL.operations}


@BOTH
def test_computed_values_cannot_be_typed(card: Card, column: int) -> None:
    computed = {
        c.code
        for o in card.operations
        for c in o.characteristics
        if c.kind is Kind.COMPUTED and c.code.split(".")[1].isdigit()
    }
    assert computed == {
        "40.3", "50.4", "50.7", "80.5", "80.6", "130.7", "130.8", "150.7", "150.8", "165.1", "180.1", "190.1",
        "300.2", "410.2",
    }  # fmt: skip


def test_gear_cut_and_shim_sign_are_opposite() -> None:
    sorrel, teasel = dict(SORREL.facts), dict(TEASEL.facts)
    assert (sorrel["gear_cut"], teasel["gear_cut"]) == ("face-hobbed", "face-milled")
    assert (sorrel["pinion_shim_sign"], teasel["pinion_shim_sign"]) == ("in", "out")


@pytest.mark.parametrize(
    ("card", "teeth"),
    [
        (SORREL, {"3.70": (37, 10), "4.30": (43, 10), "4.875": (39, 8)}),
        (TEASEL, {"3.91": (43, 11), "4.56": (41, 9)}),
    ],
)
def test_ratios_are_real_tooth_counts(card: Card, teeth: dict[str, tuple[int, int]]) -> None:
    ratio = next(option for option in card.options if option.axis == "ratio")
    held = {value.code: (value.fact("ring_teeth"), value.fact("pinion_teeth")) for value in ratio.values}
    assert held == teeth
    for code, (ring, pinion) in teeth.items():
        places = Decimal(code).normalize().as_tuple().exponent
        assert round(Decimal(ring) / pinion, -places if isinstance(places, int) else 0) == Decimal(code)


def test_the_two_axles_share_only_parts_that_fit_both() -> None:
    shared = {kind.code for kind in SORREL.part_kinds} & {kind.code for kind in TEASEL.part_kinds}
    assert shared == {
        "plate", "breather", "weld_wire", "shielding_gas", "thread_adhesive", "paint", "sealant", "grease",
    }  # fmt: skip


def test_the_pinion_pack_is_a_unit_of_both_axles() -> None:
    for card in (SORREL, TEASEL):
        own = [operation.number for operation in card.operations if operation.per == "pinion_pack"]
        assert (own, card.unit("pinion_pack").for_stock) == ([280], False)
        assert card.options_of("pinion_pack") == ("ratio",)
    assert {need.role for need in TEASEL.operation(280).needs} == {
        "pinion", "head_bearing", "tail_bearing", "pinion_cage",
    }  # fmt: skip
