"""From what was scanned or typed to a cause. A scan is recognised by what it says; a typed mark by what bears it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, time, timedelta

from builds.models import Revision, WeldProcedure
from builds.reports.marks import marked
from builds.reports.reach.cause import Between, Cause, CauseKind
from shop.clock import shop_day, shop_zone
from shop.codes import Scan, ScanKind, parse_scan
from shop.errors import Refusal
from shop.models import Heat, Item, ItemKind, Lot, Part, Person, Shift, Station, Supplier, Terminal, Tracking

KINDS = [ItemKind.HEAT, ItemKind.PIECE, ItemKind.LOT, ItemKind.DRUM, ItemKind.PART, ItemKind.UNIT, ItemKind.AXLE,
         ItemKind.GAUGE]  # fmt: skip
#: A list of shifts longer than this is no question about a shift.
MOST_DAYS = 62
Found = tuple[CauseKind, tuple[int, ...], str]


def between_days(day_from: date | None, day_to: date | None, now: datetime) -> Between:
    """Both days included. Raises Refusal for a range that ends before it begins, or lies ahead."""
    today = shop_day(now)
    for day, field in ((day_from, "day_from"), (day_to, "day_to")):
        if day is not None and day > today:
            raise Refusal(f"{day} lies ahead; today is {today}. Nothing was worked on yet.", field=field)
        if day is not None and day.year < 1980:
            raise Refusal(f"{day} is before there were records here. Type the year with four figures.", field=field)
    if day_from is not None and day_to is not None and day_to < day_from:
        raise Refusal(f"The range ends on {day_to}, before it begins on {day_from}. Turn them round.", field="day_to")
    return Between(morning(day_from), morning(day_to + timedelta(days=1)) if day_to else None)


def cause_of(
    typed: str, kind: str, between: Between, days: tuple[date | None, date | None], shift: str, field: str
) -> Cause:
    """The cause that the words name. `kind`: a CauseKind, or empty to let the words say. Raises Refusal."""
    if not typed.strip():
        raise Refusal("Nothing was scanned or typed. Scan a label, or type a mark, code or name.", field=field)
    scan = _scan(typed, field)
    if scan.kind is ScanKind.RED_TAG or scan.kind is ScanKind.BADGE:
        raise Refusal(f"A {scan.kind} is no cause. Scan a part, a gauge, a heat; type a person's code.", field=field)
    found = _named(scan, typed.strip(), kind, field)
    shifts = _shifts(shift, days, field) if found[0] is CauseKind.STATION_SHIFT else ()
    words = found[2] + (f", {shift} shift" if shifts else "")
    steel, parts_of = _melts(found)
    return Cause(found[0], found[1], words, between, shifts, steel, parts_of, typed.strip(), *days)


def _scan(typed: str, field: str) -> Scan:
    try:
        return parse_scan(typed) or Scan(None, typed.strip().upper(), typed=True)
    except Refusal as refusal:
        if typed.strip().startswith("~"):
            raise Refusal(refusal.text, field=field) from refusal
        return Scan(None, typed.strip().upper()[:40], typed=True)


def _named(scan: Scan, typed: str, kind: str, field: str) -> Found:
    if kind:
        found = _OTHERS[CauseKind(kind)](scan.mark, typed)
        if found is None:
            raise Refusal(f"No {_WORDS[CauseKind(kind)]} is called {typed}. Read it again.", field=field)
        return found
    if scan.kind is ScanKind.WELD_PROCEDURE:
        return _named(scan, scan.mark, CauseKind.PROCEDURE, field)
    kinds = KINDS if scan.kind is None or scan.typed else [ItemKind(scan.kind.value)]
    items = marked(kinds, scan.mark)
    if items:
        return _of_items(items, scan.mark, field)
    for other in _OTHERS.values():
        if (found := other(scan.mark, typed)) is not None:
            return found
    raise Refusal(
        f"Nothing here is called {typed}: no heat, bar, lot, drum, part, unit, axle or gauge, and no set, supplier,"
        " person, procedure, terminal or revision. Read it again: O and 0, I and 1.",
        field=field,
    )


def _of_items(items: list[Item], mark: str, field: str) -> Found:
    if len(items) == 1:
        item = items[0]
        kind = CauseKind.GAUGE if item.kind == ItemKind.GAUGE else CauseKind.ITEM
        return kind, (item.pk,), f"{item.get_kind_display()} {item.mark}"
    sets = set(Part.objects.filter(pk__in=[item.pk for item in items]).values_list("supplier", "set_mark"))
    if len(sets) == 1 and all(item.kind == ItemKind.PART for item in items) and next(iter(sets))[1]:
        return CauseKind.MATCHED_SET, tuple(item.pk for item in items), f"matched set {mark}"
    names = " or ".join(f"{item.get_kind_display()} {item.sort.replace('_', ' ')} {item.maker}/{item.mark}".strip()
                        for item in items[:6])  # fmt: skip
    raise Refusal(f"Several are marked {mark}: {names}. Scan its label, or type maker, stroke, mark.", field=field)


def _set(mark: str, typed: str) -> Found | None:
    rows = Part.objects.filter(set_mark__iexact=mark).values_list("pk", flat=True)
    return (CauseKind.MATCHED_SET, tuple(rows), f"matched set {mark}") if rows else None


def _supplier(mark: str, typed: str) -> Found | None:
    one = Supplier.objects.filter(code__iexact=typed).first() or Supplier.objects.filter(name__iexact=typed).first()
    if one is None:
        return None
    theirs = (model.objects.filter(supplier=one).values_list("pk", flat=True) for model in (Heat, Lot, Part))
    return CauseKind.SUPPLIER, tuple(pk for rows in theirs for pk in rows), f"supplier {one.name}"


def _person(mark: str, typed: str) -> Found | None:
    one = Person.objects.filter(code__iexact=typed).first() or Person.objects.filter(name__iexact=typed).first()
    return (CauseKind.PERSON, (one.pk,), f"person {one.name}") if one else None


def _procedure(mark: str, typed: str) -> Found | None:
    code, _, revision = mark.partition(" REV ")
    rows = WeldProcedure.objects.filter(code__iexact=code.strip())
    one = (rows.filter(revision__iexact=revision.strip()) if revision else rows).order_by("-released_on").first()
    return (CauseKind.PROCEDURE, (one.pk,), f"weld procedure {one}") if one else None


def _terminal(mark: str, typed: str) -> Found | None:
    one = Terminal.objects.filter(code__iexact=typed).first()
    return (CauseKind.TERMINAL, (one.pk,), f"terminal {one.code}") if one else None


def _revision(mark: str, typed: str) -> Found | None:
    model, _, letter = mark.partition("/")
    one = Revision.objects.select_related("model").filter(model__code__iexact=model, letter__iexact=letter).first()
    return (CauseKind.REVISION, (one.pk,), f"build card {one}") if one else None


def _station(mark: str, typed: str) -> Found | None:
    one = Station.objects.filter(code__iexact=typed).first() or Station.objects.filter(name__iexact=typed).first()
    return (CauseKind.STATION_SHIFT, (one.pk,), f"station {one.name}") if one else None


_OTHERS: dict[CauseKind, Callable[[str, str], Found | None]] = {
    CauseKind.MATCHED_SET: _set,
    CauseKind.SUPPLIER: _supplier,
    CauseKind.PERSON: _person,
    CauseKind.PROCEDURE: _procedure,
    CauseKind.TERMINAL: _terminal,
    CauseKind.REVISION: _revision,
    CauseKind.STATION_SHIFT: _station,
}
_WORDS = {
    CauseKind.MATCHED_SET: "matched set", CauseKind.SUPPLIER: "supplier", CauseKind.PERSON: "person",
    CauseKind.PROCEDURE: "weld procedure", CauseKind.TERMINAL: "terminal", CauseKind.REVISION: "revision",
    CauseKind.STATION_SHIFT: "station",
}  # fmt: skip


def _shifts(name: str, days: tuple[date | None, date | None], field: str) -> tuple[tuple[datetime, datetime], ...]:
    """Begin and end of the named shift (the whole day where none is named) on each of the days."""
    first, last = days
    if first is None:
        raise Refusal("A station's shift needs its day. Give the first, and the last of several.", field="day_from")
    last = last or first
    if (last - first).days >= MOST_DAYS:
        raise Refusal(f"That is {(last - first).days + 1} days; at most {MOST_DAYS} for a shift.", field="day_to")
    shift = Shift.objects.filter(name__iexact=name.strip()).first() if name.strip() else None
    if name.strip() and shift is None:
        known = ", ".join(Shift.objects.values_list("name", flat=True))
        raise Refusal(f"No shift is called {name.strip()}. There are: {known}.", field="shift")
    found = []
    for number in range((last - first).days + 1):
        day = first + timedelta(days=number)
        begin, end = (shift.starts, shift.ends) if shift else (time(), time())
        ends = day if end > begin else day + timedelta(days=1)
        found.append((datetime.combine(day, begin, shop_zone()), datetime.combine(ends, end, shop_zone())))
    return tuple(found)


def _melts(found: Found) -> tuple[bool, tuple[str, ...]]:
    """Whether the cause has melts that bar stock may be of, and the kinds of forgings that may be of its melts."""
    if found[0] not in (CauseKind.ITEM, CauseKind.SUPPLIER):
        return False, ()
    sorts = set(Heat.objects.filter(pk__in=found[1]).values_list("item__sort", flat=True))
    from_kinds = _serial_kinds(sorts)
    return bool(sorts - from_kinds), tuple(sorted(from_kinds))


def _serial_kinds(sorts: set[str]) -> set[str]:
    return set(Part.objects.filter(kind__code__in=sorts, kind__tracking=Tracking.SERIAL)
               .values_list("kind__code", flat=True).distinct())  # fmt: skip


def morning(day: date | None) -> datetime | None:
    return datetime.combine(day, time(), shop_zone()) if day is not None else None
