"""One axle's life as a state machine: how it begins, whose turn it is, what comes next, and how it ends."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any

from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize

from builds.models import Visit
from shop.errors import Refusal
from shop.record.replay import check as replay_check
from shop.record.verify import verify
from tests.builds.bench import Bench
from tests.builds.life_model import COMPUTED, GOOD, PLACES, SIGNS, Life, Pass


class LifeTurns(RuleBasedStateMachine):
    """One axle on the bench; the bench itself stands since before the first life."""

    bench: Bench
    #: What all lives together made, so that a test can say that they came far.
    made: Counter[str]

    def __init__(self) -> None:
        super().__init__()
        self.life = Life()
        self.outer = transaction.atomic()
        self.outer.__enter__()
        self.begin, self.marks = self.bench.now, 0

    @initialize(
        steps=st.sampled_from([10, 14, 11, 8, 6, 13, 2, 0]),
        assembler=st.sampled_from(["ben", "ada"]),
        impatient=st.sampled_from([False, False, True]),
    )
    def book(self, steps: int, assembler: str, impatient: bool) -> None:
        """Some lives are looked at from booking on, others when much is done; an impatient worker tries to sign
        before it is time, and once declares the first reading void."""
        self.axle, self.assembler, self.impatient = self.bench.axle(), assembler, impatient
        for _ in range(steps):
            self.next_step()

    def next_step(self) -> None:
        """The next sensible step, done right."""
        life = self.life
        number = next((one for one in PLACES if life.state(one) != "done"), None)
        if number is None or life.over:
            return
        who = self.worker(number)
        if self.impatient and life.passes[number]:
            self.do_sign(number, who)
            self.do_hold(self.assembler)
            if not self.life.counts["Voiding"]:
                self.do_void(number, who, PLACES[number][0])
        if life.tags:
            self.do_decide(0, "eve", "use_as_is", agreed=True)
        elif life.state(number) in ("none", "redo", "set_down"):
            self.do_take_up(number, who)
        elif life.state(number) == "wait_sign":
            self.do_hold("cy")
        elif blanks := life.blanks(number):
            self.do_enter(number, who, blanks[0], GOOD[blanks[0][0]])
        elif outs := [where for where in life.outs(number) if where != COMPUTED]:
            self.do_enter(number, who, outs[0], GOOD[outs[0][0]])
        elif number == 20 and not life.shaft:
            self.do_fit(who)
        else:
            self.do_sign(number, who)

    def turn(self, number: int, who: str) -> tuple[int, str]:
        """The operation under way and its worker, where none are named."""
        number = number or next((one for one in PLACES if self.life.state(one) != "done"), 30)
        return number, who or self.worker(number)

    def worker(self, number: int) -> str:
        if SIGNS[number] == "a":
            return self.assembler
        return "cy" if self.life.independent("cy", (10, 20)) else "ben"

    def teardown(self) -> None:
        self.made.update(self.life.counts)
        try:
            if hasattr(self, "axle"):
                assert verify().findings == []
                assert replay_check()[1] == []
        finally:
            transaction.set_rollback(True)
            self.outer.__exit__(None, None, None)
            self.bench.now = self.begin

    def tried(self, allowed: bool, do: Callable[[], Any]) -> Any:
        """Do it; whether it went through must be as the model says."""
        made, said = None, ""
        try:
            made = do()
        except Refusal as refusal:
            said = refusal.text
        assert allowed == (not said), said or "went through, but should be refused"
        return made

    def visit(self, number: int) -> Visit:
        return Visit.objects.filter(axle=self.axle, operation__number=number).order_by("-number")[0]

    def at(self, number: int) -> Pass:
        found = self.life.standing(number)
        assert found is not None
        return found
