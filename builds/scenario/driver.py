"""Builds axles the way the shop does: by calling the same actions as the pages, one after another, with given times.

It knows no axle model: what is asked, of whom and with which gauge it reads from the card. Used by the demo and by
tests that need an axle at some point of its life.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal

from builds.actions.adding import add_photo
from builds.actions.claiming import OnPaper, take_up
from builds.actions.finishing import finish, meaning_of, second_signatures, sign_second
from builds.actions.fitting import fit_part
from builds.actions.judging import Entered, answers
from builds.actions.kitting import kit_part
from builds.actions.measuring import Taken, enter_reading
from builds.actions.reopening import send_back
from builds.definitions.characteristic import Characteristic as Asked
from builds.definitions.words import Kind, Tracking
from builds.models import Axle, Bench, Visit, VisitState, of_bench
from builds.permissions import doers_of, looked_at
from builds.reports.balance import balance_of
from builds.reports.facts import standing
from builds.reports.kit import NeedState, needs_of
from builds.reports.work import Place, Work, work_of
from builds.scenario.crew import Shop
from shop.actions.signing import GRANT_LASTS, Grant
from shop.models import Person, Piece
from shop.record.who import Who

#: One reading takes a worker about so long.
READING = timedelta(seconds=20)

#: How each code is filled where the middle of the limits will not do: by code, or by code and position.
Values = Mapping[str, str]


@dataclass
class Builder:
    """Takes one axle, or a unit that is in none, through its operations from a moment on; `now` moves with the work."""

    shop: Shop
    bench: Bench
    now: datetime
    values: Values = field(default_factory=dict)
    doer: Person | None = None
    by_slot: Mapping[str, Values] = field(default_factory=dict)
    #: Who does an operation, by slot, where it is not the first who may.
    hands: dict[str, Person] = field(default_factory=dict)
    slot_key: str = ""

    @property
    def axle(self) -> Axle:
        assert self.bench.as_axle is not None
        return self.bench.as_axle

    def kit(self, *, most: int | None = None) -> None:
        """Set every kit part aside, by scan; with `most`, only so many of the needs."""
        receiver = self.shop.who(self.shop.one_of(("receiver",)))
        needs = self.short()[:most]
        left: Counter[tuple[int, str]] = Counter()
        for need in needs:
            left[need.host.pk, need.role] += int(need.to_kit)
        for need in needs:
            # One scan of a lot serves every need of its kind and role.
            while left[need.host.pk, need.role] > 0:
                scan = self.shop.find_part(self.axle, need, self.now)
                lines = kit_part(axle=self.axle, scan=scan, role=need.role, by=receiver, now=self.now)
                left.subtract((line.host_id, line.role) for line in lines)

    def short(self) -> list[NeedState]:
        """The kit parts that nobody has set aside yet."""
        return [need for need in needs_of(self.axle) if need.in_kit and need.to_kit]

    def run(self, *, until: int | None = None) -> None:
        """Do every operation not done yet, in the order of the card, up to (not including) `until`.

        Where an operation waits for a clock, time passes.
        """
        done = {key for key, view in standing(self.bench, self.now).slots.items() if view.finished}
        for slot in self.bench.plan.slots:
            number = slot.operation.number
            if slot.key in done or not slot.operation.closing or (until is not None and number >= until):
                continue
            if self.bench.plan.waits(number):
                ready = standing(self.bench, self.now).slots[slot.key].ready_at
                self.now = max(self.now, ready or self.now)
            self.do(slot.key)

    def do(self, key: str, *, paper: OnPaper | None = None) -> Visit:
        """One operation from taking up to its last signature."""
        visit = self.begin(key, paper=paper)
        self.fill(visit)
        return self.sign(visit)

    def begin(self, key: str, *, paper: OnPaper | None = None) -> Visit:
        slot = self.bench.plan.slot(key)
        operation = slot.operation
        self.slot_key = key
        excluded: set[int] = set()
        if operation.hold is not None and operation.hold.is_the_work:
            excluded = set(doers_of(self.bench, _numbers(self.bench, operation.number)))
        self.doer = self.hands.get(key) or self.shop.one_of(operation.signs, but=excluded)
        self.now += timedelta(minutes=1)
        return take_up(bench=self.bench, key=key, by=self._who(operation.station), paper=paper, now=self.now)

    def fill(self, visit: Visit) -> list[Taken]:
        """Scan the parts in, take the photos, enter what is still blank."""
        work = work_of(visit)
        self._fit(work)
        for photo in work.slot.photos:
            if photo.required == "always":
                sha = self.shop.photo(photo.name)
                add_photo(visit=visit, name=photo.name, sha256=sha, by=self._who_at(work), now=self.now)
        taken = []
        for place in work.places:
            if place.last is not None or place.asked.kind is Kind.COMPUTED:
                continue
            if work.is_wanted(place) or place.asked.code in self.by_slot.get(self.slot_key, {}):
                taken.append(self.enter(visit, place))
        return taken

    def enter_code(self, visit: Visit, code: str, *texts: str) -> list[Taken]:
        """Enter every position of one characteristic; `texts` in order, the middle of the limits without."""
        work = work_of(visit)
        places = [place for place in work.places if place.asked.code == code]
        given = list(texts) + [""] * (len(places) - len(texts))
        return [self.enter(visit, place, text or None) for place, text in zip(places, given, strict=True)]

    def enter(self, visit: Visit, place: Place, text: str | None = None, reason: str = "") -> Taken:
        asked = place.asked
        self.now += READING
        typed = text if text is not None else self.value_for(asked, place.position)
        entered = Entered(
            code=asked.code,
            position=place.position,
            text=typed,
            gauge=self.shop.gauge_for(asked, typed if asked.kind in (Kind.MEASURED, Kind.GIVEN) else ""),
            ring=self.shop.ring_for(asked),
            reason=reason,
            sure=True,
        )
        return enter_reading(visit=visit, entered=entered, by=self._who(visit.operation.station.code), now=self.now)

    def fit(self, visit: Visit) -> None:
        """Scan in every part this operation fits."""
        self._fit(work_of(visit))

    def send_back(self, visit: Visit) -> None:
        """End this try as the card says."""
        self.now += timedelta(minutes=2)
        send_back(visit=visit, by=self._who(visit.operation.station.code), now=self.now)

    def begin_after_wait(self, key: str) -> Visit:
        """Take it up as soon as its clock allows."""
        ready = standing(self.bench, self.now).slots[key].ready_at
        self.now = max(self.now, ready or self.now)
        return self.begin(key)

    def sign_doer(self, visit: Visit) -> Visit:
        """The doer's signature alone; the second one is still to come."""
        doer = self._who_at(work_of(visit))
        self.now += timedelta(minutes=10)
        return finish(visit=visit, grant=self.grant(doer, "did"), by=doer, now=self.now)

    def sign(self, visit: Visit) -> Visit:
        """The doer's signature, then every second one that is due."""
        operation = self.bench.plan.slot(self.slot_key).operation
        minutes = operation.minutes[1]
        begun = visit.claimed_at
        self.now = max(self.now + timedelta(seconds=30), begun + timedelta(minutes=minutes))
        doer = self._who(operation.station)
        visit = finish(visit=visit, grant=self.grant(doer, "did"), by=doer, now=self.now)
        if visit.state == VisitState.DONE:
            return visit
        work = work_of(visit)
        for part in second_signatures(work):
            self.now += timedelta(minutes=5)
            signer = Who(self._second(work, part))
            meaning = meaning_of(part)
            visit = sign_second(visit=visit, part=part, grant=self.grant(signer, meaning), by=signer, now=self.now)
        return visit

    def grant(self, who: Who, meaning: str) -> Grant:
        assert who.person is not None
        return Grant(who.person, who.terminal, meaning, self.now + GRANT_LASTS)

    def value_for(self, asked: Asked, position: str) -> str:
        if asked.code not in self.by_slot.get(self.slot_key, {}) and (rest := self._rest_of_bar(asked)):
            return rest
        for values in (self.by_slot.get(self.slot_key, {}), self.values):
            given = values.get(f"{asked.code} {position}".strip(), values.get(asked.code))
            if given is not None:
                return given
        if asked.kind is Kind.TIME:
            return "now"
        if asked.kind is Kind.TEXT:
            return "none"
        if asked.kind in (Kind.YES_NO, Kind.GO_NO_GO, Kind.CHOICE):
            return (asked.accepted or answers(asked))[0]
        return middle(asked, self.shop.random, self.shop.step_for(asked))

    def _rest_of_bar(self, asked: Asked) -> str:
        """What a tape shows of the bar after the cut: what is reckoned, to the digit that is read."""
        slot = self.bench.plan.slot(self.slot_key)
        if all(planned.need.remnant_length != asked.code for planned in slot.needs):
            return ""
        here = of_bench(self.bench, "item__fitted_in__visit__")
        cut = Piece.objects.filter(here, parent__isnull=False).order_by("-pk")
        piece = cut.select_related("parent__item").first()
        left = balance_of(piece.parent).left if piece is not None and piece.parent is not None else None
        return "" if left is None else format(round(left, asked.decimals), "f")

    def _fit(self, work: Work) -> None:
        for need in needs_of(self.bench, [work.slot]):
            for _ in range(_scans(need)):
                scan = need_scan(need) or self.shop.find_part(self.bench, need, self.now)
                fit_part(visit=work.visit, scan=scan, role=need.role, by=self._who_at(work), now=self.now)

    def _who_at(self, work: Work) -> Who:
        return self._who(work.slot.operation.station)

    def _who(self, station: str) -> Who:
        assert self.doer is not None
        return self.shop.who(self.doer, station)

    def _second(self, work: Work, part: str) -> Person:
        operation = work.slot.operation
        doers: set[int] = {self.doer.pk} if self.doer else set()
        if part != "hold":
            return self.shop.one_of(operation.beside if part == "beside" else operation.on_reject, but=doers)
        assert operation.hold is not None
        doers |= set(doers_of(self.bench, looked_at(operation.hold, work.visit)))
        return self.shop.one_of(operation.hold.by, but=doers)


def _numbers(bench: Bench, own: int) -> tuple[int, ...]:
    operation = bench.plan.card.operation(own)
    assert operation.hold is not None
    if operation.hold.looks_at_all:
        return tuple({slot.operation.number for slot in bench.plan.slots} - {own})
    return operation.hold.looks_at


def _scans(need: NeedState) -> int:
    if not need.to_fit:
        return 0
    return int(need.to_fit) if need.tracking in (Tracking.SERIAL, Tracking.PIECE) else 1


def need_scan(need: NeedState) -> str:
    """The mark of what is set aside in the kit for this need, if anything is."""
    return str(need.aside[0].part.mark) if need.aside else ""


def middle(asked: Asked, chance: random.Random, digit: Decimal) -> str:
    """A figure well inside the limits, on the last digit that can be read."""
    low, high = asked.low, asked.high
    if low is None and high is None:
        return format(digit * max(1, int(1 / digit)), "f")
    if low is None:
        assert high is not None
        low = Decimal(0) if high > 0 else high * 2
    if high is None:
        high = low + (abs(low) * Decimal("0.1") or Decimal(1))
    share = Decimal(chance.randint(40, 60)) / 100
    return format(round((low + (high - low) * share) / digit) * digit, "f")
