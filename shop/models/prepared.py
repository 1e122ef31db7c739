"""Queries built once and run many times, for the paths that every reading and every page takes.

Turning query objects into SQL costs several times what the database needs to answer, and on these paths the text is
always the same. The rows come back as the queryset would give them: joined rows, left-out columns and converted
values alike.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Generic, TypeVar

from django.db import DEFAULT_DB_ALIAS, connections, models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import F, Q, QuerySet
from django.db.models.base import ModelState
from django.db.models.expressions import Expression
from psycopg.types.numeric import Int8

from shop.models.fields import ExactField
from shop.models.hot_cursor import hot_cursor

Row = TypeVar("Row", bound=models.Model)
Column = Sequence[Any]
#: As Django has them: the value, what was asked for, and the connection.
Convert = Callable[[Any, Any, BaseDatabaseWrapper], Any]


class Blank(Expression):
    """A place in a statement for a value that is known only when it is run."""

    def __init__(self, name: str, field: models.Field[Any, Any]) -> None:
        super().__init__(output_field=field)
        self.name = name

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, tuple[Any, ...]]:
        return "%s", (self,)

    def given(self, value: Any, connection: BaseDatabaseWrapper) -> Any:
        """The value as the database takes it."""
        return self.output_field.get_db_prep_value(value, connection)


class Among(Expression):
    """Whether a column holds one of some keys, known only when the statement is run: one text for any number."""

    conditional = True

    def __init__(self, column: str, name: str) -> None:
        super().__init__(output_field=models.BooleanField())
        self.column: Any = F(column)
        self.name = name

    def get_source_expressions(self) -> list[Any]:
        return [self.column]

    def set_source_expressions(self, exprs: Sequence[Any]) -> None:
        (self.column,) = exprs

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, tuple[Any, ...]]:
        column, params = compiler.compile(self.column)
        return f"{column} {one_of(connection)}", (*params, self)

    def given(self, value: Sequence[int], connection: BaseDatabaseWrapper) -> Any:
        return keys_given(value, connection)


def one_of(connection: Any) -> str:
    """What stands behind a column that shall be one of some keys, given as one value by `keys_given`."""
    return "IN (SELECT value FROM json_each(%s))" if connection.vendor == "sqlite" else "= ANY(%s)"


def keys_given(keys: Sequence[int], connection: Any) -> Any:
    return json.dumps(list(keys)) if connection.vendor == "sqlite" else [Int8(key) for key in keys]


def among(column: str, name: str) -> Q:
    """For a filter: the column is one of the keys that are given by this name."""
    return Q(Among(column, name))


def text(name: str) -> Blank:
    return Blank(name, models.CharField())


def number(name: str) -> Blank:
    return Blank(name, models.BigIntegerField())


def on(name: str) -> Blank:
    return Blank(name, models.DateField())


def moment(name: str) -> Blank:
    return Blank(name, models.DateTimeField())


Kept = TypeVar("Kept", "_Objects", "_Values")


def _kept(owner: object, make: Callable[[BaseDatabaseWrapper], Kept]) -> Kept:
    """What was compiled at the first use on a connection: kept with it, which one thread has, and gone with it."""
    here = connections[DEFAULT_DB_ALIAS]
    kept = here.__dict__.setdefault("prepared_statements", {})
    if owner not in kept:
        kept[owner] = make(here)
    found: Kept = kept[owner]
    return found


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
        return _kept(self, lambda here: _Objects(self._build(), here)).rows(values)

    def one(self, **values: Any) -> Row:
        """The only row. LookupError when there is none."""
        rows = self.all(**values)
        if not rows:
            raise LookupError(f"No row for {values}.")
        return rows[0]

    def first(self, **values: Any) -> Row | None:
        """The first row; the queryset says by its own slice how many are fetched."""
        return next(iter(self.all(**values)), None)


class PreparedValues:
    """The same for a queryset of `values_list`: plain rows, for pages that show many."""

    def __init__(self, build: Callable[[], QuerySet[Any, Any]]) -> None:
        self._build = build

    def all(self, **values: Any) -> list[Any]:
        """Every row, in the queryset's order."""
        return _kept(self, lambda here: _Values(self._build(), here)).rows(values)


