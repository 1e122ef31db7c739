"""Side shims from an axle's own tries: every advice stays beside the try it was given for."""

from __future__ import annotations

import pytest

from builds.models import Visit
from measurements.bench.answer import Answer, Tone
from measurements.models import Advised
from tests.shopfloor import open_shop

pytestmark = pytest.mark.django_db


def told(visit: Visit) -> list[tuple[Tone, str, str]]:
    """Every answer to the shim advice kept at this pass, oldest first: its tone, its sentence, its factor."""
    rows = Advised.objects.filter(sheet__visit_links__visit=visit, name="shim_advice").order_by("pk")
    answers = [Answer.from_json(row.answer) for row in rows]
    return [(one.tone, one.says, one.assumed[0] if one.assumed else "") for one in answers]


def test_the_second_try_is_advised_from_the_first_and_both_advices_stay() -> None:
    """.010 of shim on the ring side took .0050 of backlash: this axle's own factor is .50, no longer .65."""
    floor = open_shop()
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run(until=260)
    first = builder.begin("260/")
    builder.enter_code(first, "260.a", ".240", ".250")
    builder.enter_code(first, "260.1", *[".0170"] * 4)
    before = told(first)
    builder.send_back(first)
    second = builder.begin("260/")
    builder.enter_code(second, "260.a", ".250", ".240")
    builder.enter_code(second, "260.1", *[".0120"] * 4)
    assert before[0][0] is Tone.UNKNOWN
    assert before[-1][0] is Tone.DO
    assert "Move 0.014 in so that the ring gear goes toward the pinion" in before[-1][1]
    assert "start value" in before[-1][2]
    assert "Move 0.008 in so that the ring gear goes toward the pinion" in told(second)[-1][1]
    assert "this axle's own 2 tries" in told(second)[-1][2]
    assert told(first) == before
