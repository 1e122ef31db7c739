"""The answer of a question as one statement: what every cause touches, how they go together, and where each thing is.

It gives rows of three sorts, told apart by the first column; `AxleLine`, `ThingLine` and `OverLine` name the columns of
each. Texts that a sort does not need are NULL.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import NamedTuple

from builds.reports.reach.cause import Cause, CauseKind, Question, Together
from builds.reports.reach.spelling import for_each, for_each_named, gated, spelling
from builds.reports.reach.statements import STANDS, Values
from builds.reports.reach.touching import AXLE, FORMER, HEAT, HOST, NOW, OTHER, UNIT, Part, touched


class AxleLine(NamedTuple):
    """An axle in the answer, `held` as surely as `touching` says; `left`: shipped, or closed."""

    held: int
    item: int
    host: None
    axle: None
    left: datetime | None
    mark: str
    phase: str
    order: str
    customer: str
    consignee: str | None
    stands: str | None


class ThingLine(NamedTuple):
    """A thing that is listed by itself. `kits`: the serials that it is set aside for."""

    held: int
    item: int
    where_in: None
    axle: None
    at: None
    mark: str
    kind: str
    sort: str
    where: str | None
    note: str | None
    host: str | None
    role: str | None
    side: str | None
    kits: str | None


class OverLine(NamedTuple):
    """A fitting or a unit's stay that is over. `held`: the row that it is, as `touching` names it; `host`: what it was
    in, `axle`: the axle it was then fitted for; `now_in`: the axle that the unit is in now."""

    row_key: int
    item: int
    host: int
    axle: int | None
    until: datetime
    mark: str
    kind: str
    sort: str
    where: str | None
    note: str | None
    holder: str | None
    role: str | None
    side: str | None
    now_in: str | None
    host_kind: str
    went: str | None
    said: str | None


AXLES, THINGS, OVERS = range(3)
_TEXTS = 12
_KITS = """(SELECT {joined}(k.mark, ', ') FROM (SELECT a.mark FROM builds_kitline l JOIN shop_item a ON a.id = l.axle_id
  WHERE l.part_id = i.id AND l.returned_at IS NULL AND NOT EXISTS (SELECT 1 FROM builds_fitted f
  WHERE f.part_id = l.part_id AND f.axle_id = l.axle_id) ORDER BY a.mark) k)"""
_NONE, _NEVER = "CAST(NULL AS bigint)", "CAST(NULL AS timestamp with time zone)"
#: Kinds that are no thing to hold, and places whose host is listed for what is there.
_NOT_LISTED = "('heat', 'axle', 'gauge', 'batch', 'delivery')"
_LISTED_BY_HOST = "('fitted', 'cut_up')"


def statement(question: Question) -> tuple[str, Values]:
    """The statement with its values; its text depends on the kinds of the causes and on which ends of a range are
    given, and on nothing else."""
    together, causes = question.together, list(enumerate(question.causes))
    parts: list[Part] = []
    for number, cause in causes:
        parts += touched(cause, str(number), with_visits=together is Together.SAME_WORK)
    parts += [*_TAKEN[together](question.causes), _axles(), _orders(), _alone()]
    named = ", ".join(f"{head} AS MATERIALIZED ({sql})" for head, sql, _ in parts)
    lists = " UNION ALL ".join((_with_orders(), _things(), _fittings(), _stays()))
    return f"WITH RECURSIVE {named} {lists}", [value for _, _, values in parts for value in values]


def _either(causes: Sequence[Cause]) -> list[Part]:
    if len(causes) == 1:
        over = "SELECT DISTINCT over FROM t0 WHERE over <> 0"
        return [("taken(item, held, class)", "SELECT item, held, class FROM b0", []), ("gone(over)", over, [])]
    every = " UNION ALL ".join(f"SELECT item, held, class FROM b{number}" for number in range(len(causes)))
    best = f"SELECT item, MAX(held), MIN(class) FROM ({every}) x GROUP BY item"
    return [("taken(item, held, class)", best, []), ("gone(over)", _every_over(range(len(causes))), [])]


def _both(causes: Sequence[Cause]) -> list[Part]:
    """Touched by every one. What is over counts where the thing, or what it was in, was touched by all."""
    all_of_it = "(SELECT item FROM taken)"
    fitted = for_each(
        "builds_fitted f", f"f.id = every.over AND (f.part_id IN {all_of_it} OR f.host_id IN {all_of_it})", "f"
    )
    stays = for_each(
        "builds_parted s", f"s.id = -every.over AND (s.unit_id IN {all_of_it} OR s.axle_id IN {all_of_it})", "s"
    )
    return [
        ("taken(item, held, class)", _in_all("item", [f"b{number}" for number in range(len(causes))], "class"), []),
        ("every(over)", _every_over(range(len(causes))), []),
        ("gone(over)", f"SELECT every.over FROM every {fitted} UNION ALL SELECT every.over FROM every {stays}", []),
    ]


def _same(causes: Sequence[Cause]) -> list[Part]:
    """The passes in which every cause had a hand; a revision, which is no work, narrows by axle. Touched is what has
    the work of such a pass in it now, and what had it: the axles that a unit left later."""
    hands = [number for number, cause in enumerate(causes) if cause.kind is not CauseKind.REVISION]
    whole = [number for number, cause in enumerate(causes) if cause.kind is CauseKind.REVISION]
    things = [number for number in hands if causes[number].is_thing]
    shared = _in_all("visit", [f"h{number}" for number in hands]) if hands else "SELECT 0, 0 WHERE 1 = 0"
    narrowed = "".join(f" AND x.item IN (SELECT item FROM b{number})" for number in whole)
    visits = for_each("builds_visit v", "v.id = shared.visit", "v")
    left = for_each("builds_parted p", "p.unit_id = had.item AND NOT p.withdrawn AND had.at < p.at", "p")
    then = f"CASE WHEN had.held < {FORMER} THEN had.held ELSE {FORMER} END"
    fitted = for_each("builds_fitted f", "f.id = ended.over AND f.visit_id IN (SELECT visit FROM shared)", "f")
    over = f"SELECT f.id FROM ({_every_over(things)}) ended {fitted}" if things else "SELECT 0 WHERE 1 = 0"
    return [
        *(_hands(causes[number], number) for number in hands),
        ("shared(visit, held)", shared, []),
        (
            "work(item, axle, at, held)",
            f"SELECT v.item_id, v.axle_id, v.claimed_at, shared.held FROM shared {visits}",
            [],
        ),
        (
            "taken(item, held, class)",
            f"SELECT x.item, MAX(x.held), {OTHER} FROM (SELECT COALESCE(axle, item) AS item, held FROM work"
            f" UNION ALL SELECT p.axle_id, {then} FROM work had {left}) x WHERE 1 = 1{narrowed} GROUP BY x.item",
            [],
        ),
        ("gone(over)", over, []),
    ]


_TAKEN = {Together.EITHER: _either, Together.BOTH: _both, Together.SAME_WORK: _same}


def _every_over(numbers: Sequence[int]) -> str:
    """UNION: each once."""
    return " UNION ".join(f"SELECT over FROM t{number} WHERE over <> 0" for number in numbers)


def _in_all(key: str, names: Sequence[str], other: str = "") -> str:
    """What stands in all of these, as surely as in the one that is least sure of it."""
    first, *rest = names
    helds = ", ".join(f"{name}.held" for name in names)
    least = f"{spelling().sooner}({helds})" if rest else helds
    joins = "".join(f" JOIN {name} ON {name}.{key} = {first}.{key}" for name in rest)
    return f"SELECT {first}.{key}, {least}{f', {first}.{other}' if other else ''} FROM {first}{joins}"


def _hands(cause: Cause, number: int) -> Part:
    """The passes in which a cause had a hand, with the surest of its ways: once fitted or welded in, or worked on."""
    head = f"h{number}(visit, held)"
    if not cause.is_thing:
        return head, f"SELECT visit, {NOW} FROM d{number} WHERE visit IS NOT NULL GROUP BY visit", []
    fitted = for_each("builds_fitted f", "f.part_id = b.item AND f.visit_id > 0", "f")
    welded = for_each("builds_weld w", "w.wire_id = b.item", "w")
    out = "EXISTS (SELECT 1 FROM builds_removal m WHERE m.fitted_id = f.id)"
    held = f"CASE WHEN b.held > {FORMER} AND {out} THEN {FORMER} ELSE b.held END"
    return (
        head,
        f"SELECT visit, MAX(held) FROM (SELECT f.visit_id AS visit, {held} AS held FROM b{number} b {fitted}"
        f" UNION ALL SELECT w.visit_id, b.held FROM b{number} b {welded}) x GROUP BY visit",
        [],
    )


def _columns(sort: int, numbers: str, at: str, texts: Sequence[str]) -> str:
    rest = [*texts, *("CAST(NULL AS text)" for _ in range(_TEXTS - len(texts)))]
    return f"SELECT {sort}, {numbers}, {at}, {', '.join(rest)}"


def _axles() -> Part:
    """`axles`: every axle that is touched, where it stands and where it was sent."""
    own = {
        "gone": "COALESCE(s.shipped_at, a.closed_at)", "mark": "i.mark", "phase": "a.phase", "line": "a.line_id",
        "consignee": "s.consignee", "stands": STANDS,
    }  # fmt: skip
    tables = "builds_axle a JOIN shop_item i ON i.id = a.item_id LEFT JOIN builds_shipment s ON s.axle_id = a.item_id"
    key = gated("a.item_id", f"t.class IN ({HOST}, {AXLE}, {OTHER})", "t.item")
    named, each = for_each_named(tables, key, own)
    columns = ", ".join(named.values())
    return f"axles(held, item, {', '.join(own)})", f"SELECT t.held, t.item, {columns} FROM taken t {each}", []


def _orders() -> Part:
    """`orders`: of each line that an axle is of, once. Joined to the lines themselves, all of them would be read."""
    tables = "builds_line l JOIN builds_order o ON o.id = l.order_id JOIN shop_customer c ON c.id = o.customer_id"
    named, each = for_each_named(tables, "l.id = lines.line", {"number": "o.number", "customer": "c.name"})
    lines = "(SELECT DISTINCT line FROM axles) lines"
    return "orders(line, number, customer)", f"SELECT lines.line, {', '.join(named.values())} FROM {lines} {each}", []


def _with_orders() -> str:
    texts = ("axles.mark", "axles.phase", "o.number", "o.customer", "axles.consignee", "axles.stands")
    columns = _columns(AXLES, f"axles.held, axles.item, {_NONE}, {_NONE}", "axles.gone", texts)
    return f"{columns} FROM axles JOIN orders o ON o.line = axles.line"


def _alone() -> Part:
    """`alone`: what is listed by itself, for it lies in no host that is listed for it. Asked thing by thing: as a join
    it would be a look through all places."""
    where = '(SELECT p."where" FROM shop_place p WHERE p.item_id = t.item)'
    unit = "(SELECT u.axle_id FROM builds_unit u WHERE u.item_id = t.item)"
    axle = f"CASE WHEN t.class IN ({HOST}, {UNIT}, {OTHER}) THEN {unit} END"
    return (
        "alone(held, item)",
        f"SELECT t.held, t.item FROM taken t WHERE t.held <> {FORMER} AND t.class NOT IN ({HEAT}, {AXLE})"
        f" AND {axle} IS NULL AND COALESCE({where}, '') NOT IN {_LISTED_BY_HOST}",
        [],
    )


def _things() -> str:
    texts = [
        "i.mark", "i.kind", "i.sort", 'p."where"', "p.note", "h.mark", "u.role", "u.side",
        _KITS.format(joined=spelling().joined),
    ]  # fmt: skip
    tables = (
        "shop_item i LEFT JOIN shop_place p ON p.item_id = i.id LEFT JOIN shop_item h ON h.id = p.host_id"
        " LEFT JOIN builds_unit u ON u.item_id = i.id"
    )
    names = ["mark", "kind", "sort", "place", "note", "host", "role", "side", "kits"]
    named, each = for_each_named(
        tables, f"i.id = t.item AND i.kind NOT IN {_NOT_LISTED}", dict(zip(names, texts, strict=True))
    )
    select = _columns(THINGS, f"t.held, t.item, {_NONE}, {_NONE}", _NEVER, list(named.values()))
    return f"{select} FROM alone t {each}"


_SOURCE = (
    " JOIN shop_item i ON i.id = {source} LEFT JOIN shop_place p ON p.item_id = i.id LEFT JOIN shop_item h"
    " ON h.id = p.host_id LEFT JOIN builds_unit u ON u.item_id = i.id LEFT JOIN shop_item n ON n.id = u.axle_id"
)
_SOURCE_TEXTS = {
    "mark": "i.mark", "kind": "i.kind", "sort": "i.sort", "place": 'p."where"', "note": "p.note", "holder": "h.mark",
    "role": "u.role", "side": "u.side", "now_in": "n.mark",
}  # fmt: skip


def _fittings() -> str:
    """Those that are over: what came out, of which host, and where it went."""
    tables = (
        "builds_fitted f JOIN builds_removal m ON m.fitted_id = f.id JOIN shop_item j ON j.id = f.host_id"
        + _SOURCE.format(source="f.part_id")
    )
    texts = _SOURCE_TEXTS | {"host_kind": "j.kind", "went": 'm."to"', "said": "m.note"}
    return _overs(tables, "f.id = gone.over", ("f.part_id", "f.host_id", "f.axle_id", "m.at"), texts)


def _stays() -> str:
    """The stays of units in axles that are over."""
    tables = "builds_parted s" + _SOURCE.format(source="s.unit_id")
    texts = _SOURCE_TEXTS | {"host_kind": "'axle'"}
    return _overs(tables, "s.id = -gone.over", ("s.unit_id", "s.axle_id", _NONE, "s.at"), texts)


def _overs(tables: str, where: str, keys: tuple[str, str, str, str], texts: dict[str, str]) -> str:
    own = dict(zip(("source", "target", "axle", "until"), keys, strict=True)) | texts
    named, each = for_each_named(tables, where, own)
    source, target, axle, until, *rest = named.values()
    return f"{_columns(OVERS, f'gone.over, {source}, {target}, {axle}', until, rest)} FROM gone {each}"
