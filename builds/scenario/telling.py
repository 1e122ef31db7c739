"""The invented autumn in the order in which it is told: axles 0131 to 0149 at the stages of the scenario."""

from __future__ import annotations

from collections.abc import Callable

from django.db import transaction

from builds.scenario import guild_order, hire_orders, rescue_orders
from builds.scenario.story import SOLD, Story


def orders(story: Story) -> None:
    """Five orders are placed and nineteen axles booked."""
    for sold in SOLD:
        story.book(sold)


def link(story: Story) -> None:
    """The customer of order O-2511 gets a link."""
    story.make_link()


#: Red tags are numbered in the order in which they are opened, so chapters with tags keep the order of their days.
CHAPTERS: tuple[Callable[[Story], None], ...] = (
    orders,
    rescue_orders.shipped,
    rescue_orders.clean,
    guild_order.clean,
    rescue_orders.bore_oversize,
    rescue_orders.gauge_found_out,
    guild_order.leak,
    rescue_orders.backlash,
    guild_order.sister,
    guild_order.lapsed_welder,
    guild_order.warming_leak,
    hire_orders.other_ratio,
    rescue_orders.in_paint,
    hire_orders.robbed,
    hire_orders.missing_bolt,
    guild_order.short_kit,
    guild_order.shipped_together,
    rescue_orders.seal_returned,
    link,
)


def tell(story: Story) -> None:
    """Every chapter in one transaction of its own."""
    for chapter in CHAPTERS:
        with transaction.atomic():
            chapter(story)
        story.house.say(f"  {(chapter.__doc__ or '').splitlines()[0]}")
