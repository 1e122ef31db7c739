"""What one cause touches, and from when until when, walked by the database: the beginning of a statement.

The same walk as in `walking.py`, which follows single edges and so can tell the ways; this one gives the set only, many
times as fast. A test holds them against each other, and others hold both against a walk over objects.

Each step looks only where a thing of its class can lead: `CASE WHEN ... END` is no key at all for the others, and an
index is not even asked for it. On PostgreSQL every step is tied to one thing by LATERAL, so that no table is read from
end to end, whatever the planner thinks of how many things there are.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.db import connection

from builds.reports.reach.cause import Between, Cause
from builds.reports.reach.spelling import for_each, gated, spelling
from builds.reports.reach.statements import Values, during, ids_of
from builds.reports.reach.work import worked

#: Classes of things, as far as the walk must know. A host is whatever parts go into: an axle, a unit, a part.
HOST, HEAT, PIECE, PART, LOT, DRUM, UNIT, AXLE, OTHER = range(9)
_KINDS = {"heat": HEAT, "piece": PIECE, "part": PART, "lot": LOT, "drum": DRUM, "unit": UNIT, "axle": AXLE}
#: How surely, as in `walking.Held`.
DOUBT, FORMER, NOW = range(3)
#: What a row of the walk comes of: the roots; what only may be of the melt; above that, a name given to a melt before
#: anything of it was cut; below nought, the pieces of a melt that has such names.
_SURE, _MAY = 0, 1
_NOT_OVER = "CAST(0 AS bigint)"


@dataclass(frozen=True)
class Way:
    """One way onward from things of some classes. `key` names the row, should it have ended: a fitting by its own, a
    unit's stay by its own below nought."""

    table: str
    source: str
    target: str
    onward: str
    classes: tuple[int, ...]
    at: str = ""
    until: str = ""
    #: It ended when there is a removal of it; `until` is a column of that.
    removed: bool = False
    key: str = _NOT_OVER
    where: str = ""
    when: str = ""


_FITTED = Way(
    "builds_fitted", "part_id", "host_id", f"CASE WHEN e.host_id = e.axle_id THEN {AXLE} ELSE {HOST} END",
    (HOST, PIECE, PART, LOT, DRUM, UNIT, OTHER), "e.at", "m.at", True, "e.id", when="at",
)  # fmt: skip
_WELDED = Way("builds_weld", "wire_id", "item_id", str(HOST), (PART, LOT, DRUM, OTHER), "e.ended_at", when="ended_at")
#: The edges of `statements.EDGES`, as the walk takes them.
_WAYS = (
    Way("shop_piece", "heat_id", "item_id", str(PIECE), (HEAT,)),
    Way("shop_part", "heat_id", "item_id", str(PART), (HEAT,)),
    Way("shop_piece", "parent_id", "item_id", str(PIECE), (PIECE,)),
    Way("shop_drum", "lot_id", "item_id", str(DRUM), (LOT,)),
    _FITTED,
    _WELDED,
    Way("builds_unit", "item_id", "axle_id", str(AXLE), (HOST, UNIT), "e.joined_at", where=" AND e.axle_id > 0"),
    Way(
        "builds_parted", "unit_id", "axle_id", str(AXLE), (HOST, UNIT), "e.since", "e.at", key="-e.id",
        where=" AND NOT e.withdrawn",
    ),
)  # fmt: skip
Part = tuple[str, str, Values]


def touched(cause: Cause, name: str, *, with_visits: bool = False) -> list[Part]:
    """Named parts of a statement, each with what stands in its brackets and its values. After them `t<name>` has
    (item, begun, ended, over, class) of every way to every thing that is surely touched, and `b<name>` (item, held,
    class) once for each thing, the doubtful included.

    `with_visits`: work of one's own has also `d<name>` (item, visit, at).
    """
    return [*_begun(cause, name, with_visits=with_visits), _named(cause, name), _walked(cause, name),
            *_counted(cause, name)]  # fmt: skip


