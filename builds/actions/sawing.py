"""What the saw leaves: the length of each piece, the remnant, the scrapped ends, and a bar of which nothing is left.

A length that cannot be is refused where it is entered. What is written is a new measure every time; the bar's own
length and its place follow from the last ones.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from builds.definitions.plan import Slot
from builds.errors import NotFree, WrongKind
from builds.models import BarMeasure, Fitted, Measured
from builds.reports.balance import Balance, balance_of
from builds.reports.kit import NeedState
from builds.reports.work import Work
from measurements.engineering.limits import plain
from measurements.engineering.units import convert, rounded
from measurements.models import Reading
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Item, Piece, Place, Role, Where
from shop.permissions import require_role
from shop.record.act import Act, act
from shop.record.who import Who

MEASURES = (Role.TUBE_PREP, Role.RECEIVER, Role.INSPECTOR)
LONGEST_REASON = 200
_BILLIONTH = Decimal("0.000000001")


@dataclass(frozen=True)
class Measure:
    """One length of a bar, in the bar's unit. A length that is put right needs its reason; the others may have one."""

    what: str
    length: Decimal
    reason: str = ""


def note_sawn(a: Act, work: Work, reading: Reading) -> None:
    """After the reading of a sawn piece, or of what is left of its bar: its length, and where the bar is now."""
    code = reading.characteristic.code
    needs = [planned.need for planned in work.slot.needs if planned.need.sawn_length]
    if reading.value is None or not any(code in (*need.sawn_length, need.remnant_length) for need in needs):
        return
    piece = _piece_of(work, [need.role for need in needs])
    if piece is None or piece.parent is None:
        return
    length = _in_unit(reading.value, work.slot.planned(code).characteristic.unit, piece.length_unit)
    with act("bar.sawn", subject=piece.parent.item.subject, by=a.by) as own:
        own.note(piece=piece.item.mark, code=code, length=f"{plain(length)} {piece.length_unit}")
        if any(code in need.sawn_length for need in needs):
            own.update(piece, length=length)
            _possible(piece.parent, balance_of(piece.parent), f"The piece of {plain(length)} {piece.length_unit}")
        else:
            _write(own, piece.parent, Measure(Measured.REMNANT, length))


def _piece_of(work: Work, roles: list[str]) -> Piece | None:
    """The piece that was cut at this pass."""
    rows = Fitted.objects.now().filter(visit=work.visit, role__in=roles).order_by("-pk").values_list("part", flat=True)
    found = Piece.objects.filter(pk__in=rows[:1]).select_related("item", "parent__item__place", "parent__heat__item")
    return found.first()


def _in_unit(value: Decimal, unit: str, to: str) -> Decimal:
    return value if unit == to else rounded(convert(value, unit, to), _BILLIONTH)


def measure_bar(*, bar: Piece, measure: Measure, by: Who, now: datetime | None = None) -> BarMeasure:
    """A length taken on the rack: the bar put right, its remnant, or an end that goes to the scrap bin."""
    with act("bar.measured", subject=bar.item.subject, by=by, now=now) as a:
        require_role(by, MEASURES, shop_day(a.now))
        kept = Piece.objects.select_related("item__place", "parent").get(pk=bar.pk)
        if kept.parent_id is not None:
            raise WrongKind(f"{kept.item.mark} is a cut piece. Its length is read at the saw.", field="what")
        reason = " ".join(measure.reason.split())
        if len(reason) > LONGEST_REASON or (measure.what == Measured.LENGTH and not reason):
            raise Refusal(f"Say in at most {LONGEST_REASON} characters why the length is put right.", field="reason")
        if measure.what not in Measured.values:
            raise Refusal("Say what was measured: the whole bar, what is left, or a scrapped end.", field="what")
        if measure.length < 0 or (measure.what != Measured.REMNANT and measure.length == 0):
            raise Refusal("A length is more than nothing; only what is left of a bar may be 0.", field="length")
        a.note(what=measure.what, length=f"{plain(measure.length)} {kept.length_unit}", reason=reason)
        return _write(a, kept, Measure(measure.what, measure.length, reason))


def _write(a: Act, bar: Piece, measure: Measure) -> BarMeasure:
    if a.by.person is None:
        raise Refusal("Nobody is signed in. Scan a badge first.")
    row = a.create(
        BarMeasure, bar=bar, what=measure.what, length=measure.length, cuts=bar.cut.count(), reason=measure.reason,
        person=a.by.person, at=a.now,
    )  # fmt: skip
    if measure.what == Measured.LENGTH:
        a.update(bar, length=measure.length)
    now = balance_of(bar)
    words = {Measured.LENGTH: "A bar of", Measured.REMNANT: "A remnant of", Measured.SCRAP: "A scrapped end of"}
    _possible(bar, now, f"{words[Measured(measure.what)]} {plain(measure.length)} {bar.length_unit}")
    _follow(a, bar, now, measure)
    return row


def _possible(bar: Piece, now: Balance, what: str) -> None:
    """Refuse what would make more steel than the bar had."""
    if now.at_most is None:
        return
    over = (now.remnant or Decimal(0)) - now.at_most
    if over > 0:
        ends = f", {plain(now.scrap)} of scrapped ends" if now.scrap else ""
        rest = f" and a remnant of {plain(now.remnant)}" if now.remnant else ""
        raise Refusal(
            f"{what} cannot be: bar {bar.item.mark} was {plain(now.length or Decimal(0))} {bar.length_unit} long, and"
            f" {plain(now.cut)} {bar.length_unit} of pieces{ends}{rest} are {plain(over)} {bar.length_unit} more than"
            " that. Measure again; a wrong length of the bar is put right on its own page.",
            field="value",
        )


def _follow(a: Act, bar: Piece, now: Balance, measure: Measure) -> None:
    """A bar of which nothing is left lies nowhere any more; one that turns out to have a rest is back in stock."""
    place = Place.objects.get(pk=bar.pk)
    gone = now.remnant == 0 or (measure.what == Measured.SCRAP and now.at_most == 0)
    if gone and place.where in (Where.STOCK, Where.FLOOR, Where.QUARANTINE):
        where = Where.SCRAP if measure.what == Measured.SCRAP else Where.CUT_UP
        a.update(place, where=where, host=None, note="", since=a.now)
    elif not gone and place.where == Where.CUT_UP:
        a.update(place, where=Where.STOCK if bar.heat_id else Where.QUARANTINE, host=None, since=a.now)


def require_long_enough(bar: Piece, slot: Slot, need: NeedState) -> None:
    """Refuse a bar that is known to be too short for the piece that is wanted of it."""
    codes = need.planned.need.sawn_length
    asked = next((one.characteristic for one in slot.characteristics if one.code in codes), None)
    left = balance_of(bar).left
    if asked is None or asked.low is None or left is None:
        return
    wanted = _in_unit(asked.low, asked.unit, bar.length_unit)
    if left < wanted:
        raise NotFree(
            f"Bar {bar.item.mark} has {plain(left)} {bar.length_unit} left; this piece is at least {plain(wanted)}"
            f" {bar.length_unit} long. Take another bar, or have its length put right on its own page.",
            field="scan",
        )


def is_bar(item: Item) -> bool:
    """Whether it is a bar or a remnant, not a piece cut for an axle."""
    return Piece.objects.filter(pk=item.pk, parent=None).exists()
