"""What the database refuses in this package: released cards, append-only history, and closed axles.

A closed axle's visits, fits and readings stay as they were at the closing. What comes later (a removal, a
tag, a decision) is a new row marked after closing; a visit claimed after the closing, such as packing, is a
row of its own. Each condition reads the closing, and the lock holds the axle's row, which the closing
changes: what is being added while an axle is being closed waits for it, and is then refused.
"""

from __future__ import annotations

from shop.record import guards

APPEND_ONLY = (
    "OperationCharacteristic", "Requirement", "After", "Invalidates", "Document",
    "VisitSheet", "Photo", "Done", "Hold", "Reopening", "ShorterWait", "Fitted", "Removal", "Weld",
    "RedTag", "Disposition", "Concession", "Closing", "Certifying", "Certificate", "Shipment", "LabelPrint",
    "LookBack", "JudgedAgain", "LookBackAxle", "LookBackDecision",
    "LapseLookBack", "LapsedVisit", "LapsedAxle", "LapsedDecision",
    "Notice", "NoticeRevision", "NoticeLine", "NoticeStop", "NoticeStep", "NoticeClosing",
    "Material", "HeatJudged", "Delivery", "Delivered", "Paper", "PaperFor", "Scan", "BarMeasure", "LotCount",
    "Returned", "ReturnPhoto", "Finding", "Joined", "Parted",
)  # fmt: skip

#: A part fitted in a unit, and a red tag on it, go along with the unit: the axle they stand under may change.
GOES_WITH_ITS_UNIT = ("Fitted", "RedTag")

_VISIT_CLOSED = (
    "EXISTS (SELECT 1 FROM builds_visit v JOIN builds_closing c ON c.axle_id = v.axle_id"
    " WHERE v.id = {row}.visit_id AND v.claimed_at <= c.closed_at)"
)
_VISIT_LOCK = (
    "SELECT 1 FROM builds_axle x WHERE x.item_id ="
    " (SELECT v.axle_id FROM builds_visit v WHERE v.id = {row}.visit_id) FOR SHARE"
)
_SHEET_CLOSED = (
    "EXISTS (SELECT 1 FROM builds_visitsheet s JOIN builds_visit v ON v.id = s.visit_id"
    " JOIN builds_closing c ON c.axle_id = v.axle_id"
    " WHERE s.sheet_id = {row}.sheet_id AND v.claimed_at <= c.closed_at)"
)
_SHEET_LOCK = (
    "SELECT 1 FROM builds_axle x WHERE x.item_id IN (SELECT v.axle_id FROM builds_visitsheet s"
    " JOIN builds_visit v ON v.id = s.visit_id WHERE s.sheet_id = {row}.sheet_id) FOR SHARE"
)
_OF_READING = "JOIN measurements_reading r ON r.sheet_id = s.sheet_id WHERE r.id = {row}.reading_id"
_READING_CLOSED = (
    "EXISTS (SELECT 1 FROM builds_visitsheet s JOIN builds_visit v ON v.id = s.visit_id"
    f" JOIN builds_closing c ON c.axle_id = v.axle_id {_OF_READING} AND v.claimed_at <= c.closed_at)"
)
_READING_LOCK = (
    "SELECT 1 FROM builds_axle x WHERE x.item_id IN (SELECT v.axle_id FROM builds_visitsheet s"
    f" JOIN builds_visit v ON v.id = s.visit_id {_OF_READING}) FOR SHARE"
)
_AXLE_CLOSED = "EXISTS (SELECT 1 FROM builds_closing c WHERE c.axle_id = {row}.axle_id)"
_AXLE_LOCK = "SELECT 1 FROM builds_axle x WHERE x.item_id = {row}.axle_id FOR SHARE"


def declare() -> None:
    for model in APPEND_ONLY:
        guards.append_only(f"builds.{model}", may_change=("axle",) if model in GOES_WITH_ITS_UNIT else ())
    _cards()
    _closed_visits()
    _late_rows_are_marked()
    _no_move_over_a_closing()
    guards.frozen_when(
        "shop.Piece",
        when=guards.ALWAYS,
        may_change=("length",),
        says="a piece keeps its heat, its bar and whether its mark could be read: not determinable is for ever",
    )


