"""The reach list and its neighbours in a shop of ten thousand axles and more, beside SQL written by hand.

Every answer is held against what the generator planted. Prints ratios and growth. Run it on its own, with nothing else
on the machine (the sizes grow in one run; a hundred thousand axles take about 10 GB):
    AXLEBOOK_AXLES=10000,100000 python3 manage.py test --engine postgresql -m benchmark tests/benchmarks/reach.py -s -n0
"""

from __future__ import annotations

import os
import statistics
import time
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from django.db import connection, transaction
from django.urls import reverse

from builds.actions.exposing import look_through
from builds.actions.noticing import Says, put_on_record
from builds.models import Axle, Notice, Returned
from builds.reports.reach.answer import Reached, Spot
from builds.reports.reach.asking import morning
from builds.reports.reach.backwards import contents
from builds.reports.reach.cause import CauseKind, Question
from builds.reports.reach.found import reach
from builds.reports.reach.question import Typed
from builds.reports.reach.statements import as_moment
from builds.reports.returns.kept import not_kept, rules_now
from builds.reports.returns.shared import shared
from measurements.models import Gauge, Reading
from tests.benchmarks import reach_by_hand as hand
from tests.benchmarks.rounds import ROUNDS, SEED, Taken, commit_ms, of_both_ends, told
from tests.benchmarks.scale.goods import MARKS
from tests.benchmarks.scale.kept import kept_shop
from tests.benchmarks.scale.shop import Scale
from tests.benchmarks.served import served
from tests.factories import signed_in_client
from tests.shopfloor import Floor

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark, pytest.mark.timeout(7200)]
SIZES = [int(word) for word in os.environ.get("AXLEBOOK_AXLES", "10000").split(",")]
BUDGET = 1.5
SURE = (Spot.FLOOR, Spot.CLOSED, Spot.SHIPPED, Spot.BACK)
LOOKED_AT = 5000
#: What returns share is asked up to here: looking through an axle takes four milliseconds, a million over an hour.
LOOKED_THROUGH = 100_000
#: A statement that is kept gets its lasting plan at the sixth time.
WARM = 6


@dataclass
class Measured:
    """The middle seconds of everything at one size."""

    axles: int
    seconds: dict[str, float] = field(default_factory=dict)


def test_the_reach_list() -> None:
    every: list[Measured] = []
    with kept_shop() as kept:
        for size in SIZES:
            seconds, scale, floor = kept.grow_to(size), kept.scale, kept.floor
            how = "kept" if seconds is None else f"loaded in {seconds:.0f} s"
            print(f"\n{size:,} axles ({connection.vendor}) {how}, {size_of_database()}", flush=True)
            every.append(measured(scale, floor))
            told_growth(every)
            if size <= LOOKED_THROUGH:
                returned(scale, floor, every)


def size_of_database() -> str:
    sql = (
        "SELECT pg_database_size(current_database())"
        if connection.vendor == "postgresql"
        else "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()"
    )
    return f"{hand.ask(sql, [])[0][0] / 1e9:.2f} GB"


def measured(scale: Scale, floor: Floor) -> Measured:
    found = Measured(scale.count)
    for name, question in scale.questions().items():
        lists(scale, name, question, found)
    one_axle(scale, found)
    one_gauge(scale, found)
    pages(scale, floor, found)
    notice(scale, floor, found)
    return found


def told_growth(every: list[Measured]) -> None:
    for before, after in pairwise(every):
        print(f"\ngrowth from {before.axles:,} to {after.axles:,} axles ({connection.vendor}):")
        for name, seconds in after.seconds.items():
            print(f"  {name}: {seconds / before.seconds[name]:.2f} ({seconds * 1000:.1f} ms)", flush=True)


def rounds(name: str, found: Measured, ways: Mapping[str, Callable[[], Any]], *, times: int = 1) -> Taken:
    taken = Taken(clock=of_both_ends)
    for way in ways.values():
        several(way, WARM)()
    for _ in range(ROUNDS):
        taken.round({key: several(way, times) for key, way in ways.items()})
    found.seconds[name] = statistics.median(taken.wall[next(iter(ways))]) / times
    return taken


def several(do: Callable[[], Any], times: int) -> Callable[[], None]:
    def run() -> None:
        for _ in range(times):
            do()

    return run