class _Values:
    """The statement of one queryset on one connection."""

    def __init__(self, rows: QuerySet[Any, Any], here: BaseDatabaseWrapper) -> None:
        self.here = here
        self.compiler: Any = rows.query.get_compiler(connection=here)
        self.sql, self.params = self.compiler.as_sql()
        converters = self.compiler.get_converters([column[0] for column in self.compiler.select])
        self.converting = [(place, _converting(how, asked, here)) for place, (how, asked) in converters.items()]

    def rows(self, values: dict[str, Any]) -> list[Any]:
        given = [
            value.given(values[value.name], self.here) if isinstance(value, (Blank, Among)) else value
            for value in self.params
        ]
        with hot_cursor(self.here) as cursor:
            cursor.execute(self.sql, given)
            found = cursor.fetchall()
        return self._converted(found) if found and self.converting else found

    def _converted(self, found: Sequence[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
        """Column by column: measured, a walk through the converters at every row costs as much as the database."""
        columns: list[Sequence[Any]] = list(zip(*found, strict=True))
        for place, convert in self.converting:
            columns[place] = convert(columns[place])
        return list(zip(*columns, strict=True))


#: Fields whose values are few or often the same, and never changed by who gets them: each is converted once.
_SHARED = (models.BooleanField, ExactField)


def _converting(converters: Sequence[Convert], asked: Any, here: BaseDatabaseWrapper) -> Callable[[Column], Column]:
    """How all values of one column become what their field gives."""

    def one(value: Any) -> Any:
        for convert in converters:
            value = convert(value, asked, here)
        return value

    def shared(column: Column) -> Column:
        made = {value: one(value) for value in set(column)}
        return [made[value] for value in column]

    def in_utc(column: Column) -> Column:
        """As SQLite gives moments, in UTC without saying so: Django's own way asks six questions of each."""
        return [
            value.replace(tzinfo=UTC) if isinstance(value, datetime) and value.tzinfo is None else one(value)
            for value in column
        ]

    if isinstance(asked.output_field, _SHARED):
        return shared
    if list(converters) == [getattr(here.ops, "convert_datetimefield_value", None)] and here.timezone is UTC:
        return in_utc
    return lambda column: [one(value) for value in column]


class _Objects(_Values):
    """And how a row of it becomes an object."""

    def __init__(self, rows: QuerySet[Any], here: BaseDatabaseWrapper) -> None:
        super().__init__(rows, here)
        self.making = _making(self.compiler.klass_info, self.compiler.select)
        self.worked_out = self.compiler.annotation_col_map

    def rows(self, values: dict[str, Any]) -> list[Any]:
        alias, made = self.here.alias, []
        for row in super().rows(values):
            one = self.making.made(row, alias)
            for name, place in self.worked_out.items():
                setattr(one, name, row[place])
            made.append(one)
        return made


@dataclass(frozen=True)
class _Making:
    """How some columns of a row become an object, and the next columns the objects that it points at.

    Measured: a model's own way tells each field of each object its value and asks who wants to know; here the columns
    are known to be what they were read as.
    """

    model: type[models.Model]
    names: tuple[str, ...]
    columns: slice
    key: int
    joined: tuple[_Joined, ...]

    def made(self, row: Sequence[Any], alias: str) -> models.Model:
        one = self.model.__new__(self.model)
        state = one._state = ModelState()
        state.adding, state.db = False, alias
        one.__dict__.update(zip(self.names, row[self.columns], strict=True))
        for joined in self.joined:
            joined.put(one, row, alias)
        return one


@dataclass(frozen=True)
class _Joined:
    """An object beside another, known from both sides as `select_related` makes them."""

    making: _Making
    here: Callable[[models.Model, models.Model | None], None]
    there: Callable[[models.Model, models.Model], None]

    def put(self, beside: models.Model, row: Sequence[Any], alias: str) -> None:
        if row[self.making.key] is None:
            self.here(beside, None)
            return
        one = self.making.made(row, alias)
        self.here(beside, one)
        self.there(one, beside)


def _making(info: dict[str, Any], select: Sequence[Any]) -> _Making:
    model, own = info["model"], info["select_fields"]
    if any({"__init__", "from_db"} & vars(one).keys() for one in model.__mro__ if one not in (models.Model, object)):
        raise TypeError(f"{model.__name__} is made in a way of its own: ask for it by its queryset")
    names = tuple(select[place][0].target.attname for place in own)
    key = own[names.index(model._meta.pk.attname)]
    joined = tuple(
        _Joined(_making(other, select), other["local_setter"], other["remote_setter"])
        for other in info.get("related_klass_infos", ())
    )
    return _Making(model, names, slice(own[0], own[-1] + 1), key, joined)
