"""Queries built once and run many times, for the paths that every reading and every page takes.

Turning query objects into SQL costs several times what the database needs to answer, and on these paths the text is
always the same. The rows come back as the queryset would give them: joined rows, left-out columns and converted
values alike.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Generic, TypeVar

from django.db import DEFAULT_DB_ALIAS, connections, models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import QuerySet
from django.db.models.expressions import Expression
from django.db.models.query import get_related_populators

from shop.models.hot_cursor import hot_cursor

Row = TypeVar("Row", bound=models.Model)


class Blank(Expression):
    """A place in a statement for a value that is known only when it is run."""

    def __init__(self, name: str, field: models.Field[Any, Any]) -> None:
        super().__init__(output_field=field)
        self.name = name

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, tuple[Any, ...]]:
        return "%s", (self,)


def text(name: str) -> Blank:
    return Blank(name, models.CharField())


def number(name: str) -> Blank:
    return Blank(name, models.BigIntegerField())


def on(name: str) -> Blank:
    return Blank(name, models.DateField())


def moment(name: str) -> Blank:
    return Blank(name, models.DateTimeField())


class Prepared(Generic[Row]):
    """A queryset with blanks, compiled at its first use on a connection.

        GAUGE = Prepared(lambda: Gauge.objects.filter(item__mark=text("mark")).select_related("item"))
        GAUGE.all(mark="G-042")

    Only for one statement without prefetches. It keeps the text of the statement and nothing that was read.
    """

    def __init__(self, build: Callable[[], QuerySet[Row]]) -> None:
        self._build = build

    def all(self, **values: Any) -> list[Row]:
        """Every row, in the queryset's order."""
        here = connections[DEFAULT_DB_ALIAS]
        # Kept with the connection, which belongs to one thread, and gone with it.
        kept: dict[Prepared[Any], _Compiled] = here.__dict__.setdefault("prepared_statements", {})
        if self not in kept:
            kept[self] = _Compiled(self._build(), here)
        return kept[self].rows(values)

    def one(self, **values: Any) -> Row:
        """The only row. LookupError when there is none."""
        rows = self.all(**values)
        if not rows:
            raise LookupError(f"No row for {values}.")
        return rows[0]

    def first(self, **values: Any) -> Row | None:
        """The first row; the queryset says by its own slice how many are fetched."""
        return next(iter(self.all(**values)), None)


class _Compiled:
    """The statement of one queryset on one connection, and how a row of it becomes an object."""

    def __init__(self, rows: QuerySet[Any], here: BaseDatabaseWrapper) -> None:
        self.here = here
        self.compiler: Any = rows.query.get_compiler(connection=here)
        self.sql, self.params = self.compiler.as_sql()
        own = self.compiler.klass_info["select_fields"]
        self.own = slice(own[0], own[-1] + 1)
        self.model: type[models.Model] = self.compiler.klass_info["model"]
        self.names = [column[0].target.attname for column in self.compiler.select[self.own]]
        self.converters = self.compiler.get_converters([column[0] for column in self.compiler.select])
        self.joined = get_related_populators(self.compiler.klass_info, self.compiler.select, here.alias)  # type: ignore[call-arg]

    def rows(self, values: dict[str, Any]) -> list[Any]:
        given = [
            value.output_field.get_db_prep_value(values[value.name], self.here) if isinstance(value, Blank) else value
            for value in self.params
        ]
        with hot_cursor(self.here) as cursor:
            cursor.execute(self.sql, given)
            found: Any = cursor.fetchall()
        made = []
        if self.converters:
            found = self.compiler.apply_converters(found, self.converters)
        for row in found:
            one = self.model.from_db(self.here.alias, self.names, row[self.own])
            for populator in self.joined:
                populator.populate(row, one)
            made.append(one)
        return made