def _begun(cause: Cause, name: str, *, with_visits: bool) -> Iterator[Part]:
    """`s`: where the walk begins, from when on, and of which class."""
    say = spelling()
    if cause.is_thing:
        ids, values = ids_of(cause.ids)
        begin = f"SELECT item, {say.ever} AS begun FROM ({ids}) given"
    else:
        sql, values = worked(cause)
        if with_visits:
            yield f"d{name}(item, visit, at)", sql, values
            sql, values = f"SELECT item, visit, at FROM d{name}", []
        begin = f"SELECT item, COALESCE(MIN(at), {say.ever}) AS begun FROM ({sql}) had GROUP BY item"
    cases = " ".join(f"WHEN '{kind}' THEN {number}" for kind, number in _KINDS.items())
    known = f"CASE (SELECT i.kind FROM shop_item i WHERE i.id = b.item) {cases} ELSE {OTHER} END"
    yield f"s{name}(item, begun, class)", f"SELECT b.item, b.begun, {known} FROM ({begin}) b", values


def _named(cause: Cause, name: str) -> Part:
    """`a`: what melts were named for; where a piece of the melt went in since, that decides and not the name."""
    parts, values = [], []
    for way in (_FITTED, _WELDED):
        step = _from(way, cause.between, "start", f"start.class = {HEAT}")
        values += step.values
        if connection.vendor == "sqlite":
            parts.append(
                f"SELECT start.item AS melt, start.begun, {step.columns()} FROM s{name} start CROSS JOIN {step.tables}"
                f" WHERE {step.where}"
            )
        else:
            parts.append(
                f"SELECT start.item AS melt, start.begun, x.* FROM s{name} start"
                f" CROSS JOIN LATERAL ({step.alone()} OFFSET 0) x"
            )
    head = f"a{name}(name, melt, begun, item, at, until, row_key, class)"
    return head, f"SELECT {_MAY} + ROW_NUMBER() OVER (), named.* FROM ({' UNION ALL '.join(parts)}) named", values


def _walked(cause: Cause, name: str) -> Part:
    """`w`: every way in time from every root."""
    say = spelling()
    begins = [
        f"SELECT CAST({_SURE} AS bigint) AS root, item, begun, {say.never} AS ended, {_NOT_OVER} AS over, class"
        f" FROM s{name}",
        f"SELECT name, item, {say.later}(begun, at), until, {_over('until', 'row_key')}, class FROM a{name}"
        f" WHERE begun <= until",
        *(
            f"SELECT -melts.melt, e.item_id, {say.ever}, {say.never}, {_NOT_OVER}, {onward}"
            f" FROM (SELECT DISTINCT melt FROM a{name}) melts {for_each(f'{table} e', 'e.heat_id = melts.melt', 'e')}"
            for table, onward in (("shop_piece", PIECE), ("shop_part", PART))
        ),
    ]
    doubtful, values = _doubtful(cause, name)
    walk, more = _onward(cause.between, f"w{name}")
    begin = " UNION ALL ".join([*begins, *doubtful])
    return f"w{name}(root, item, begun, ended, over, class)", f"SELECT * FROM ({begin}) begin {walk}", [*values, *more]


def _doubtful(cause: Cause, name: str) -> tuple[list[str], Values]:
    """What may be of the melt but cannot be proven."""
    say, values = spelling(), list(cause.parts_of)
    found = f"SELECT {_MAY}, e.item_id, {say.ever}, {say.never}, {_NOT_OVER}, {{}} FROM {{}}"
    unknown = f" WHERE e.heat_id IS NULL AND e.item_id NOT IN (SELECT item FROM s{name})"
    parts = [found.format(PIECE, "shop_piece e") + unknown] if cause.steel else []
    if values:
        kinds = ", ".join("%s" for _ in values)
        parts.append(
            found.format(PART, "shop_part e JOIN shop_partkind k ON k.id = e.kind_id")
            + f"{unknown} AND k.code IN ({kinds})"
        )
    return parts, values


