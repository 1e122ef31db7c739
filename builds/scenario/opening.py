"""The invented shop on its first day: people, cards, terminals, gauges, procedures, steel. Demo data only."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageDraw

from builds.actions.attaching import keep_picture
from builds.actions.materials import load_material
from builds.actions.papers import NewDelivery, take_delivery
from builds.actions.procedures import NewProcedure, add_procedure
from builds.actions.receiving import NewBar, take_in_bar
from builds.actions.releasing import load_definition, release
from builds.definitions.material import SHIPPED as MATERIALS
from builds.models import Revision
from builds.scenario import gauges, people
from builds.scenario.crew import Shop
from builds.scenario.stock import GearSet, Stock
from builds.scenario.values import TOLD
from measurements.actions.gauges import Calibrated
from shop.actions.skills import Qualification, give_skill
from shop.clock import shop_day
from shop.models import PartKind, Person, Supplier
from shop.record.who import SYSTEM, Who

SHIPPED = Path(__file__).resolve().parent.parent / "definitions" / "shipped"
#: The scenario is written for this day; it is loaded shifted by whole weeks.
WRITTEN_FOR = date(2025, 11, 20)
#: Bars at hand, one for each axle that the stories cut a tube for.
BARS = {
    "Q7714": (131, 132, 133, 134, 135, 136, 137, 138, 139, 140, 147, 148, 149),
    "Q7731": (132, 133, 138, 140),
    "R7120": (141, 142, 143, 144, 145, 146),
}
#: What the mill's certificate of this heat says; elongation and the rest as usual.
Q7731 = {
    "20.1": "0.310", "20.2": "0.520", "20.3": "0.014", "20.4": "0.008", "20.5": "0.260", "20.6": "0.980",
    "20.7": "0.180", "20.8": "109", "20.9": "90", "20.10": "14",
}  # fmt: skip
#: Gear sets that the scenario names.
SETS = {
    "0139": GearSet("AG-10431", "2", "0.008"),
    "0140": GearSet("AG-10447", "-3", "0.007"),
    "0147": GearSet("AG-10455", "0", ""),
    "0142": GearSet("AG-6-0912", "1", "0.006"),
}
#: Of two gauges alike, which is used for what.
USED_FOR = {"40.2": "G-016", "50.3": "G-017"}


@dataclass
class House:
    """What the stories build on. `shift` moves the scenario's dates to today's."""

    today: datetime
    shift: timedelta
    people: dict[str, Person]
    cards: dict[str, Revision]
    shop: Shop
    stock: Stock
    values: dict[str, str] = field(default_factory=lambda: dict(TOLD))
    say: Callable[[str], None] = print

    def at(self, month: int, day: int, hour: int = 8, minute: int = 0) -> datetime:
        """A moment of the scenario's autumn, shifted."""
        return datetime.combine(date(2025, month, day), time(hour + 6, minute), UTC) + self.shift

    def who(self, code: str, station: str = "") -> Who:
        return self.shop.who(self.people[code], station)