def lists(scale: Scale, name: str, question: Question, found: Measured) -> None:
    """One question: the answer, its statement alone, and the answer with every way told, beside the hand's."""
    answer = reach(question)
    agree(scale, name, answer)
    asked = Asked()
    with connection.execute_wrapper(asked):
        reach(question)
    ways: dict[str, Callable[[], Any]] = {"answer": lambda: reach(question), "statements": asked.fetch}
    if len(question.causes) == 1:
        ways["hand"] = hand_for(question)
        assert as_told(answer) == by_hand(ways["hand"]())
    ways["ways"] = lambda: [row.ways for row in reach(question).rows]
    times = 5 if len(answer.rows) < 100 else 1
    taken = rounds(name, found, ways, times=times)
    title = f"{name}, {len(answer.axles)} axles, {len(asked.statements)} statement"
    floor = "hand" if "hand" in ways else "statements"
    print(taken.report(f"{title}: the answer", "answer", floor, times=times, budget=BUDGET))
    for way, words in (("statements", "its statement alone"), ("ways", "with every way told")):
        walls, cpus = taken.ratios(taken.wall, way, floor), taken.ratios(taken.cpu, way, floor)
        print(f"  {words}: {told('ratio', walls)}, {told('of CPU', cpus)}")


def as_told(answer: Reached) -> Counter[tuple[Any, ...]]:
    return Counter((row.spot.key, row.mark, row.axle, row.order, row.consignee, row.day) for row in answer.rows)


def by_hand(lines: list[hand.Line]) -> Counter[tuple[Any, ...]]:
    return Counter((row.place, row.mark, row.axle, row.order, row.consignee, as_moment(row.day)) for row in lines)


def agree(scale: Scale, name: str, answer: Reached) -> None:
    """With what was planted: the sure, the formerly fitted and the not determinable."""
    planted = scale.planted
    sure = {row.axle for spot in SURE for row in answer.at_spot(spot)}
    assert sure == {scale.mark(number) for number in planted.answers()[name]}, name
    doubt = {row.axle for row in answer.at_spot(Spot.UNKNOWN) if row.is_axle}
    assert doubt == ({scale.mark(number) for number in planted.unknown} if name.startswith("heat") else set())
    former = {row.axle for row in answer.at_spot(Spot.FORMERLY)}
    assert former == ({scale.mark(number) for number in planted.formerly} if name == "heat of 4,000" else set())


def hand_for(question: Question) -> Callable[[], list[hand.Line]]:
    cause = question.causes[0]
    begin, end = (at or datetime(1980, 1, 1, tzinfo=UTC) for at in (cause.between.begin, cause.between.end))
    if cause.kind is CauseKind.GAUGE:
        return lambda: hand.of_gauge(cause.ids[0], begin, end)
    if cause.kind is CauseKind.PERSON:
        return lambda: hand.of_person(cause.ids[0], begin, end)
    return lambda: hand.of_things(list(cause.ids), steel=cause.steel)


