"""Words about samples, positions and kinds became rules: one test per word.

The words are those of the operation and characteristic lists of the two demonstration axles; how they are
meant is the shop's own decision (house rules, no outside source).
"""

import pytest

from builds.definitions.card import Card
from builds.definitions.characteristic import Sample
from builds.definitions.words import Kind, SampleKind
from tests.builds.definitions.cards import SORREL, TEASEL

BOTH = pytest.mark.parametrize("card", [SORREL, TEASEL], ids=["sorrel", "teasel"])


def labels(card: Card, code: str, **chosen: str) -> tuple[str, ...]:
    return card.characteristic(code).positions.labels(chosen)


# Samples: the words of the column "sample".


@BOTH
def test_first_and_every_5th_is_pieces_1_6_11(card: Card) -> None:
    sample = card.characteristic("60.1").sample
    assert sample == Sample(SampleKind.FIRST_AND_EVERY, 5)
    assert [piece for piece in range(1, 14) if sample.takes(piece)] == [1, 6, 11]


def test_first_piece_sample_takes_only_the_first() -> None:
    assert [piece for piece in range(1, 5) if Sample(SampleKind.FIRST_PIECE).takes(piece)] == [1]


@BOTH
def test_each_heat(card: Card) -> None:
    chemistry = [c for c in card.operation(20).characteristics if c.sample.kind is SampleKind.EACH_HEAT]
    assert [c.code for c in chemistry] == [f"20.{number}" for number in range(1, 11)]
    assert all(c.given and c.given.source == "heat" and c.kind is Kind.GIVEN for c in chemistry)


@BOTH
def test_each_batch(card: Card) -> None:
    shared = {c.code for o in card.operations for c in o.characteristics if c.sample.kind is SampleKind.BATCH}
    assert {"180.1", "190.2"} <= shared
    assert all(card.operation(number).batch for number in (170, 180, 190))


@BOTH
def test_every_piece_is_every(card: Card) -> None:
    assert card.characteristic("40.1").sample == Sample(SampleKind.EVERY)


# Positions: how many, and where.

COUNTS = [
    ("40.1", 4, 4), ("50.3", 2, 2), ("70.2", 4, 4), ("110.1", 2, 2), ("120.1", 6, 6), ("120.2", 2, 2),
    ("120.3", 2, 2), ("130.1", 6, 6), ("150.2", 2, 2), ("160.1", 2, 2), ("160.2", 2, 2), ("190.a", 15, 15),
    ("210.2", 4, 4), ("220.1", 12, 10), ("260.1", 4, 4), ("290.1", 2, 2), ("290.3", 4, 4), ("300.1", 8, 4),
    ("330.1", 12, 10), ("340.1", 8, 8), ("350.1", 8, 6), ("360.2", 4, 4), ("370.1", 8, 8), ("380.1", 2, 2),
    ("380.2", 2, 2), ("390.1", 2, 2), ("400.1", 16, 12),
]  # fmt: skip


@pytest.mark.parametrize(("code", "sorrel", "teasel"), COUNTS)
def test_number_of_positions(code: str, sorrel: int, teasel: int) -> None:
    assert len(labels(SORREL, code)) == sorrel
    assert len(labels(TEASEL, code)) == teasel


def test_a_side_and_an_ordinal() -> None:
    assert labels(SORREL, "400.1")[7:9] == ("left 8", "right 1")


@BOTH
def test_a_place_without_a_name_is_an_empty_text(card: Card) -> None:
    assert labels(card, "110.2") == ("",)


@BOTH
@pytest.mark.parametrize(("code", "first"), [("80.2", "pass 1"), ("290.2", "spread 1")])
def test_every_pass_and_every_spread_are_open_ended(card: Card, code: str, first: str) -> None:
    positions = card.characteristic(code).positions
    assert positions.open_ended
    assert positions.labels({}) == (first,)
    assert positions.nth(7) == first.replace("1", "7")


def test_every_weld_tacks_included_follows_the_bracket_family() -> None:
    assert labels(SORREL, "150.6", brackets="RB-1") == (
        "left 1 tack", "left 1 weld", "right 1 tack", "right 1 weld",
    )  # fmt: skip
    assert len(labels(SORREL, "150.6", brackets="RB-2")) == 8
    assert labels(SORREL, "150.6", brackets="own_tack_only") == (
        "left 1 tack", "left 2 tack", "right 1 tack", "right 2 tack",
    )  # fmt: skip


def test_second_look_is_at_every_weld() -> None:
    assert labels(SORREL, "165.2", brackets="RB-1") == (
        "left spindle", "left plug 1", "left plug 2", "left plug 3", "left bracket 1",
        "right spindle", "right plug 1", "right plug 2", "right plug 3", "right bracket 1",
    )  # fmt: skip
    assert "left spindle" not in labels(SORREL, "165.3", brackets="RB-1")


@BOTH
@pytest.mark.parametrize(("code", "side"), [("30.1", "left"), ("30.2", "right"), ("50.1", "left"), ("50.2", "right")])
def test_lengths_that_are_only_for_one_side(card: Card, code: str, side: str) -> None:
    assert card.characteristic(code).side == side


# Kinds.


@BOTH
@pytest.mark.parametrize("code", ["70.2", "120.1", "210.2", "340.1", "350.1"])
def test_feeler_plug_and_seating_checks_are_go_no_go(card: Card, code: str) -> None:
    found = card.characteristic(code)
    assert (found.kind, found.accepted) == (Kind.GO_NO_GO, ("go",))


@BOTH
@pytest.mark.parametrize(("code", "role"), [("40.2", "centre_housing"), ("50.6", "spindle")])
def test_readings_of_bought_parts_belong_to_the_part(card: Card, code: str, role: str) -> None:
    given = card.characteristic(code).given
    assert given is not None
    assert (given.source, given.role) == ("part", role)


@BOTH
@pytest.mark.parametrize("code", ["40.2", "50.3"])
def test_a_bore_gauge_needs_its_setting_ring(card: Card, code: str) -> None:
    found = card.characteristic(code)
    assert (found.gauge_kind, found.needs_setting) == ("bore_gauge", True)


@BOTH
def test_travel_speed_is_length_over_arc_time(card: Card) -> None:
    computation = card.characteristic("80.5").computation
    assert computation is not None
    assert (computation.name, computation.input("arc_time")) == ("travel_speed", "80.b")


@BOTH
def test_hours_count_from_the_last_arc(card: Card) -> None:
    computation = card.characteristic("165.1").computation
    assert computation is not None
    assert (computation.name, computation.event) == ("hours_since_last_arc", "last_arc")
