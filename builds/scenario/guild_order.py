"""Chapters of the trailer guild's order: six axles of the other model, four shipped and two to come."""

from __future__ import annotations

from datetime import timedelta

from builds.actions.claiming import take_up
from builds.actions.deciding import Decided
from builds.errors import NotYours
from builds.models import Decision
from builds.scenario.rescue_orders import not_right
from builds.scenario.story import Story

HOLLOW_PINE = "Hollow Pine Trailer Guild"
TOGETHER = ("0141", "0142", "0143", "0144")


def clean(story: Story) -> None:
    """0141: the other model, built clean."""
    builder = story.builder("0141", story.house.at(10, 28))
    builder.kit()
    builder.run()
    story.close(builder)


def leak(story: Story) -> None:
    """0144: the leak test fails, the cover is resealed, the whole test again passes."""
    cold = {"c410_1": "5.00", "c410_d": "4.62", "c410_b": "71.0", "c410_e": "70.4"}
    builder = story.builder("0144", story.house.at(11, 4), **cold)
    builder.kit()
    builder.run(until=410)
    builder.by_slot = {"410/": {"410.f": "bubbles at a corner of the cover"}}
    builder.fill(builder.begin_after_wait("410/"))
    for tag in story.open_tags(builder):
        again = "Bubbles at a corner of the cover; resealed, 60 min, whole test again."
        story.decide(builder, tag, Decided(Decision.REWORK, again, cause="opened_after_410"))
    builder.now += timedelta(minutes=75)
    builder.by_slot = {"410/": {"410.d": "4.97", "410.b": "71.0", "410.e": "71.0", "410.f": "no bubbles"}}
    builder.run()
    story.close(builder)


def sister(story: Story) -> None:
    """0142: the same words of a mark mean the same move, and the opposite shim: this one has a pinion cage."""
    builder = story.builder("0142", story.house.at(11, 6))
    builder.kit()
    builder.run(until=270)
    not_right(
        story,
        builder,
        {"270.b drive": "high heel", "270.b coast": "high toe", "270.c": "pinion in", "270.d": "0.004"},
        "Pinion in: remove .004 under the cage flange, .035 to .031, then read the pattern again.",
    )
    builder.by_slot = {"280/": {"280.a": "0.031"}}
    builder.run()
    story.close(builder)


def lapsed_welder(story: Story) -> None:
    """0143: Bram is refused at the plug welds and Isolde takes over."""
    builder = story.builder("0143", story.house.at(11, 3))
    builder.kit()
    builder.run(until=130)
    builder.now = max(builder.now, story.house.at(11, 6))
    bram = story.house.who("bram", "WB")
    try:
        take_up(bench=builder.axle, key="130/", by=bram, now=builder.now)
    except NotYours as refused:
        story.house.say(f"  refused as it must be: {refused}")
    else:
        raise RuntimeError("a lapsed welder was let through")
    builder.run()
    story.close(builder)


def warming_leak(story: Story) -> None:
    """0146: its raw drop looks like a pass, but the gas warmed; the red tag is open."""
    warm = {"c410_1": "5.00", "c410_d": "4.95", "c410_b": "70.0", "c410_e": "71.5"}
    builder = story.builder("0146", story.house.at(11, 12), **warm)
    builder.kit()
    builder.run(until=410)
    builder.fill(builder.begin_after_wait("410/"))


def short_kit(story: Story) -> None:
    """0145: a short kit; it may begin up to the operation that needs what is missing."""
    builder = story.builder("0145", story.house.at(11, 18))
    builder.kit(most=6)
    builder.do("10/")


def shipped_together(story: Story) -> None:
    """Order O-2514: four of the six are shipped, each with its certificate; two come later."""
    for number in TOGETHER:
        story.ship(story.builders[number], HOLLOW_PINE, at=story.house.at(11, 18, 14))
