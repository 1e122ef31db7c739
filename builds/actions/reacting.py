"""React to new readings as the card says: advise, or open the red tag at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from builds.actions.tagging import Wrong, open_tag
from builds.models import RedTag, of_bench
from builds.reactions import Consequence
from builds.reports.pending import consequence_of
from builds.reports.work import Work
from measurements.models import Reading
from shop.record.act import Act


@dataclass(frozen=True)
class Reacted:
    """What followed from each new reading, and the tags that were opened."""

    consequences: tuple[tuple[Reading, Consequence], ...] = ()
    tags: tuple[RedTag, ...] = ()


def react(a: Act, work: Work, readings: Sequence[Reading]) -> Reacted:
    """Work out the consequence of every new reading; a tag or stop opens a red tag in the same transaction."""
    found, tags = [], []
    for reading in readings:
        place = work.place(reading.characteristic.code, reading.position)
        if place is None:
            continue
        follows = consequence_of(work, place, reading)
        found.append((reading, follows))
        if follows.opens_tag and not _tagged_already(work, reading):
            cause = f"{place.named}: {reading.typed} {reading.unit_typed}, {reading.get_verdict_display()}.".replace(
                " ,", ","
            )
            tags.append(
                open_tag(
                    wrong=Wrong(
                        item=work.visit.item,
                        cause=cause,
                        axle=work.visit.axle,
                        operation=work.visit.operation,
                        reading=reading,
                        stops_axle=follows.kind == "stop",
                    ),
                    by=a.by,
                    now=a.now,
                )
            )
    return Reacted(tuple(found), tuple(tags))


def _tagged_already(work: Work, reading: Reading) -> bool:
    """One open tag a place is enough: a second bad try does not open another."""
    return (
        RedTag.objects.open()
        .filter(
            of_bench(work.bench),
            reading__characteristic_id=reading.characteristic_id,
            reading__position=reading.position,
            reading__item_id=reading.item_id,
        )
        .exists()
    )
