"""The welder's, the procedure's and the wire's validity on the day, as facts."""

from __future__ import annotations

import pytest

from measurements.bench.advice import advise
from measurements.bench.answer import Answer, Tone
from measurements.bench.given import Given

RIGHT = {
    "today": "2026-03-02",
    "welder": "Isolde Kern",
    "process": "gas-metal-arc welding",
    "skill": "yes",
    "skill_lapses": "2026-08-31",
    "procedure": "W-12 rev 3",
    "procedure_in_force": "yes",
    "wire": "SP-4",
    "wire_kind": "welding wire ER80S-D2",
    "wire_wanted": "welding wire ER80S-D2",
    "wire_opened": "2026-02-20",
    "wire_expires": "2026-03-02",
}


def told(**facts: str) -> Answer:
    return advise("welder_and_wire", Given(facts={name: text for name, text in (RIGHT | facts).items() if text}), {})


def test_all_three_hold_today() -> None:
    """The spool's last day is still good."""
    answer = told()
    assert (answer.tone, answer.says) == (Tone.GO, "Isolde Kern, W-12 rev 3 and wire SP-4 hold today.")
    assert answer.reason == ()
    notes = [one.note for one in answer.lines]
    assert notes[0] == "gas-metal-arc welding: valid; lapses on 31 Aug 2026 unless used"
    assert notes[2] == "welding wire ER80S-D2; opened on 20 Feb 2026; expires on 2 Mar 2026"


@pytest.mark.parametrize(
    ("facts", "tone", "says"),
    [
        ({"skill": "lapsed", "skill_lapses": "2026-03-02"}, Tone.STOP, "lapsed on 2 Mar 2026"),
        ({"skill": "none", "skill_lapses": ""}, Tone.STOP, "was never given"),
        ({"procedure_in_force": "no"}, Tone.STOP, "W-12 rev 3 is not in the shop's list in force today"),
        ({"wire": ""}, Tone.DO, "No wire is scanned yet: scan welding wire ER80S-D2."),
        ({"wire_expires": "2026-03-01"}, Tone.STOP, "Wire SP-4 expired on 1 Mar 2026"),
        ({"wire_kind": "welding wire ER70S-6"}, Tone.STOP, "this weld takes welding wire ER80S-D2"),
        ({"welder": ""}, Tone.UNKNOWN, "Who welds is not known"),
    ],
)
def test_what_does_not_hold_is_said_first(facts: dict[str, str], tone: Tone, says: str) -> None:
    answer = told(**facts)
    assert (answer.tone, says in answer.says) == (tone, True)


def test_the_gravest_is_said_and_the_other_stands_below() -> None:
    answer = told(wire="", procedure_in_force="no")
    assert answer.tone is Tone.STOP
    assert answer.reason == ("No wire is scanned yet: scan welding wire ER80S-D2.",)


@pytest.mark.parametrize(("lapses", "count"), [("2026-04-01", 1), ("2026-04-02", 0), ("", 0)])
def test_a_skill_that_lapses_within_thirty_days_is_told_beforehand(lapses: str, count: int) -> None:
    answer = told(skill_lapses=lapses)
    assert (answer.tone, len(answer.reason)) == (Tone.GO, count)


def test_a_spool_without_dates_says_so() -> None:
    assert told(wire_opened="", wire_expires="").lines[2].note == "welding wire ER80S-D2; no expiry on record"
