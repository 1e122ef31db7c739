"""The steps of an axle's life, each tried on the program and told to the plain model beside it."""

from __future__ import annotations

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from builds.actions.adding import void_reading
from builds.actions.claiming import set_down
from builds.actions.closing import close_axle
from builds.actions.deciding import Agreement, Decided, decide
from builds.actions.finishing import finish, sign_second
from builds.actions.fitting import fit_part
from builds.actions.removing import Out, remove_part
from builds.actions.tagging import report_wrong, tag_axle
from builds.models import Fitted, RedTag
from builds.reports.work import work_of
from shop.clock import shop_day
from tests.builds.life_model import HANDS, PLACES, Tag, Where, holds
from tests.builds.life_turns import LifeTurns

#: The first of each stands for the one whose turn it is.
PEOPLE = st.sampled_from(["", "", "", "ada", "ben", "cy", "eve"])
NUMBERS = st.sampled_from([0, 0, 0, 10, 20, 30])
begun = precondition(lambda self: bool(self.life.passes[10]))
half_way = precondition(lambda self: bool(self.life.passes[20]))
VALUES = {
    "10.1": st.sampled_from([30624, 30625, 30630, 30631, 30637, 30638]),
    "20.1": st.sampled_from([99, 100, 105, 110, 111]),
    "30.1": st.sampled_from([0, 1]),
}

OUT = {"10.1": [30624, 30638], "20.1": [99, 111], "30.1": [0]}


def typed(code: str, value: int) -> str:
    return {"10.1": f"{value / 10000:.4f}", "20.1": str(value), "30.1": "yes" if value else "no"}[code]


