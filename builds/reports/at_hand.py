"""What one Enter has to know, in hand-written statements: this is the path that every reading takes.

Measured: the same through query objects takes twice the time of the whole entry, nearly all of it spent on
building SQL text that is always the same.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache, reduce
from operator import or_

from django.db import connection
from django.db.models import Q

from builds.models import Visit
from builds.reports.at_pass import AtPass, columns, read, roles_here, slots_before
from measurements.models import Characteristic, Reading
from shop.clock import shop_day
from shop.models.hot_cursor import hot_cursor
from shop.models.prepared import Prepared, number
from shop.record.who import Who

#: How many red tags of the pass's axle are open.
OPEN_TAGS = """(SELECT COUNT(*) FROM builds_redtag t LEFT JOIN builds_disposition d ON d.tag_id = t.id
    WHERE t.axle_id = v.axle_id AND d.id IS NULL)"""
#: How many of a unit that is in no axle.
OPEN_TAGS_ALONE = """(SELECT COUNT(*) FROM builds_redtag t LEFT JOIN builds_disposition d ON d.tag_id = t.id
    WHERE t.axle_id IS NULL AND t.item_id = v.item_id AND d.id IS NULL)"""
#: How often a person holds one of the `roles` on a day; values: the person, the roles, the day twice.
HELD = """(SELECT COUNT(*) FROM shop_roleheld h JOIN shop_person p ON p.id = h.person_id
    WHERE h.person_id = %s AND h.role IN ({roles}) AND p.retired_at IS NULL
      AND h.valid_from <= %s AND (h.valid_until IS NULL OR h.valid_until > %s))"""
#: Whether any reading of the pass was out of its limits when it was judged.
_OUT = """EXISTS (SELECT 1 FROM builds_visitsheet s JOIN measurements_reading r ON r.sheet_id = s.sheet_id
    WHERE s.visit_id = v.id AND r.verdict IN ('below', 'above', 'never', 'no'))"""
_HAND = f"""
SELECT v.state, a.closed_at IS NOT NULL, {_OUT},
  (SELECT MAX(s.sheet_id) FROM builds_visitsheet s WHERE s.visit_id = v.id),
  {{tags}},
  {HELD}{{columns}}
FROM builds_visit v LEFT JOIN builds_axle a ON a.item_id = v.axle_id WHERE v.id = %s
"""
#: The row of the card that readings of one code point at; one such column for each code.
_ROW = "(SELECT c.id FROM measurements_characteristic c WHERE c.card_key = %s AND c.code = %s)"


@dataclass(frozen=True)
class AtHand:
    """A visit as it stands under the lock of its axle. `held`: whether the person holds one of the roles today;
    `tagged`: whether any red tag of the axle is open, so that only then somebody asks where they lie; `out`: whether
    anything read in this pass was out of limits; `rows`: the card's rows, by code; `beside`: parts, photos and what is
    done before, where they were asked for."""

    state: str
    closed: bool
    out: bool
    sheet: int
    tagged: bool
    held: bool
    rows: Mapping[str, Characteristic]
    beside: AtPass | None = None


def at_hand(
    visit: Visit, by: Who, roles: Collection[str], at: datetime, codes: Mapping[str, str], *, beside: bool = False
) -> AtHand:
    """One statement: state, record closed or not, own sheet, red tags or none, the person's role, and the card's
    rows of these codes (with their names); with `beside`, its parts and photos and what is done before it."""
    key = visit.bench.card_revision.key
    day = connection.ops.adapt_datefield_value(shop_day(at))
    person = by.person.pk if by.person is not None else None
    fitting = roles_here(visit) if beside else []
    around = [*fitting, slots_before(visit)] if beside else []
    asked = [_ROW for _ in codes] + ([columns(fitting, alone=visit.axle_id is None)] if beside else [])
    tags = OPEN_TAGS if visit.axle_id is not None else OPEN_TAGS_ALONE
    sql = _HAND.format(tags=tags, roles=marks(roles), columns="".join(f",\n  {column}" for column in asked))
    named = [word for code in codes for word in (key, code)]
    with hot_cursor(connection) as cursor:
        cursor.execute(sql, [person, *roles, day, day, *named, *around, visit.pk])
        state, closed, out, sheet, tagged, held, *ids = cursor.fetchone()
    at_pass = read(visit, *ids[len(codes) :]) if beside else None
    rows = {
        code: Characteristic(pk=pk, card_key=key, code=code, name=name)
        for (code, name), pk in zip(codes.items(), ids[: len(codes)], strict=True)
        if pk is not None
    }
    return AtHand(state, bool(closed), bool(out), sheet, bool(tagged), bool(held), rows, at_pass)


@lru_cache(maxsize=32)
def _readings(count: int) -> Prepared[Reading]:
    asked = reduce(or_, (Q(characteristic=number(f"row{place}")) for place in range(count)))
    return Prepared(
        lambda: (
            Reading.objects.filter(asked, sheet__visit_links__visit=number("visit"))
            .select_related("voiding")
            .order_by("pk")
        )
    )


def readings(visit: Visit, asked: Mapping[str, Characteristic]) -> list[Reading]:
    """The readings of these characteristics on the visit's sheets, oldest first."""
    if not asked:
        return []
    by_key = {row.pk: row for row in asked.values()}
    rows = _readings(len(by_key)).all(visit=visit.pk, **{f"row{place}": pk for place, pk in enumerate(by_key)})
    for row in rows:
        row.characteristic = by_key[row.characteristic_id]
    return rows


def not_voided(reading: Reading) -> Reading:
    """Say that no voiding stands beside this reading, so that nobody asks the database for it."""
    Reading._meta.get_field("voiding").set_cached_value(reading, None)
    return reading


def marks(values: Iterable[str]) -> str:
    """A placeholder for each value."""
    return ", ".join("%s" for _ in values)
