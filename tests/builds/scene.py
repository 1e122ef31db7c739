"""A shop with something at every stage, for tests that press on every form of the build."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import timedelta

from django.urls import reverse
from django.utils import timezone

from builds.actions.closing import certify, close_axle, keep_certificate
from builds.actions.following import Step, take_step
from builds.actions.kitting import kit_part
from builds.actions.noticing import Says, put_on_record
from builds.actions.procedures import NewProcedure, add_procedure
from builds.actions.releasing import load_definition
from builds.models import Axle, Fitted, KitLine, Notice, NoticeLine, RedTag, Revision, Visit, WeldProcedure
from builds.reports.reach.question import Typed
from measurements.models import Reading
from shop.clock import shop_day
from shop.models import Drum, Heat, PartKind, Person, Piece, Place, Role, Supplier
from shop.record.who import SYSTEM, Who
from tests import factories
from tests.builds import floor
from tests.builds.bench import Bench, open_bench
from tests.builds.cards import SMALL_CARD_B

PIN = factories.PIN
DAY = "2026-01-05"


@dataclass
class Scene:
    """Everybody's roles in one person, so that no role stands before the input."""

    bench: Bench
    omni: Person
    visits: dict[int, Visit]
    axles: dict[str, Axle]
    heat: Heat
    drum: Drum
    kit: KitLine
    tag: RedTag
    reading: Reading
    fitted: Fitted
    procedure: WeldProcedure
    draft: Revision
    bar: Piece


def set_scene() -> Scene:
    bench = open_bench(begin=timezone.now() - timedelta(days=1))  # what was done is past, so that a PIN is fresh
    bench.people["omni"] = Who(omni := factories.person("omni", *Role))
    small = floor.released(by=bench.people["eve"])
    boring = bench.begin(bench.axle(), 10, "omni")
    reading = bench.enter(boring, "10.1", "3.0630", "omni", position="B").reading
    tightening = bench.tightened(bench.axle())
    waiting = bench.sign(bench.tightened(bench.axle()))
    tagged = bench.begin(bench.axle(), 10, "omni")
    (tag,) = bench.enter(tagged, "10.1", "3.0638", "omni", position="A").reacted.tags
    free = bench.axle()
    off, closed, certified = (bench.bought_off(bench.axle()) for _ in range(3))
    close_axle(axle=closed, by=bench.people["cy"], now=bench.later(minutes=1))
    row = close_axle(axle=certified, by=bench.people["cy"], now=bench.later(minutes=1))
    certify(closing=row, grant=bench.grant("omni", "released"), by=bench.people["omni"], now=bench.later(seconds=1))
    pdf = b"%PDF-1.7 stands for a certificate"
    keep_certificate(closing=row, issue=1, paper="A4", pdf=pdf, reason="", by=SYSTEM, now=bench.later(seconds=1))
    kitted = floor.axle(small)
    floor.part("shaft", "KS-1")
    line = kit_part(axle=kitted, scan="KS-1", by=bench.people["ole"])[0]
    floor.part("shaft", "KS-2")
    heat, drum = floor.heat("HH1", free=False), floor.drum()
    given = NewProcedure("P-77", "1", "gas_metal_arc", "Procedure", shop_day(timezone.now() - timedelta(days=9)))
    procedure = add_procedure(procedure=given, by=bench.people["eve"])
    draft = load_definition(text=SMALL_CARD_B, name="b.toml", by=bench.people["eve"])
    _notices(bench.people["quinn"])
    axles = {"off": off, "closed": closed, "certified": certified, "kitted": kitted, "free": free}
    return Scene(
        bench, omni, {10: boring, 20: tightening, 21: waiting}, axles, heat, drum, line, tag, reading,
        Fitted.objects.get(axle=tightening.axle), procedure, draft, floor.bar("BAR-8"),
    )  # fmt: skip


def _notices(quality: Who) -> None:
    """One about a scrapped shaft, which has moved since; one about another, with everything closed."""
    for mark in ("NS-1", "NS-2"):
        Place.objects.filter(pk=floor.part("shaft", mark).pk).update(where="scrap")
        put_on_record(typed=Typed(mark), says=Says("It is too soft.", "Call us."), by=quality)
    Place.objects.filter(item__mark="NS-1").update(where="supplier")
    step = Step("closed", shop_day(timezone.now()), "cut up")
    lines = list(NoticeLine.objects.filter(notice__number=2).values_list("pk", flat=True))
    take_step(notice=Notice.objects.get(number=2), lines=lines, step=step, by=quality)


Taken = Callable[[str], bool]


@dataclass(frozen=True)
class Form:
    """One form as a page draws it. `may`: what a field may well take, beside what is filled in."""

    page: str
    args: Callable[[Scene], list[object]]
    fields: Mapping[str, str | Callable[[Scene], str]]
    may: Mapping[str, Taken] = field(default_factory=dict)
    query: str = ""

    def url(self, scene: Scene) -> str:
        return reverse(self.page, args=self.args(scene)) + self.query

    def filled(self, scene: Scene) -> dict[str, str]:
        return {name: value if isinstance(value, str) else value(scene) for name, value in self.fields.items()}


def at(number: int) -> Callable[[Scene], list[object]]:
    """The address of the pass in hand at this operation (21: the one that waits for its hold)."""

    def address(scene: Scene) -> list[object]:
        visit = scene.visits[number]
        assert visit.axle is not None
        return [visit.axle.serial, visit.operation.number, "-"]

    return address


def on(name: str, *more: object) -> Callable[[Scene], list[object]]:
    return lambda scene: [scene.axles[name].serial, *more]


def kind_pk(code: str) -> Callable[[Scene], str]:
    return lambda _: str(PartKind.objects.get(code=code).pk)


def on_day(later: int) -> Callable[[Scene], str]:
    """The day on which the test runs, or so many days later; any fixed day is past or to come on some machine."""
    return lambda _: (shop_day(timezone.now()) + timedelta(days=later)).isoformat()


def supplier_pk(_: Scene) -> str:
    return str(Supplier.objects.get(code="SUPP").pk)
