"""An answer is plain data: it goes into JSON and comes back the same."""

from __future__ import annotations

from dataclasses import fields

import pytest

from measurements.bench.answer import Answer, Line, Picture, Tone, unknown

WHOLE = Answer(
    "Move .007 in toward the pinion.",
    Tone.DO,
    (Line("move", "0.007 in", "0.178 mm", "from one side, to the other"),),
    ("The backlash is .0125 in and .0080 in is wanted.",),
    ("(0.0125 - 0.0080) / 0.65 = 0.0069",),
    ("Nobody has moved a shim on this axle yet.",),
    "two public truck manuals",
    "factor 0.3 to 1.3",
    ("Hands clear of mesh.",),
    Picture("shims", {"toward": "0.007", "sides": ["left", "right"]}),
)


@pytest.mark.parametrize("answer", [WHOLE, Answer("12.0"), unknown("Not to be told.", "220.2 is not read yet.")])
def test_an_answer_comes_back_from_its_json(answer: Answer) -> None:
    assert Answer.from_json(answer.as_json()) == answer


def test_every_part_of_an_answer_is_in_its_json() -> None:
    """Control: an answer without one part gives another text."""
    empty = Answer("x")
    for part in fields(WHOLE):
        assert getattr(WHOLE, part.name) != getattr(empty, part.name)
        assert part.name in WHOLE.as_json()


@pytest.mark.parametrize("text", ["", "[]", '"go"', "{}", '{"says": "x", "tone": "perhaps"}'])
def test_what_is_no_answer_is_refused(text: str) -> None:
    with pytest.raises((ValueError, KeyError)):
        Answer.from_json(text)
