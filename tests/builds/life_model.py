"""What must be true of one axle on the bench card, in plain Python: no database, nothing of the program's own rules.

Figures are whole: ten-thousandths of an inch for the bore, foot-pounds for the torque. The rules restated here are
the house's: nothing is signed around a blank, a hold is signed by none of the doers, an open tag stops what it lies
on and what comes after, a value out of limit is signed only under its own concession.
"""

from __future__ import annotations

from dataclasses import dataclass, field

ROLES = {"ada": "a", "ben": "ai", "cy": "i", "eve": "e"}
#: Who may work at an operation (those who sign its hold may as well), and who signs it.
HANDS = {10: "a", 20: "ai", 30: "i"}
SIGNS = {10: "a", 20: "a", 30: "i"}
#: Who decides about a value that is out: of class S (10.1) the engineer, else the inspector too.
DECIDES = {"10.1": "e", "20.1": "ei", "30.1": "ei"}
PLACES = {10: [("10.1", "A"), ("10.1", "B")], 20: [("20.1", n) for n in "123"], 30: [("30.1", "")]}
COMPUTED = ("10.2", "")
GOOD = {"10.1": 30630, "20.1": 105, "30.1": 1}
LIMITS = {"10.1": (30625, 30637), "10.2": (0, 5), "20.1": (100, 110), "30.1": (1, 1)}
Where = tuple[str, str]


def holds(who: str, roles: str) -> bool:
    return bool(set(ROLES[who]) & set(roles))


def is_out(code: str, value: int) -> bool:
    low, high = LIMITS[code]
    return not low <= value <= high


@dataclass
class Try:
    """`by`: who read it. `counted`: whether it is one of the tries that low torque is allowed; void, it still is, but
    where somebody who may decide about it and did not read it declared it void."""

    value: int
    void: bool = False
    by: str = ""
    counted: bool = True
    #: What a computed value was computed from.
    inputs: tuple[Try, ...] = ()


@dataclass
class Pass:
    """One pass of an operation: in hand, set down, waiting for its hold, done, or to redo."""

    state: str = "in_hand"
    tries: dict[Where, list[Try]] = field(default_factory=dict)

    def last(self, where: Where) -> Try | None:
        return next((one for one in reversed(self.tries.get(where, [])) if not one.void), None)


@dataclass
class Tag:
    """An open red tag. `number` None: it lies on the whole axle. `value`: of the reading that opened it."""

    number: int | None
    where: Where | None = None
    value: int | None = None

    @property
    def is_safety(self) -> bool:
        return self.where is not None and self.where[0] == "10.1"