@dataclass
class Asked:
    """The statements of one answer, to be asked again without anything else."""

    statements: list[tuple[str, Any]] = field(default_factory=list)

    def __call__(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        self.statements.append((sql, params))
        return execute(sql, params, many, context)

    def fetch(self) -> int:
        return sum(len(hand.ask(sql, params)) for sql, params in self.statements)


def one_axle(scale: Scale, found: Measured) -> None:
    axles = [Axle.objects.select_related("item").get(pk=scale.axle(number)) for number in (400, 1203, 2705, 3999)]
    day, until = scale.day(0), morning(scale.day(-1))
    assert until is not None
    for axle in axles:
        lines = contents(axle, day).lines
        told_things = {(line.item, line.out is None) for line in lines} | {(axle.pk, True)}
        assert told_things == {(row[0], row[8] is None) for row in hand.inside(axle.pk, until)}
    ways = {
        "backwards": lambda: [contents(axle, day) for axle in axles],
        "hand": lambda: [hand.inside(axle.pk, until) for axle in axles],
    }
    taken = rounds("backwards of one axle", found, ways)
    title = f"backwards of one axle, {len(contents(axles[0], day).lines)} things"
    print(taken.report(title, "backwards", "hand", times=len(axles), budget=BUDGET))


def one_gauge(scale: Scale, found: Measured) -> None:
    """The gauge of the house that has the most readings."""
    first, last = scale.newest - timedelta(days=40), scale.newest - timedelta(days=10)
    counts = dict.fromkeys(Gauge.objects.filter(kind="outside_micrometer").values_list("pk", flat=True), 0)
    gauge = max(counts, key=lambda pk: len(hand.readings_of_gauge(pk, first, last)))
    mine = Reading.objects.filter(gauge=gauge, entered_at__gte=first, entered_at__lt=last)
    count = mine.count()
    assert count == len(hand.readings_of_gauge(gauge, first, last)) > 0
    ways = {
        "rows": lambda: list(mine.values_list("pk", "item_id")),
        "hand": lambda: hand.readings_of_gauge(gauge, first, last),
    }
    taken = rounds("readings of one gauge in 30 days", found, ways)
    print(taken.report(f"readings of one gauge in 30 days, {count}", "rows", "hand", times=1, budget=BUDGET))


def pages(scale: Scale, floor: Floor, found: Measured) -> None:
    ask = served(signed_in_client(floor.people["dovie"]))
    paths = {
        "axle file": reverse("axle", args=[scale.mark(2000)]),
        "floor": reverse("floor"),
        "reach list's page, lot of 4,000": f"{reverse('reach')}?cause={MARKS[max(MARKS)]}",
    }
    for name, path in paths.items():
        answer = ask(path)
        assert answer.status_code == 200
        assert len(answer.content) > LOOKED_AT
        taken = rounds(name, found, {"page": lambda path=path: ask(path)})
        print(
            f"\n{name} ({connection.vendor}, {scale.count:,} axles): {found.seconds[name] * 1000:.1f} ms,"
            f" {statistics.median(taken.cpu['page']) * 1000:.1f} ms of CPU of the server process"
        )


def returned(scale: Scale, floor: Floor, every: list[Measured]) -> None:
    """Everything with the small lot came back: the ranking has to say so first."""
    if not Returned.objects.exists():
        now, person = datetime.now(UTC), floor.people["calla"]
        numbers = sorted(number for number in scale.planted.lot_few if number >= 300)
        Returned.objects.bulk_create(
            Returned(number=place + 1, axle_id=scale.axle(number), words="noise", came_on=now.date(), person=person,
                     at=now) for place, number in enumerate(numbers)
        )  # fmt: skip
    began, rules = time.perf_counter(), rules_now()
    waiting = not_kept(rules)
    look_through(waiting, rules)
    seconds = time.perf_counter() - began
    print(f"\n{len(waiting):,} axles looked through for what returns share, each once: {seconds:.1f} s")
    began, cpu = time.perf_counter(), time.process_time()
    ranking = shared()
    seconds, spent = time.perf_counter() - began, time.process_time() - cpu
    top = ranking.rows[0]
    assert MARKS[min(MARKS) + 2] in {value.words.rpartition(" ")[2] for value in top.values}
    assert top.suspect.counts.both == ranking.failed
    print(
        f"\nwhat returns share ({connection.vendor}, {ranking.built:,} axles out, {ranking.failed} back,"
        f" {ranking.looked_at:,} values): once {seconds:.2f} s, {spent:.2f} s of CPU of the server process"
    )
    every[-1].seconds["what returns share"] = seconds
    if len(every) > 1:
        print(f"  {seconds / every[-2].seconds['what returns share']:.2f} times as long as with fewer")


def notice(scale: Scale, floor: Floor, found: Measured) -> None:
    """Every axle in the house is held while it is put on record: how long the floor waits."""
    typed, says = Typed(MARKS[min(MARKS) + 1]), Says("The heat has a wrong chemistry.", "Do not use the axle.")
    ask, number = served(signed_in_client(floor.people["ingrith"])), Notice.objects.count() + 1
    seconds = []
    for _ in range(3):
        with transaction.atomic():
            began = time.perf_counter()
            made = put_on_record(typed=typed, says=says, by=floor.who("ingrith"))
            seconds.append(time.perf_counter() - began)
            lines = made.lines.count()
            path = reverse("notice", args=[number])
            began = time.perf_counter()
            answer = ask(path)
            drawn = time.perf_counter() - began
            assert answer.status_code == 200
            assert lines >= len(scale.planted.heat_many)
            transaction.set_rollback(True)
    found.seconds["notice put on record"] = statistics.median(seconds)
    found.seconds["notice drawn"] = drawn
    print(
        f"\nnotice over {lines} lines ({connection.vendor}): the floor held for {told('s', seconds)};"
        f" its page in {drawn:.2f} s, {len(answer.content) / 1e6:.1f} MB; one commit {commit_ms():.2f} ms (seed {SEED})"
    )
