"""What stands between a visit and its signature: out-of-limit values, blanks, photos, parts, tags."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from builds.definitions.characteristic import Characteristic
from builds.definitions.plan import Slot
from builds.definitions.words import Kind
from builds.models import RedTag, VisitState
from builds.progress import SlotView
from builds.reactions import Consequence, consequence
from builds.reports.beside import Beside, conceded_word, slots_under
from builds.reports.facts import standing
from builds.reports.kit import missing_parts
from builds.reports.work import Place, Work, cited_heats, is_void
from measurements.models import OUT, Reading, ReadingInput
from shop.models import HeatStatus

#: So many operations are named in one refusal; the rest is counted.
NAMED = 3


@dataclass(frozen=True)
class Pending:
    """An out-of-limit value that nobody has decided about, and what the card says to do."""

    place: Place
    reading: Reading
    consequence: Consequence


def back_cause(code: str) -> str:
    """The cause under which a round back is kept, so that rounds are counted per characteristic."""
    return f"back {code}"


def outs_at(place: Place) -> int:
    """Tries out of limit at this place. A void one is among them unless somebody with authority declared it void, who
    did not read it: a void takes a value away, and is no way to more tries than the card allows."""
    return sum(1 for reading in place.tries if reading.verdict in OUT and is_counted(reading))


def is_counted(reading: Reading) -> bool:
    """Whether the reading is one of the tries at its place."""
    return not is_void(reading) or reading.voiding.counts


def consequence_of(work: Work, place: Place, reading: Reading) -> Consequence:
    rounds = work.beside.rounds[back_cause(place.asked.code)] if reading.verdict in OUT else 0
    return consequence(place.asked, reading.verdict, outs_at(place), rounds)


def pending(work: Work) -> list[Pending]:
    """Every value out of limit that no concession covers."""
    found = []
    for place in work.places:
        last = place.last
        if last is None or last.verdict not in OUT or place.asked.recorded_only:
            continue
        event = place.asked.computation.event if place.asked.computation is not None else ""
        if event and work.beside.shortened(event):
            continue
        word = conceded_word(last)
        if (last.item_id, place.asked.code, place.position, last.value, word) in work.beside.conceded:
            continue
        found.append(Pending(place, last, consequence_of(work, place, last)))
    return found


def waiting(work: Work) -> list[Pending]:
    """What is to be read again when it is so, before anything else goes on: steel that is too cold, a gear too warm.
    Hours that the clock counts are no value that somebody reads again."""
    out = pending(work) if any(place.last is not None and place.last.verdict in OUT for place in work.places) else ()
    return [found for found in out if found.consequence.kind == "wait" and not _is_clock(found.place.asked)]


def _is_clock(asked: Characteristic) -> bool:
    return asked.computation is not None and bool(asked.computation.event)


def heats_not_good(work: Work) -> list[str]:
    """Heats cited here that lack a value the card asks of them, or that are refused."""
    codes = {
        planned.code: planned.characteristic
        for planned in work.slot.characteristics
        if planned.characteristic.given is not None and planned.characteristic.given.source == "heat"
    }
    if not codes:
        return []
    said = []
    for item in cited_heats(work):
        rows = Reading.objects.standing().filter(item=item, characteristic__code__in=codes).order_by("pk")
        last = {row.characteristic.code: row for row in rows.select_related("characteristic")}
        for code, asked in codes.items():
            if code not in last:
                said.append(f"Heat {item.mark}: {code} {asked.name} is not entered.")
            elif last[code].verdict in OUT:
                said.append(f"Heat {item.mark}: {code} {asked.name} {last[code].typed} is out of limit.")
        if item.heat.status == HeatStatus.REFUSED:
            said.append(f"Heat {item.mark} is refused.")
    return said


def tags_in_the_way(beside: Beside) -> list[RedTag]:
    """Open tags on the whole axle, on this slot, or on a slot before it; one on the other side is not."""
    plan = beside.bench.plan
    reach = set(plan.before(beside.slot.key)) | {beside.slot.key}
    return [tag for tag in beside.tags if tag.stops_axle or reach & set(slots_under(plan, tag))]


def stopping_tag(beside: Beside, tries: Sequence[Reading] | None = None) -> RedTag | None:
    """The first tag that keeps work from this operation. `tries`: those at the place of an entry; None for a part.

    A tag that one reading of this very operation opened stops the next try at its own place, and every part; where it
    was computed, the next try at each place that it comes from, or it would be computed away before the decision. The
    other places are read on, so that all figures are on record for the decision.
    """
    for tag in tags_in_the_way(beside):
        if tries is None or not _is_of_one_place(beside, tag) or _comes_from(tag, {one.pk for one in tries}):
            return tag
    return None


def _comes_from(tag: RedTag, tries: Collection[int]) -> bool:
    """Whether the reading that opened the tag is one of these, or was computed from one, near or far."""
    found, fresh = set[int](), {tag.reading_id or 0}
    while tries and fresh:
        found |= fresh
        fresh = set(ReadingInput.objects.filter(computed__in=fresh).values_list("source_id", flat=True)) - found
    return not found.isdisjoint(tries)


def _is_of_one_place(beside: Beside, tag: RedTag) -> bool:
    here = (tag.operation_id, tag.item_id) == (beside.visit.operation_id, beside.visit.item_id)
    return here and tag.reading_id is not None and not tag.stops_axle


def photos_missing(work: Work, *, found_out: bool) -> list[str]:
    """Names of the photos the operation asks for and that nobody has taken at this visit."""
    asked = [photo for photo in work.slot.photos if photo.required == "always" or found_out]
    taken = {photo.name for photo in work.beside.photos} if asked else set()
    return [photo.name for photo in asked if photo.name not in taken]


def ticks_left_out(work: Work) -> list[str]:
    """Ticks that nobody made, row by row: a choice of one word that may stay blank. Who signs is asked about them."""
    said = []
    for planned in work.planned:
        asked = planned.characteristic
        places = work.places_of(planned) if is_tick_row(asked) else []
        blank = [place.position for place in places if place.last is None]
        if blank:
            done = "none" if len(blank) == len(places) else f"all but {', '.join(blank)}"
            said.append(f"{asked.code} {asked.name}: {done}.")
    return said


def is_tick_row(asked: Characteristic) -> bool:
    """Whether it is only ticked, and may stay blank."""
    return asked.kind is Kind.CHOICE and len(asked.choices) <= 1 and asked.optional


def not_signable(work: Work, out: Sequence[Pending] | None = None) -> list[str]:
    """Everything that is missing, as sentences that name their place; empty: it can be signed. `out`: what is
    pending, where the caller knows it."""
    said = [f"{place.named}: no reading." for place in work.places if place.last is None and work.is_wanted(place)]
    out = pending(work) if out is None else out
    said += [
        f"{found.place.named}: {found.reading.typed} {found.reading.unit_typed} is out of limit."
        f" {found.consequence.text}".replace("  ", " ")
        for found in out
    ]
    found_out = any(place.last is not None and place.last.verdict in OUT for place in work.places)
    said += [f"Photo “{name}” is missing." for name in photos_missing(work, found_out=found_out)]
    said += [f"{sentence}." for sentence in missing_parts(work.beside.needs)]
    said += heats_not_good(work)
    said += [f"Red tag {tag.number} is open: {tag.cause}" for tag in tags_in_the_way(work.beside)]
    return said + opened_before(work)


def opened_before(work: Work) -> list[str]:
    """What this operation waits for and is not done any more, as sentences: it was opened again, or a part or unit went
    out, since this pass was taken up. What was read meanwhile stays; it is signed once that is done again."""
    before = work.bench.plan.before(work.slot.key)
    done = work.beside.known_done
    if not before or (done is not None and done >= len(before)):
        return []
    # Which are finished is decided by no clock, so any moment does.
    slots = standing(work.bench, work.visit.claimed_at).slots
    left = [slots[key] for key in work.bench.plan.by_key if key in before and key not in slots.finished]
    said = [f"Operation {_named(view.slot)} comes before this one and is {_state(view)}." for view in left[:NAMED]]
    return [*said, f"And {len(left) - NAMED} more before it."] if len(left) > NAMED else said


def _named(slot: Slot) -> str:
    side = f", {slot.side}" if slot.side else ""
    return f"{slot.operation.number} {slot.operation.name}{side}"


def _state(view: SlotView) -> str:
    """That it waits for something itself is told where it is taken up."""
    begun = view.visit is not None and view.visit.state != VisitState.REDO
    return str(view.state) if begun else "to do again"