@dataclass
class Life:
    passes: dict[int, list[Pass]] = field(default_factory=lambda: {10: [], 20: [], 30: []})
    doers: dict[int, set[str]] = field(default_factory=lambda: {10: set(), 20: set(), 30: set()})
    tags: list[Tag] = field(default_factory=list)
    conceded: set[tuple[Where, int]] = field(default_factory=set)
    shaft: bool = False
    closed: bool = False
    scrapped: bool = False
    counts: dict[str, int] = field(default_factory=lambda: dict.fromkeys(COUNTED, 0))

    def standing(self, number: int) -> Pass | None:
        return self.passes[number][-1] if self.passes[number] else None

    def state(self, number: int) -> str:
        found = self.standing(number)
        return found.state if found else "none"

    def stops(self, number: int) -> bool:
        """Whether a tag lies on this operation, on one before it, or on the whole axle."""
        return any(tag.number is None or tag.number <= number for tag in self.tags)

    def stops_entry(self, number: int, where: Where) -> bool:
        """As `stops`, but what one reading of this operation opened stops only the next try at its own place; where it
        was computed, at those that it comes from."""
        own = [tag for tag in self.tags if tag.number == number and tag.where is not None]
        others = [tag for tag in self.tags if tag not in own]
        on_it = any(tag.number is None or tag.number <= number for tag in others)
        return on_it or any(tag.where == where or (tag.where == COMPUTED and number == 10) for tag in own)

    @property
    def over(self) -> bool:
        return self.closed or self.scrapped

    def may_take_up(self, number: int, who: str) -> bool:
        state = self.state(number)
        if self.over or not holds(who, HANDS[number]) or self.stops(number):
            return False
        return state == "set_down" or (state in ("none", "redo") and self.all_before(number))

    def all_before(self, number: int) -> bool:
        """Whether what this one waits for is done; it may have been opened again since."""
        return all(self.state(other) == "done" for other in (10, 20) if other < number)

    def take_up(self, number: int, who: str) -> None:
        found = self.standing(number)
        if found is not None and found.state == "set_down":
            found.state = "in_hand"
        else:
            self.passes[number].append(Pass())
            self.counts["Visit"] += 1
        self.doers[number].add(who)

    def may_work(self, number: int, who: str) -> bool:
        return not self.closed and self.state(number) == "in_hand" and holds(who, HANDS[number])

    def may_enter(self, number: int, who: str, where: Where, *, reason: bool) -> bool:
        at = self.standing(number)
        again = at is not None and bool(at.tries.get(where))
        return self.may_work(number, who) and not self.stops_entry(number, where) and (reason or not again)

    def enter(self, number: int, who: str, where: Where, value: int) -> None:
        at = self.standing(number)
        assert at is not None
        at.tries.setdefault(where, []).append(Try(value, by=who))
        self.counts["Reading"] += 1
        self.doers[number].add(who)
        self._react(number, where, at)
        self._compute(number, at)

    def may_void(self, number: int, who: str, where: Where) -> bool:
        """Whoever may work there, and whoever decides about such a value."""
        in_hand = not self.closed and self.state(number) == "in_hand"
        return in_hand and holds(who, HANDS[number] + DECIDES[where[0]])

    def void(self, number: int, who: str, where: Where) -> None:
        at = self.standing(number)
        assert at is not None
        last = at.last(where)
        assert last is not None
        last.void, last.counted = True, who == last.by or not holds(who, DECIDES[where[0]])
        self.counts["Voiding"] += 1
        self._compute(number, at)

    def _compute(self, number: int, at: Pass) -> None:
        """The out-of-round follows the readings that count; without one of them there is none, and none stands on
        a reading that is void."""
        if number != 10:
            return
        now = at.last(COMPUTED)
        if now is not None and any(one.void for one in now.inputs):
            now.void, now = True, None
            self.counts["Voiding"] += 1
        ends = tuple(one for one in (at.last(where) for where in PLACES[10]) if one is not None)
        if len(ends) < 2:
            return
        spread = abs(ends[0].value - ends[1].value)
        if now is None or now.value != spread:
            at.tries.setdefault(COMPUTED, []).append(Try(spread, inputs=ends))
            self.counts["Reading"] += 1
            self._react(number, COMPUTED, at)

    def _react(self, number: int, where: Where, at: Pass) -> None:
        """Low torque is repeated once; everything else out of limit opens a tag, one at a place."""
        last = at.last(where)
        assert last is not None
        if not is_out(where[0], last.value):
            return
        outs = [one for one in at.tries[where] if one.counted and is_out(where[0], one.value)]
        repeat = where[0] == "20.1" and last.value < LIMITS["20.1"][0] and len(outs) == 1
        if not repeat and all(tag.where != where for tag in self.tags):
            self.open_tag(Tag(number, where, last.value))

    def open_tag(self, tag: Tag) -> None:
        self.tags.append(tag)
        self.counts["RedTag"] += 1

    def blanks(self, number: int) -> list[Where]:
        at = self.standing(number)
        return [where for where in PLACES[number] if at is None or at.last(where) is None]

    def outs(self, number: int) -> list[Where]:
        """Values out of limit that no concession covers."""
        at = self.standing(number)
        places = PLACES[number] + ([COMPUTED] if number == 10 else [])
        lasts = [(where, at.last(where)) for where in places] if at is not None else []
        found = [(where, last.value) for where, last in lasts if last is not None]
        return [where for where, value in found if is_out(where[0], value) and (where, value) not in self.conceded]

    def complete(self, number: int) -> bool:
        no_part = number == 20 and not self.shaft
        return not (self.blanks(number) or self.outs(number) or no_part or self.stops(number))

    def independent(self, who: str, numbers: tuple[int, ...]) -> bool:
        return holds(who, "i") and all(who not in self.doers[number] for number in numbers)

    def may_finish(self, number: int, who: str) -> bool:
        if self.closed or self.state(number) != "in_hand" or not holds(who, SIGNS[number]):
            return False
        return self.complete(number) and self.all_before(number) and (number != 30 or self.independent(who, (10, 20)))

    def finish(self, number: int, who: str) -> None:
        at = self.standing(number)
        assert at is not None
        at.state = "wait_sign" if number == 20 else "done"
        self.doers[number].add(who)
        self.counts["Done"] += 1
        self.counts["Hold"] += number == 30

    def may_hold(self, who: str) -> bool:
        independent = self.independent(who, (10, 20))
        return self.state(20) == "wait_sign" and independent and not self.stops(20) and self.all_before(20)

    def hold(self) -> None:
        at = self.standing(20)
        assert at is not None
        at.state = "done"
        self.counts["Hold"] += 1

    def reopen(self, *numbers: int) -> None:
        for number in numbers:
            at = self.standing(number)
            if at is not None:
                at.state = "redo"

    def may_close(self, who: str) -> bool:
        done = all(self.state(number) == "done" for number in PLACES)
        return holds(who, "i") and done and not self.tags and self.shaft and not self.over


COUNTED = ("Visit", "Reading", "Voiding", "RedTag", "Disposition", "Concession", "Done", "Hold", "Fitted", "Removal",
           "Closing")  # fmt: skip