class LifeSteps(LifeTurns):
    """Every step, right or wrong, by anybody."""

    # Steps

    @rule(number=NUMBERS, who=PEOPLE)
    def take_up(self, number: int, who: str) -> None:
        number, who = self.turn(number, who)
        self.do_take_up(number, who)

    def do_take_up(self, number: int, who: str) -> None:
        allowed = self.life.may_take_up(number, who)
        self.tried(allowed, lambda: self.bench.begin(self.axle, number, who))
        if allowed:
            self.life.take_up(number, who)

    @begun
    @rule(data=st.data(), number=NUMBERS, who=PEOPLE, reason=st.sampled_from(["read again", "read again", ""]))
    def enter(self, data: st.DataObject, number: int, who: str, reason: str) -> None:
        number, who = self.turn(number, who)
        where = data.draw(st.sampled_from(PLACES[number]))
        self.do_enter(number, who, where, data.draw(VALUES[where[0]]), reason)

    @begun
    @rule(data=st.data())
    def read_out_of_limit(self, data: st.DataObject) -> None:
        number, who = self.turn(0, "")
        where = data.draw(st.sampled_from(PLACES[number]))
        self.do_enter(number, who, where, data.draw(st.sampled_from(OUT[where[0]])))

    def do_enter(self, number: int, who: str, where: Where, value: int, reason: str = "again") -> None:
        if not self.life.passes[number]:
            return
        allowed = self.life.may_enter(number, who, where, reason=bool(reason))
        code, position = where
        more = {"position": position, "reason": reason, "sure": True}
        self.tried(allowed, lambda: self.bench.enter(self.visit(number), code, typed(code, value), who, **more))
        if allowed:
            self.life.enter(number, who, where, value)

    @begun
    @rule(data=st.data(), number=NUMBERS, who=PEOPLE)
    def void(self, data: st.DataObject, number: int, who: str) -> None:
        number, who = self.turn(number, who)
        self.do_void(number, who, data.draw(st.sampled_from(PLACES[number])))

    def do_void(self, number: int, who: str, where: Where) -> None:
        at = self.life.standing(number)
        if at is None or at.last(where) is None:
            return
        place = work_of(self.visit(number)).place(*where)
        assert place is not None
        reading, allowed = place.last, self.life.may_void(number, who, where)
        assert reading is not None
        by, now = self.bench.people[who], self.bench.later(seconds=9)
        self.tried(allowed, lambda: void_reading(reading=reading, reason="not here", by=by, now=now))
        if allowed:
            self.life.void(number, who, where)

    @begun
    @rule(number=NUMBERS, who=PEOPLE)
    def put_down(self, number: int, who: str) -> None:
        number, who = self.turn(number, who)
        if not self.life.passes[number]:
            return
        allowed = self.life.state(number) == "in_hand" and holds(who, HANDS[number])
        by, now = self.bench.people[who], self.bench.later(minutes=1)
        self.tried(allowed, lambda: set_down(visit=self.visit(number), note="", by=by, now=now))
        if allowed:
            self.at(number).state = "set_down"

    @begun
    @rule(number=NUMBERS, who=PEOPLE)
    def sign(self, number: int, who: str) -> None:
        number, who = self.turn(number, who)
        self.do_sign(number, who)

    def do_sign(self, number: int, who: str) -> None:
        if not self.life.passes[number]:
            return
        allowed = self.life.may_finish(number, who)
        by, now, grant = self.bench.people[who], self.bench.later(minutes=1), self.bench.grant(who)
        self.tried(allowed, lambda: finish(visit=self.visit(number), grant=grant, by=by, now=now))
        if allowed:
            self.life.finish(number, who)

    @half_way
    @rule(who=st.sampled_from(["", "ben", "ben", "ada", "eve"]))
    def hold(self, who: str) -> None:
        who = who or "cy"
        self.do_hold(who)

    def do_hold(self, who: str) -> None:
        if not self.life.passes[20]:
            return
        allowed, by, now = self.life.may_hold(who), self.bench.people[who], self.bench.later(minutes=1)
        grant = self.bench.grant(who, "checked")
        self.tried(allowed, lambda: sign_second(visit=self.visit(20), part="hold", grant=grant, by=by, now=now))
        if allowed:
            self.life.hold()

    @half_way
    @rule(who=PEOPLE)
    def fit(self, who: str) -> None:
        who = who or self.worker(20)
        self.do_fit(who)

    def do_fit(self, who: str) -> None:
        if not self.life.passes[20]:
            return
        self.marks += 1
        part = self.bench.shaft(f"S-{self.marks}")
        allowed = self.life.may_work(20, who) and not self.life.shaft and not self.life.scrapped
        allowed = allowed and not self.life.stops(20)
        by, now = self.bench.people[who], self.bench.later(minutes=1)
        self.tried(allowed, lambda: fit_part(visit=self.visit(20), scan=part.item.mark, by=by, now=now))
        if allowed:
            self.life.shaft = True
            self.life.doers[20].add(who)
            self.life.counts["Fitted"] += 1

    @precondition(lambda self: self.life.shaft)
    @rule(who=PEOPLE)
    def take_out(self, who: str) -> None:
        who = who or "ada"
        by, now = self.bench.people[who], self.bench.later(minutes=1)
        remove_part(fitted=Fitted.objects.now().get(axle=self.axle), out=Out("worn", "scrap"), by=by, now=now)
        self.out()

    def out(self) -> None:
        self.life.shaft = False
        self.life.counts["Removal"] += 1
        if not self.life.closed:
            self.life.reopen(20, 30)

    @precondition(lambda self: not self.life.scrapped)
    @rule(number=NUMBERS, who=PEOPLE, whole=st.sampled_from([False, False, True]))
    def tag(self, number: int, who: str, whole: bool) -> None:
        number, who = self.turn(number, who)
        by, now = self.bench.people[who], self.bench.later(minutes=1)
        if whole:
            allowed = holds(who, "ie")
            self.tried(allowed, lambda: tag_axle(axle=self.axle, cause="crack", by=by, now=now))
        elif not self.life.passes[number]:
            return
        else:
            allowed = holds(who, HANDS[number])
            self.tried(allowed, lambda: report_wrong(visit=self.visit(number), cause="odd", by=by, now=now))
        if allowed:
            self.life.open_tag(Tag(None if whole else number))

    @precondition(lambda self: self.life.tags and not self.life.scrapped)
    @rule(data=st.data(), who=st.sampled_from(["eve", "eve", "cy", "ada"]), agreed=st.booleans(),
          what=st.sampled_from(["use_as_is", "use_as_is", "rework", "bored again", "part", "axle"]))  # fmt: skip
    def decide(self, data: st.DataObject, who: str, agreed: bool, what: str) -> None:
        place = data.draw(st.integers(0, len(self.life.tags) - 1))
        self.do_decide(place, who, what, agreed=agreed)

    def do_decide(self, place: int, who: str, what: str, *, agreed: bool) -> None:
        tag = self.life.tags[place]
        allowed = holds(who, "e") or (holds(who, "i") and not tag.is_safety)
        allowed = allowed and not (what == "use_as_is" and tag.is_safety and not agreed)
        allowed = allowed and not (what in ("rework", "bored again", "axle") and self.life.closed)
        allowed = allowed and not (what == "part" and not self.life.shaft)
        row = RedTag.objects.open().filter(axle=self.axle).order_by("number")[place]
        by, now, grant = self.bench.people[who], self.bench.later(minutes=1), self.bench.grant(who, "released")
        decided = self.decided(what, agreed=agreed)
        if self.tried(allowed, lambda: decide(tag=row, decided=decided, grant=grant, by=by, now=now)):
            self.carried_out(tag, what)

    def decided(self, what: str, *, agreed: bool) -> Decided:
        agreement = Agreement("A. Buyer", shop_day(self.bench.now), "letter") if agreed else None
        part = Fitted.objects.now().filter(axle=self.axle).first() if what == "part" else None
        word = {"bored again": "rework", "part": "scrap", "axle": "scrap"}.get(what, what)
        cause = "bore" if what == "bored again" else ""
        return Decided(word, "because", agreement=agreement, cause=cause, part=part, whole_axle=what == "axle")

    def carried_out(self, tag: Tag, what: str) -> None:
        life = self.life
        life.tags.remove(tag)
        life.counts["Disposition"] += 1
        if what == "use_as_is" and tag.where is not None and tag.value is not None:
            life.conceded.add((tag.where, tag.value))
            life.counts["Concession"] += 1
        if what == "part":
            self.out()
        if what == "bored again":
            life.reopen(10, 20, 30)
        if what in ("rework", "bored again", "part") and tag.number is not None and not life.closed:
            life.reopen(tag.number)
        if what == "axle":
            life.scrapped = True
            life.reopen(*[number for number in PLACES if life.state(number) != "done"])

    @half_way
    @rule(who=PEOPLE)
    def close(self, who: str) -> None:
        who = who or "cy"
        allowed, by, now = self.life.may_close(who), self.bench.people[who], self.bench.later(minutes=1)
        self.tried(allowed, lambda: close_axle(axle=self.axle, by=by, now=now))
        if allowed:
            self.life.closed = True
            self.life.counts["Closing"] += 1

    @rule(hours=st.sampled_from([1, 9, 60]))
    def time_passes(self, hours: int) -> None:
        self.bench.later(hours=hours)
