"""Chapters of the rescue cooperative's two orders: six axles shipped, four under way."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from builds.actions.adding import withdraw_signature
from builds.actions.claiming import OnPaper
from builds.actions.deciding import Decided
from builds.actions.returning import Said, note_finding, take_return
from builds.models import Decision, Fitted
from builds.scenario.driver import Builder
from builds.scenario.story import Story
from measurements.actions.gauges import Calibrated, calibrate
from measurements.models import Gauge
from shop.clock import shop_day

LUMEN_RIDGE = "Lumen Ridge Rescue Cooperative"
#: Bores left and right as read with G-014, which read .0006 high from no known day on.
BORES = {
    "0131": ("3.0631", "3.0629"), "0132": ("3.0634", "3.0633"), "0133": ("3.0627", "3.0632"),
    "0134": ("3.0630", "3.0636"), "0135": ("3.0629", "3.0635"), "0136": ("3.0633", "3.0628"),
}  # fmt: skip
BEGUN = {"0131": (4, 28), "0132": (5, 5), "0133": (9, 1), "0134": (9, 8), "0135": (9, 22), "0136": (10, 17)}
PILOTS = "3.0650"
#: The seals of this lot went into these; two of them by the same hands in the same shift.
SEALS_118 = {"0131": "rusk", "0132": "rusk", "0134": "noor", "0136": "noor"}

BURR = ("0.0072", "0.0081", "0.0096", "0.0104", "0.0101", "0.0089", "0.0078", "0.0070")
RESEATED = ("0.0079", "0.0082", "0.0086", "0.0087", "0.0085", "0.0083", "0.0080", "0.0079")


def shipped(story: Story) -> None:
    """Order O-2499: two axles shipped in spring, four in autumn, with certificates."""
    stock = story.house.stock
    stock.heats |= {("0132", "left"): "Q7731", ("0133", "right"): "Q7731"}
    with story.house.shop.using(c50_3="G-014"):
        for number, (left, right) in BORES.items():
            builder = story.builder(number, story.house.at(*BEGUN[number]), c50_6=PILOTS)
            builder.by_slot = {"50/left": {"50.3": left}, "50/right": {"50.3": right}}
            stock.lots["pinion_seal"] = "PS-118" if number in SEALS_118 else "PS-121"
            builder.kit()
            if number == "0136":
                _late_weld(story, builder)
            _with_seal(story, builder, number)
            story.close(builder)
            story.ship(builder, LUMEN_RIDGE)
    stock.lots["pinion_seal"] = "PS-121"


def _with_seal(story: Story, builder: Builder, number: str) -> None:
    if number in SEALS_118:
        builder.run(until=320)
        story.next_morning(builder, 7 if SEALS_118[number] == "rusk" else 15)
        builder.hands["320/"] = story.person(SEALS_118[number])
    builder.run()


def _late_weld(story: Story, builder: Builder) -> None:
    """The brackets of 0136 were welded by Bram on 20 October and entered from paper the day after."""
    builder.run(until=150)
    builder.now = max(builder.now, story.house.at(10, 21))
    builder.do("150/", paper=OnPaper(story.person("bram"), story.house.at(10, 20, 9)))


def gauge_found_out(story: Story) -> None:
    """G-014 goes to its calibration and is found to read .0006 high."""
    gauge = Gauge.objects.select_related("item").get(item__mark="G-014")
    made = story.day(11, 10)
    found = Calibrated(made, made + timedelta(days=365), "LAB-014-2", Decimal("0.0006"), Decimal(0))
    calibrate(gauge=gauge, calibrated=found, by=story.house.who("wenzel"), now=story.house.at(11, 10, 11))


def clean(story: Story) -> None:
    """0137: a clean build; its leak test cooled and still passes."""
    leak = {"c410_1": "5.00", "c410_d": "4.89", "c410_b": "72.0", "c410_e": "70.0"}
    builder = story.builder("0137", story.house.at(10, 27), **leak)
    builder.kit()
    builder.run()
    story.close(builder)


def bore_oversize(story: Story) -> None:
    """0138: a bore over its limit; the tube is scrapped and a new one made of another heat."""
    heats = story.house.stock.heats
    heats["0138", "right"] = "Q7731"
    builder = story.builder("0138", story.house.at(11, 5))
    builder.by_slot = {"50/right": {"50.3": "3.0643", "50.6": "3.0649"}}
    builder.kit()
    builder.run(until=50)
    builder.do("50/left")
    visit = builder.begin("50/right")
    builder.fill(visit)
    del heats["0138", "right"]
    tube = Fitted.objects.now().get(axle=builder.axle, role="tube", host__unit__side="right")
    too_big = "Bore 3.0643 is over 3.0637 and the fit would be .0006 loose of .0010; a tube cannot be made smaller."
    for place, tag in enumerate(story.open_tags(builder)):
        scrap = Decided(Decision.SCRAP, too_big, part=tube, cause="tube")
        again = Decided(Decision.REWORK, "The tube of this reading is scrapped; a new one is made.")
        story.decide(builder, tag, again if place else scrap)
    builder.by_slot = {"50/right": {"50.6": "3.0649"}}
    builder.run(until=100)


def backlash(story: Story) -> None:
    """0139: backlash runs out, a burr is stoned, the pinion goes in; it waits for the inspector's sign."""
    builder = story.builder("0139", story.house.at(11, 6))
    builder.by_slot = {"220/": {"220.2": "0.0020"}, "280/": {"280.1": "24"}}
    builder.kit()
    builder.run(until=300)
    visit = builder.begin("300/")
    builder.enter_code(visit, "300.1", *BURR)
    story.set_down(
        builder,
        visit,
        "Back-face dial in the housing .0045, on the bench .0020 at 220: not the gear. Carrier out, look at the cones.",
    )
    builder.send_back(builder.begin("300/"))
    _reseat(story, builder)
    _pinion_in(story, builder)
    builder.by_slot = {"280/": {"280.a": "0.039", "280.1": "34"}}
    visit = builder.begin("280/")
    builder.fill(visit)
    builder.send_back(visit)
    builder.by_slot = {
        "280/": {"280.a": "0.039", "280.1": "26"},
        "300/": {f"300.1 {point}": figure for point, figure in enumerate(RESEATED, 1)},
    }
    builder.run(until=300)
    visit = builder.begin("300/")
    builder.fill(visit)
    builder.sign_doer(visit)


