"""Words about reactions, waits, changes and cautions became rules: one test per word.

The words are those of the operation and characteristic lists of the two demonstration axles; how they are
meant is the shop's own decision (house rules, no outside source).
"""

from decimal import Decimal

import pytest

from builds.definitions.card import Card
from builds.definitions.characteristic import Characteristic, Reaction
from builds.definitions.plan import for_options
from builds.definitions.words import Kind, ReactionKind
from tests.builds.definitions.cards import SORREL, TEASEL

BOTH = pytest.mark.parametrize("card", [SORREL, TEASEL], ids=["sorrel", "teasel"])


# Reactions: the words of on_low, on_high and never_above.

REACTIONS = [
    ("220.1", "on_low", Reaction(ReactionKind.REPEAT, times=1)),
    ("80.1", "on_low", Reaction(ReactionKind.WAIT)),
    ("40.1", "on_high", Reaction(ReactionKind.BACK, to=40, rounds=3)),
    ("300.1", "on_high", Reaction(ReactionKind.BACK, to=260, rounds=3)),
    ("220.1", "on_high", Reaction(ReactionKind.TAG)),
    ("70.1", "on_low", Reaction(ReactionKind.STOP)),
]


@BOTH
@pytest.mark.parametrize(("code", "which", "reaction"), REACTIONS)
def test_reaction(card: Card, code: str, which: str, reaction: Reaction) -> None:
    assert getattr(card.characteristic(code), which) == reaction


@BOTH
@pytest.mark.parametrize(("code", "limit"), [("210.1", 275), ("410.1", 8), ("160.b", 1100)])
def test_never_above(card: Card, code: str, limit: int) -> None:
    assert card.characteristic(code).never_above == Decimal(limit)


@BOTH
def test_over_torque_is_never_repeated(card: Card) -> None:
    torque: list[Characteristic] = [
        c for o in card.operations for c in o.characteristics if c.gauge_kind == "torque_wrench" and c.judged
    ]
    assert len(torque) >= 7
    assert {c.on_high.kind for c in torque if c.on_high} == {ReactionKind.TAG}


# Waits and what a change re-opens.


@BOTH
def test_the_two_clock_waits(card: Card) -> None:
    waits = [(after.operation, after.event, after.minutes, after.shorter_by) for after in card.after]
    assert waits == [(165, "last_arc", 48 * 60, ("engineer",)), (410, "cover_sealant", 60, ())]


@BOTH
@pytest.mark.parametrize(("code", "event"), [("330.a", "cover_sealant"), ("160.c", "last_arc")])
def test_what_starts_a_wait(card: Card, code: str, event: str) -> None:
    assert (card.characteristic(code).kind, card.characteristic(code).event) == (Kind.TIME, event)


@BOTH
def test_what_may_not_be_set_down_says_why(card: Card) -> None:
    kept_on = {o.number: o.set_down_reason for o in card.operations if not o.may_set_down}
    assert {80, 130, 150, 180, 330} <= set(kept_on)
    assert all(kept_on.values())


CAUSES = {
    "gear_set": [210, 220, 250, 260, 270, 280, 290, 300, 310, 320, 330, 400, 410],
    "differential": [200, 210, 220, 230, 260, 270, 290, 300, 310, 330, 400, 410],
    "depth_or_backlash_change": [280, 290, 300, 320, 330],
    "tube": [
        100, 110, 120, 130, 140, 150, 160, 165, 170, 180, 190,
        240, 250, 260, 270, 280, 290, 300, 310, 320, 330, 400, 410,
    ],
    "weld_repair": [90, 100, 160, 165, 170, 180, 190, 410],
    "cap_bolts": [290, 300, 330],
    "opened_after_410": [410],
}  # fmt: skip


@BOTH
def test_made_invalid_by_table(card: Card) -> None:
    numbers = {operation.number for operation in card.operations}
    expected = {cause: [n for n in listed if n in numbers] for cause, listed in CAUSES.items()}
    assert {found.cause: list(found.operations) for found in card.invalidates} == expected


@BOTH
def test_a_tube_reopens_its_own_side_and_a_weld_repair_two_single_characteristics(card: Card) -> None:
    by_cause = {found.cause: found for found in card.invalidates}
    assert by_cause["tube"].own_side == (30, 40, 50, 60, 70, 80, 90)
    assert by_cause["weld_repair"].characteristics == ("110.3", "150.2")
    assert by_cause["depth_or_backlash_change"].changed_at == (250, 260, 270)


@BOTH
@pytest.mark.parametrize(
    ("number", "opens"),
    [(80, True), (140, True), (250, True), (290, True), (320, True), (330, True), (360, True), (400, True),
     (100, False), (190, False), (350, False), (370, False), (390, False), (420, False)],
)  # fmt: skip
def test_what_opens_the_axle_repeats_the_leak_test(card: Card, number: int, opens: bool) -> None:
    """House rule "anything opened after 410 repeats 410"; which operations open it is common practice, no source:
    those inside the housing, through its wall, or at a seal of the oil space."""
    plan = for_options(card, {})
    again = {"410/": "opened_after_410"} if opens else {}
    assert plan.opened_with({plan.of_operation(number)[0].key}) == again


@BOTH
def test_a_differential_opens_the_axle_but_is_no_change_of_depth(card: Card) -> None:
    plan = for_options(card, {})
    assert set(plan.opened_with(plan.made_invalid_by("depth_or_backlash_change"))) == {"410/"}
    assert plan.opened_with(plan.made_invalid_by("differential")) == {}  # its own row names 410 already


# Safety on the page.


@BOTH
def test_every_weld_warns_of_arc_fume_fire_burns_and_solvent(card: Card) -> None:
    for number in (80, 130, 150):
        text = " ".join(card.operation(number).caution)
        assert all(word in text for word in ("Arc eye", "fume", "hot work", "burns", "solvent")), number


@BOTH
@pytest.mark.parametrize(
    ("number", "words"),
    [(40, "no gloves"), (50, "no gloves"), (70, "never stand in line"), (210, "never torch"),
     (410, "never above 8 psi"), (180, "supplied air"), (290, "spreader off"),
     (240, "never spin a bearing"), (350, "no hammer")],
)  # fmt: skip
def test_the_caution_stands_on_the_operation(card: Card, number: int, words: str) -> None:
    assert words in " ".join(card.operation(number).caution).lower()