def shift_of(today: date) -> timedelta:
    """From the scenario's dates to those of a demo that is loaded on this day: whole weeks, and nothing yet to come."""
    return timedelta(weeks=(today - WRITTEN_FOR).days // 7)


def open_house(now: datetime) -> House:
    """Everything that stands still: a year ago by the scenario's calendar."""
    shift = shift_of(shop_day(now))
    begin = datetime(2025, 4, 7, 14, 0, tzinfo=UTC) + shift
    first = shop_day(begin)
    crew = people.engage_all(begin, first)
    people.partners(begin)
    people.shifts(begin)
    # Bram's last weld by the process was on 14 April: from 14 October it has lapsed.
    people.qualify(crew, begin, first, date(2025, 4, 14) + shift)
    # Isolde took her test again in July, so one chapter can also be told alone.
    again = Qualification("gas_metal_arc", date(2025, 7, 7) + shift, None, 6, "test taken again")
    give_skill(person=crew["isolde"], skill=again, by=SYSTEM, now=begin)
    engineer = Who(crew["wenzel"])
    cards = {}
    for name in ("sorrel_960", "teasel_680"):
        path = SHIPPED / f"{name}.toml"
        draft = load_definition(text=path.read_text("utf-8"), name=path.name, by=engineer, now=begin)
        cards[name] = release(revision=draft, by=engineer, now=begin)
    terminals = people.terminals(begin)
    tools = gauges.take_in_all(engineer, begin, first, first, own={"G-014": _last_good(shift)})
    procedures = {
        (weld.procedure, weld.procedure_revision, weld.process)
        for card in cards.values()
        for operation in card.card.operations
        for weld in operation.welds
    }
    for code, letter, process in sorted(procedures):
        new = NewProcedure(code, letter, process, "Demonstration procedure, not qualified", first)
        add_procedure(procedure=new, by=engineer, now=begin)
    stock = Stock(Who(crew["jory"]), Who(crew["calla"]), sets=dict(SETS))
    by_role: dict[str, list[Person]] = {}
    for code, _, roles in people.PEOPLE:
        for role in roles:
            by_role.setdefault(str(role), []).append(crew[code])
    shop = Shop(by_role, tools, terminals, stock.find, Camera().photo, tools=dict(USED_FOR))
    house = House(now, shift, crew, cards, shop, stock)
    _steel(house, begin)
    return house


def _last_good(shift: timedelta) -> Calibrated:
    """G-014: last good on 12 August, fifteen months before it is due. Every bore of order O-2499 lies between."""
    return Calibrated(date(2024, 8, 12) + shift, date(2025, 11, 12) + shift, "LAB-014-1")


def _steel(house: House, begin: datetime) -> None:
    """The heats of the scenario: Q7802 is refused for its carbon."""
    sorrel, teasel = house.cards["sorrel_960"], house.cards["teasel_680"]
    a519 = MATERIALS / "astm_a519_4130.toml"
    load_material(content=a519.read_bytes(), name=a519.name, by=house.who("wenzel"), now=begin)
    mill = Supplier.objects.get(code="QTM")
    first, second = (
        take_delivery(delivery=NewDelivery(slip, mill, shop_day(begin)), by=house.who("jory"), now=begin)
        for slip in ("PS-4471", "PS-4502")
    )
    house.stock.take_in_tube_heat("Q7714", sorrel, begin, came=first)
    house.stock.take_in_tube_heat("Q7731", sorrel, begin, values=Q7731, came=first)
    # Both are refused as this material is bought; one that is rounded to the limit's last place takes the second.
    house.stock.take_in_tube_heat("Q7802", sorrel, begin, values={"20.1": "0.336"}, came=second)
    house.stock.take_in_tube_heat("Q7815", sorrel, begin, values={"20.1": "0.334"}, came=second)
    for mark in ("R7120", "R7166"):
        house.stock.take_in_tube_heat(mark, teasel, begin)
    for heat, numbers in BARS.items():
        for number in numbers:
            house.stock.take_in_bar(heat, f"{heat}-{number}", begin)
    house.stock.take_in_melt("V330", "spindle", sorrel, begin)
    house.stock.take_in_melt("V341", "spindle_680", teasel, begin)
    for number in range(131, 150):
        house.stock.take_in_spindles("spindle_680" if 141 <= number <= 146 else "spindle", f"{number:04d}", begin)
    # Two remnants on the rack: one keeps its heat, the mark of the other was sawn off.
    house.stock.take_in_bar("Q7731", "Q7731-R1", begin, Decimal("31"))
    piece = PartKind.objects.get(code="tube_piece")
    unmarked = NewBar("RM-26", piece, length=Decimal("26"), mark_readable=False)
    take_in_bar(bar=unmarked, by=house.who("jory"), now=begin)


@dataclass
class Camera:
    """Draws a small picture for each photo a card asks for; the demo has no camera."""

    taken: dict[str, str] = field(default_factory=dict)

    def photo(self, name: str) -> str:
        if name not in self.taken:
            picture = Image.new("RGB", (320, 200), "#e8edee")
            pen = ImageDraw.Draw(picture)
            pen.rectangle((4, 4, 315, 195), outline="#14202b", width=3)
            tint = hashlib.sha256(name.encode()).hexdigest()[:6]
            pen.ellipse((110, 40, 210, 140), outline=f"#{tint}", width=8)
            pen.text((14, 170), f"demo picture: {name}"[:44], fill="#14202b")
            target = BytesIO()
            picture.save(target, "PNG")
            self.taken[name] = keep_picture(target.getvalue())
        return self.taken[name]
