"""Chapters of the hire company's two axles and of the ambulance that cannot wait."""

from __future__ import annotations

from datetime import timedelta

from builds.actions.finishing import finish
from builds.actions.removing import Out, remove_part
from builds.errors import NotSignable
from builds.models import Fitted, Visit
from builds.reports.work import work_of
from builds.scenario.driver import Builder
from builds.scenario.story import Story
from shop.errors import Refusal
from shop.models import Where

ROBBED, INSTEAD = "DF-2207", "DF-2231"


def other_ratio(story: Story) -> None:
    """0147: shimmed, run by hand, its pattern accepted; the customer will ask for another ratio."""
    builder = story.builder("0147", story.house.at(11, 12))
    builder.kit()
    builder.run(until=280)


def robbed(story: Story) -> None:
    """0148: its differential is taken for the rush 0149; what that touches is to do again."""
    serials = story.house.stock.serials
    serials["0148", "differential"] = ROBBED
    giver = story.builder("0148", story.house.at(11, 17))
    giver.kit()
    for slot in giver.axle.plan.slots:
        if slot.operation.number in (10, 200, 210, 220, 230, 340, 350, 360):
            giver.do(slot.key)
    taker = story.builder("0149", giver.now + timedelta(hours=1))
    part = Fitted.objects.now().select_related("part", "axle", "host").get(axle=giver.axle, role="differential")
    out = Out("Taken for the rush of order O-2520.", Where.STOCK, "for 0149")
    remove_part(fitted=part, out=out, by=story.house.who("rusk", "GB"), now=taker.now)
    serials["0149", "differential"] = ROBBED
    taker.kit()
    taker.do("10/")
    serials["0148", "differential"] = INSTEAD
    giver.now = taker.now
    giver.kit()


def missing_bolt(story: Story) -> None:
    """0148: bolt 7 of 12 has no reading since the wrench's battery is empty; nothing can be signed around it."""
    builder = story.builders["0148"]
    for key in ("200/", "210/"):
        builder.do(key)
    visit = builder.begin("220/")
    builder.fit(visit)
    builder.enter_code(visit, "220.3")
    for place in work_of(visit).places:
        if place.asked.code == "220.1" and place.position != "7":
            builder.enter(visit, place)
    _not_around_it(story, builder, visit)
    story.set_down(builder, visit, "wrench battery empty at bolt 7")


def _not_around_it(story: Story, builder: Builder, visit: Visit) -> None:
    """Neither a signature nor "same as others" takes the place of a reading."""
    assert builder.doer is not None
    by = story.house.who(builder.doer.code, "GB")
    place = work_of(visit).place("220.1", "7")
    assert place is not None
    for tried in (
        lambda: finish(visit=visit, grant=builder.grant(by, "did"), by=by, now=builder.now),
        lambda: builder.enter(visit, place, "same as others"),
    ):
        try:
            tried()
        except (NotSignable, Refusal) as refused:
            story.house.say(f"  refused as it must be: {refused}")
        else:
            raise RuntimeError("a missing bolt was let through")
