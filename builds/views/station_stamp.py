"""The mark of what an open station page shows: it is asked for every few seconds, so it is one statement."""

from __future__ import annotations

from django.db import connection

from builds.models import Visit
from builds.reports.work import Work, is_void
from shop.http import stamp_of
from shop.models.hot_cursor import hot_cursor

_SQL = """
SELECT
  (SELECT MAX(r.id) FROM builds_visitsheet s JOIN measurements_reading r ON r.sheet_id = s.sheet_id
    WHERE s.visit_id = %s),
  (SELECT COUNT(*) FROM builds_visitsheet s JOIN measurements_reading r ON r.sheet_id = s.sheet_id
    JOIN measurements_voiding v ON v.reading_id = r.id WHERE s.visit_id = %s),
  (SELECT COUNT(*) FROM builds_redtag t LEFT JOIN builds_disposition d ON d.tag_id = t.id
    WHERE {tags} AND d.id IS NULL),
  (SELECT COUNT(*) FROM builds_fitted f LEFT JOIN builds_removal o ON o.fitted_id = f.id
    WHERE f.visit_id = %s AND o.id IS NULL),
  (SELECT COUNT(*) FROM builds_photo p WHERE p.visit_id = %s)
"""
_SQL_OF_AXLE, _SQL_ALONE = _SQL.format(tags="t.axle_id = %s"), _SQL.format(tags="t.axle_id IS NULL AND t.item_id = %s")


def stamp_now(visit: Visit) -> str:
    """What the database says now of the pass that was just read."""
    alone = visit.axle_id is None
    sql, on = (_SQL_ALONE, visit.item_id) if alone else (_SQL_OF_AXLE, visit.axle_id)
    with hot_cursor(connection) as cursor:
        cursor.execute(sql, [visit.pk, visit.pk, on, visit.pk, visit.pk])
        return stamp_of(visit.pk, visit.state, *cursor.fetchone())


def stamp_of_work(work: Work) -> str:
    """The same mark out of what a page was drawn from, so that nothing falls between the drawing and the mark."""
    own = [reading for tries in work.tries.values() for reading in tries if reading.pk in work.own]
    voided = sum(1 for reading in own if is_void(reading))
    fitted = sum(1 for need in work.beside.needs for row in need.fitted if row.visit_id == work.visit.pk)
    newest = max((reading.pk for reading in own), default=None)
    tags, photos = len(work.beside.tags), len(work.beside.photos)
    return stamp_of(work.visit.pk, work.visit.state, newest, voided, tags, fitted, photos)