def _reseat(story: Story, builder: Builder) -> None:
    """Trial at four of the eight points, after the burr is gone."""
    builder.by_slot = {"260/": {f"260.1 {place}": RESEATED[2 * place - 2] for place in range(1, 5)}}
    visit = builder.begin("260/")
    story.set_down(builder, visit, "Burr under the left side-bearing cone. Cone off, stoned, re-seated.")
    visit = builder.begin("260/")
    builder.fill(visit)
    builder.sign(visit)


def _pinion_in(story: Story, builder: Builder) -> None:
    """Face-hobbed: drive high toe with coast high heel means pinion in, here by a thicker head shim."""
    not_right(
        story,
        builder,
        {"270.b drive": "high toe", "270.b coast": "high heel", "270.c": "pinion in", "270.d": "0.004"},
        "Pinion in: head shim .035 to .039, then read the pattern again.",
    )
    builder.by_slot = {}
    builder.do("270/")


def not_right(story: Story, builder: Builder, pattern: dict[str, str], why: str) -> None:
    """A pattern is read and signed; the lead builder does not accept it and says what to move."""
    builder.by_slot = {"270/": pattern}
    visit = builder.begin("270/")
    builder.fill(visit)
    builder.sign_doer(visit)
    builder.now += timedelta(minutes=10)
    withdraw_signature(visit=visit, reason=why, by=story.house.who("ingrith"), now=builder.now)


def in_paint(story: Story) -> None:
    """0140: welded and looked at, in the paint shop; one tube is of heat Q7731."""
    story.house.stock.heats["0140", "left"] = "Q7731"
    builder = story.builder("0140", story.house.at(11, 15))
    builder.kit()
    builder.run(until=180)
    builder.begin("180/")


def seal_returned(story: Story) -> None:
    """0131 comes back months after it left: its pinion seal leaks."""
    at = story.house.at(11, 19, 9)
    said = Said("Oil at the pinion after a long climb; topped up twice.", shop_day(at), "pinion_seal", "6,400 miles")
    returned = take_return(axle=story.axles["0131"], said=said, by=story.house.who("mirelle"), now=at)
    found = "The lip of the seal is cut. Which lot, and who pressed it in, is in the axle file."
    note_finding(returned=returned, says="fault", words=found, by=story.house.who("calla"), now=at + timedelta(hours=5))
