"""One test for each word of a reaction: what an out-of-limit value does (house rules of the build card)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.definitions.characteristic import Characteristic, Reaction
from builds.definitions.words import Kind, ReactionKind
from builds.reactions import consequence


def asked(low: Reaction | None = None, high: Reaction | None = None) -> Characteristic:
    return Characteristic(
        code="1.1", name="Torque", kind=Kind.MEASURED, low=Decimal(100), high=Decimal(110), on_low=low, on_high=high,
        reaction="Loosen and repeat",
    )  # fmt: skip


REPEAT = Reaction(ReactionKind.REPEAT, times=1)
BACK = Reaction(ReactionKind.BACK, to=260, rounds=3)


def test_a_value_in_limits_has_no_consequence() -> None:
    assert consequence(asked(high=REPEAT), "in", 0, 0).kind == "none"


def test_repeat_is_told_with_its_number() -> None:
    found = consequence(asked(low=REPEAT), "below", 1, 0)
    assert (found.kind, found.opens_tag) == ("repeat", False)
    assert "Repeat 1 of 1." in found.text


def test_used_up_repeats_open_a_tag() -> None:
    assert consequence(asked(low=REPEAT), "below", 2, 0).kind == "tag"


def test_wait_goes_on_waiting() -> None:
    found = consequence(asked(low=Reaction(ReactionKind.WAIT)), "below", 9, 0)
    assert (found.kind, found.opens_tag) == ("wait", False)


@pytest.mark.parametrize(("rounds", "kind"), [(0, "back"), (2, "back"), (3, "tag")])
def test_back_ends_in_a_tag_after_three_rounds(rounds: int, kind: str) -> None:
    assert consequence(asked(high=BACK), "above", 1, rounds).kind == kind


@pytest.mark.parametrize(("outs", "rounds", "kind"), [(3, 0, "back"), (4, 0, "tag"), (2, 1, "back"), (2, 2, "tag")])
def test_tries_out_of_limit_on_the_spot_are_rounds_too(outs: int, rounds: int, kind: str) -> None:
    """Whoever stays and reads again instead of going back does not get more than the three rounds."""
    assert consequence(asked(high=BACK), "above", outs, rounds).kind == kind


def test_back_names_the_operation() -> None:
    assert consequence(asked(high=BACK), "above", 1, 0).back_to == 260


def test_tag_opens_a_tag_at_once() -> None:
    assert consequence(asked(high=Reaction(ReactionKind.TAG)), "above", 1, 0).opens_tag


def test_stop_stops_the_axle() -> None:
    assert consequence(asked(high=Reaction(ReactionKind.STOP)), "above", 1, 0).kind == "stop"


def test_what_must_never_be_passed_stops_whatever_the_limit_says() -> None:
    assert consequence(asked(high=REPEAT), "never", 1, 0).kind == "stop"


def test_the_answer_no_uses_the_one_reaction_there_is() -> None:
    assert consequence(asked(low=Reaction(ReactionKind.TAG)), "no", 1, 0).kind == "tag"


def test_low_and_high_are_told_apart() -> None:
    both = asked(low=REPEAT, high=Reaction(ReactionKind.TAG))
    assert (consequence(both, "below", 1, 0).kind, consequence(both, "above", 1, 0).kind) == ("repeat", "tag")


def test_a_limit_without_a_reaction_opens_a_tag() -> None:
    assert consequence(asked(), "above", 1, 0).kind == "tag"
