"""What the doer's signature has to know under the lock of its axle, in one hand-written statement."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.db import connection

from builds.models import Visit, VisitState
from builds.reports.at_hand import HELD, OPEN_TAGS, OPEN_TAGS_ALONE, marks
from builds.reports.at_pass import AtPass, columns, read, roles_here, slots_before
from shop.clock import shop_day
from shop.models.hot_cursor import hot_cursor
from shop.record.who import Who

_SIGNING = f"""
SELECT v.state, a.closed_at IS NOT NULL, a.phase,
  {{tags}},
  {HELD},
  (SELECT s.id FROM builds_span s WHERE s.visit_id = v.id AND s.ended_at IS NULL),
  (SELECT COUNT(*) FROM builds_done g WHERE g.visit_id = v.id),
  (SELECT COUNT(*) FROM builds_visit o WHERE o.axle_id = v.axle_id AND o.state IN (%s, %s) AND o.id <> v.id),
  {{columns}}
FROM builds_visit v LEFT JOIN builds_axle a ON a.item_id = v.axle_id WHERE v.id = %s
"""


@dataclass(frozen=True)
class AtSigning:
    """A pass and its axle as they stand now. `tagged`: whether any red tag of the axle is open; `held`: whether the
    person holds one of the roles today; `span`: the running stretch of touch time; `signed`: whether anybody signed
    this pass already; `finished`: how many other passes of the axle are done or excused; `beside`: its parts and
    photos, and how much of what comes before it is done."""

    state: str
    closed: bool
    phase: str | None
    tagged: bool
    held: bool
    span: int | None
    signed: bool
    finished: int
    beside: AtPass


def at_signing(visit: Visit, by: Who, roles: Collection[str], at: datetime) -> AtSigning:
    """One statement. Of a unit that is in no axle there is no phase, and nobody asks what else is finished."""
    day = connection.ops.adapt_datefield_value(shop_day(at))
    person = by.person.pk if by.person is not None else None
    asked = tuple(roles) or ("",)
    fitting = roles_here(visit)
    tags = OPEN_TAGS if visit.axle_id is not None else OPEN_TAGS_ALONE
    sql = _SIGNING.format(tags=tags, roles=marks(asked), columns=columns(fitting, alone=visit.axle_id is None))
    ended = (VisitState.DONE.value, VisitState.EXCUSED.value)
    with hot_cursor(connection) as cursor:
        cursor.execute(sql, [person, *asked, day, day, *ended, *fitting, slots_before(visit), visit.pk])
        state, closed, phase, tags, held, span, signed, finished, *around = cursor.fetchone()
    beside = read(visit, *around)
    return AtSigning(state, bool(closed), phase, bool(tags), bool(held), span, bool(signed), finished, beside)
