"""Words about holds and signatures became rules: one test per word, on the shipped cards.

The words are those of the operation and characteristic lists of the two demonstration axles; how they are
meant is the shop's own decision (house rules, no outside source).
"""

import pytest

from builds.definitions.card import Card, Hold, Operation
from builds.definitions.words import HoldKind
from tests.builds.definitions.cards import SORREL, TEASEL

BOTH = pytest.mark.parametrize("card", [SORREL, TEASEL], ids=["sorrel", "teasel"])


def hold(card: Card, number: int) -> Hold:
    found = card.operation(number).hold
    assert found is not None
    return found


# Holds: the words of the column "hold".


@BOTH
def test_the_operations_with_a_hold_are_these(card: Card) -> None:
    held = {operation.number for operation in card.operations if operation.hold}
    assert held == {20, 50, 90, 160, 165, 270, 300, 380, 410, 420, 430}


@BOTH
def test_hold_first_use_of_a_heat(card: Card) -> None:
    assert (hold(card, 20).kind, hold(card, 20).by) == (HoldKind.FIRST_HEAT, ("inspector",))


@BOTH
def test_first_piece_check(card: Card) -> None:
    assert (hold(card, 50).kind, hold(card, 50).by) == (HoldKind.FIRST_PIECE, ("inspector",))


@BOTH
@pytest.mark.parametrize(("number", "looks_at"), [(90, (80,)), (160, (110, 130, 150)), (165, (80, 130, 150))])
def test_where_the_inspector_signs_the_work_that_signature_is_the_hold(
    card: Card, number: int, looks_at: tuple[int, ...]
) -> None:
    assert hold(card, number).is_the_work
    assert card.operation(number).signs == ("inspector",)
    assert hold(card, number).looks_at == looks_at


@BOTH
@pytest.mark.parametrize("number", [90, 165])
def test_inspector_not_the_welder(card: Card, number: int) -> None:
    welded = {o.number for o in card.operations if o.welds}
    assert set(hold(card, number).looks_at) <= welded


@BOTH
def test_lead_builder_or_inspector_accepts_the_pattern(card: Card) -> None:
    assert hold(card, 270).by == ("lead_builder", "inspector")
    assert card.operation(270).signs == ("assembler",)
    assert 270 in hold(card, 270).looks_at


@BOTH
def test_inspector_or_second_person_witnesses(card: Card) -> None:
    assert hold(card, 380).by == ("inspector", "second_person")


@BOTH
def test_inspector_who_did_no_work_on_this_axle(card: Card) -> None:
    assert hold(card, 420).looks_at_all
    assert hold(card, 420).is_the_work


@BOTH
def test_hold_certificate_signed_by_quality(card: Card) -> None:
    assert (hold(card, 430).kind, hold(card, 430).by) == (HoldKind.CERTIFICATE, ("quality",))


# Who may sign.


@BOTH
def test_qualified_welder_only(card: Card) -> None:
    welding: list[Operation] = [o for o in card.operations if o.welds]
    assert [o.number for o in welding] == [80, 130, 150]
    assert all(o.signs == ("welder",) and o.skill == "gas_metal_arc" for o in welding)


@BOTH
def test_tube_prep_and_welder_press_together(card: Card) -> None:
    assert (card.operation(110).signs, card.operation(110).beside) == (("tube_prep",), ("welder",))


@BOTH
def test_straightening_is_done_by_tube_prep(card: Card) -> None:
    assert card.operation(160).helps == ("tube_prep",)


@BOTH
def test_painter_and_inspector_on_reject(card: Card) -> None:
    assert (card.operation(190).signs, card.operation(190).on_reject) == (("painter",), ("inspector",))