def _cards() -> None:
    says = "a released build card never changes; its next revision is a new one"
    guards.frozen_when("builds.Revision", when="OLD.state = 'released'", says=says)
    guards.declare(
        guards.Guard(
            "builds.Operation",
            name="builds_operation_frozen",
            says=says,
            insert="EXISTS (SELECT 1 FROM builds_revision r WHERE r.id = NEW.revision_id AND r.state = 'released')",
            update=guards.ALWAYS,
            delete=guards.ALWAYS,
            keeps_keys=True,
        )
    )


def _closed_visits() -> None:
    says = "the axle is closed: this visit belongs to its frozen record"
    own = _VISIT_CLOSED.replace("v.id = {row}.visit_id", "v.id = {row}.id")
    own_lock = "SELECT 1 FROM builds_axle x WHERE x.item_id = {row}.axle_id FOR SHARE"
    guards.declare(
        guards.Guard(
            "builds.Visit",
            name="builds_visit_closed",
            says=says,
            insert="EXISTS (SELECT 1 FROM builds_closing c"
            " WHERE c.axle_id = NEW.axle_id AND NEW.claimed_at <= c.closed_at)",
            update=f"({own.replace('{row}', 'OLD')}) OR EXISTS (SELECT 1 FROM builds_closing c"
            " WHERE c.axle_id = NEW.axle_id AND NEW.claimed_at <= c.closed_at)",
            delete=own.replace("{row}", "OLD"),
            lock=own_lock,
        )
    )
    guards.closed_when("builds.Span", when=_VISIT_CLOSED, lock=_VISIT_LOCK, says=says)
    for model in ("VisitSheet", "Photo", "Done", "Hold", "Weld", "Reopening"):
        guards.no_more_when(f"builds.{model}", when=_VISIT_CLOSED, lock=_VISIT_LOCK, says=says)
    guards.no_more_when("measurements.Reading", when=_SHEET_CLOSED, lock=_SHEET_LOCK, says=says)
    guards.no_more_when("measurements.Voiding", when=_READING_CLOSED, lock=_READING_LOCK, says=says)
    guards.no_more_when("builds.ShorterWait", when=_AXLE_CLOSED, lock=_AXLE_LOCK, says=says)
    guards.frozen_when(
        "builds.Axle",
        when="OLD.closed_at IS NOT NULL",
        may_change=("phase", "scrapped_at"),
        says="the axle is closed: only where it goes from here may change",
    )


def _late_rows_are_marked() -> None:
    says = "the axle is closed: what comes later has to be marked after closing"
    for model in ("Fitted", "RedTag"):
        guards.no_more_when(
            f"builds.{model}",
            when=f"NOT {{row}}.after_closing AND {_AXLE_CLOSED}",
            lock=_AXLE_LOCK,
            says=says,
        )
    for model, table, key in (
        ("Removal", "builds_fitted", "fitted_id"),
        ("Disposition", "builds_redtag", "tag_id"),
    ):
        guards.no_more_when(
            f"builds.{model}",
            when=f"NOT {{row}}.after_closing AND EXISTS (SELECT 1 FROM {table} o"
            f" JOIN builds_closing c ON c.axle_id = o.axle_id WHERE o.id = {{row}}.{key})",
            lock=f"SELECT 1 FROM builds_axle x WHERE x.item_id ="
            f" (SELECT o.axle_id FROM {table} o WHERE o.id = {{row}}.{key}) FOR SHARE",
            says=says,
        )


def _no_move_over_a_closing() -> None:
    """What a closed record tells of stays with it; and nothing comes into one by a move."""
    for model in GOES_WITH_ITS_UNIT:
        own, other = (
            f"EXISTS (SELECT 1 FROM builds_closing c WHERE c.axle_id = {row}.axle_id)" for row in ("OLD", "NEW")
        )
        guards.declare(
            guards.Guard(
                f"builds.{model}",
                name=f"builds_{model.lower()}_moved",
                says="the axle is closed: what was in it stays in its record",
                update=f"OLD.axle_id IS DISTINCT FROM NEW.axle_id AND (({own}) OR ({other}))",
                lock=_AXLE_LOCK,
            )
        )
    says = "the axle is closed: what comes later has to be marked after closing"
    for model in ("Joined", "Parted"):
        guards.no_more_when(
            f"builds.{model}", when=f"NOT {{row}}.after_closing AND {_AXLE_CLOSED}", lock=_AXLE_LOCK, says=says
        )