def _counted(cause: Cause, name: str) -> Iterator[Part]:
    """`t`: without the names that lapsed; `b`: the surest of a thing's ways, whether it is so, was so or may be so."""
    yield (
        f"l{name}(name)",
        f"SELECT given.name FROM a{name} given WHERE EXISTS"
        f" (SELECT 1 FROM w{name} was WHERE was.root = -given.melt AND was.item = given.item)",
        [],
    )
    counts = f"(root = {_SURE} OR (root > {_MAY} AND root NOT IN (SELECT name FROM l{name})))"
    yield (
        f"t{name}(item, begun, ended, over, class)",
        f"SELECT item, begun, ended, over, class FROM w{name} WHERE {counts}",
        [],
    )
    held = f"CASE WHEN ended = {spelling().never} THEN {NOW} ELSE {FORMER} END"
    every = f"SELECT item, {held} AS held, class FROM t{name}"
    if cause.steel or cause.parts_of:
        every += f" UNION ALL SELECT item, {DOUBT}, class FROM w{name} WHERE root = {_MAY}"
    yield f"b{name}(item, held, class)", f"SELECT item, MAX(held), MIN(class) FROM ({every}) x GROUP BY item", []


def _onward(between: Between, walk: str) -> tuple[str, Values]:
    """The steps of the recursion. SQLite takes them one after another; PostgreSQL allows the walk in one place only."""
    where = [f"was.class IN ({', '.join(map(str, way.classes))})" for way in _WAYS]
    steps = [_from(way, between, "was", of_class) for way, of_class in zip(_WAYS, where, strict=True)]
    values = [value for step in steps for value in step.values]
    if connection.vendor == "sqlite":
        return " ".join(f"UNION {_further(step, f'{walk} was')}" for step in steps), values
    every = " UNION ALL ".join(step.alone() for step in steps)
    one = _Step("x.item", "x.at", "x.until", "x.row_key", "x.class", f"CROSS JOIN LATERAL ({every}) x", "1 = 1", [])
    return f"UNION {_further(one, f'{walk} was')}", values


@dataclass(frozen=True)
class _Step:
    """What one step gives, as expressions over `tables`, which stand behind the source of the step."""

    item: str
    at: str
    until: str
    row_key: str
    onward: str
    tables: str
    where: str
    values: Values

    def columns(self) -> str:
        return (
            f"{self.item} AS item, {self.at} AS at, {self.until} AS until, {self.row_key} AS row_key,"
            f" {self.onward} AS class"
        )

    def alone(self) -> str:
        """For LATERAL: its rows for one row of the source."""
        return f"SELECT {self.columns()} FROM {self.tables} WHERE {self.where}"


def _from(way: Way, between: Between, alias: str, of_class: str) -> _Step:
    say, here = spelling(), connection.vendor == "sqlite"
    narrowed, values = during(f"e.{way.when}", between) if way.when else ("", [])
    ended, tables = way.until, f"{way.table} e"
    if way.removed and here:
        tables += " LEFT JOIN builds_removal m ON m.fitted_id = e.id"
    elif way.removed:
        ended = f"(SELECT {ended} FROM builds_removal m WHERE m.fitted_id = e.id)"
    meets = gated(f"e.{way.source}", of_class, f"{alias}.item")
    return _Step(
        f"e.{way.target}",
        f"COALESCE({way.at}, {say.ever})" if way.at else say.ever,
        f"COALESCE({ended}, {say.never})" if ended else say.never,
        way.key,
        way.onward,
        tables,
        f"{meets}{way.where}{narrowed}",
        values,
    )


def _further(step: _Step, source: str) -> str:
    say = spelling()
    begun, ended = f"{say.later}(was.begun, {step.at})", f"{say.sooner}(was.ended, {step.until})"
    tables = f"CROSS JOIN {step.tables}" if connection.vendor == "sqlite" else step.tables
    return (
        f"SELECT was.root, {step.item}, {begun}, {ended}, {_over(step.until, step.row_key)}, {step.onward}"
        f" FROM {source} {tables} WHERE {step.where} AND {begun} <= {ended}"
    )


def _over(until: str, key: str) -> str:
    """The row by which it ended, or nought."""
    return f"CASE WHEN {until} < {spelling().never} THEN {key} ELSE {_NOT_OVER} END"
