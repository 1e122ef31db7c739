"""What every advice owes its reader, whatever it is about."""

from __future__ import annotations

import pytest

from measurements.bench.advice import ADVICE, faults


@pytest.mark.parametrize("name", list(ADVICE))
def test_a_card_that_leaves_out_what_an_advice_needs_is_told(name: str) -> None:
    entry = ADVICE[name]
    roles, figures = (*entry.inputs, *entry.named), entry.figures
    assert faults(name, (*roles, *entry.may_have), (*figures, *entry.may_fix)) == []
    said = faults(name, (), ())
    assert [text.split()[3].rstrip(";") for text in said] == [*roles, *(figure for figure in figures)]
