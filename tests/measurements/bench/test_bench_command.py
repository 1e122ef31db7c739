"""`manage.py bench` for scripts."""

from __future__ import annotations

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from measurements.bench.entries import BOOK


def said(*words: str) -> str:
    out = StringIO()
    call_command("bench", *words, stdout=out)
    return out.getvalue()


def test_without_a_name_it_lists_the_book() -> None:
    assert [line.split()[0] for line in said().splitlines()] == list(BOOK)


def test_without_figures_it_names_the_fields_and_an_example_that_works() -> None:
    shown = said("wrench_setting")
    assert "target              Torque at the bolt, ft-lb" in shown
    example = shown.splitlines()[-1].split()[3:]
    assert said("wrench_setting", *example).startswith("Set the wrench to 20 ft-lb")


def test_the_whole_answer_as_json() -> None:
    """30 ft-lb with 12 and 6 in is set to 20 (US TM 9-254)."""
    found = json.loads(said("wrench_setting", "target=30", "wrench=12", "extension=152.4 mm", "--json"))
    assert (found["tone"], found["lines"][0]["value"]) == ("do", "20 ft-lb")


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["gold"], "The book has no gold"),
        (["units", "3"], "is no key=value"),
        (["units", "value=3", "from=in"], "To: nothing was typed"),
        (["units", "value=3,5", "from=in", "to=mm"], "has a comma"),
        (["units", "value=3", "from=in", "to=mm", "x=1"], "has no field “x”"),
        (["shim_pack", "target=0.88", "sizes=0.08 0.13 0,25"], "figure 3: “0,25” has a comma"),
        (["units", "value=3", "from=in", "to=psi"], "no answer from these figures"),
    ],
)
def test_what_it_cannot_take_is_said(words: list[str], why: str) -> None:
    with pytest.raises(CommandError, match=why):
        said(*words)


def test_a_list_goes_in_one_value_and_choices_are_named() -> None:
    """0.13 + 0.25 + 0.50 = 0.88 (calculated)."""
    assert said("shim_pack", "target=0.88", "sizes=0.08; 0.13; 0.25; 0.50").startswith("Take 0.5 + 0.25 + 0.13")
    assert "face-milled | face-hobbed" in said("contact_pattern")
