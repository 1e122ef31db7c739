"""What the database itself refuses, whoever asks: said once here, in words both databases understand.

A guard belongs to one table and is a refusal with a condition for each of insert, update and delete.
Conditions are SQL that SQLite and PostgreSQL both read, over ``NEW`` and ``OLD``; table and column names are
the database's own. Guards are declared in an app's ``AppConfig.ready`` and laid down by
``shop.record.triggers`` after every migration.

    append_only("measurements.Reading")
    frozen_when("builds.Revision", when="OLD.state <> 'draft'", may_change=("retired_at",))
    closed_when(
        "builds.Fitted",
        when="EXISTS (SELECT 1 FROM builds_closing c WHERE c.axle_id = {row}.axle_id)",
        lock="SELECT 1 FROM builds_axle a WHERE a.id = {row}.axle_id FOR SHARE",
    )
"""

from __future__ import annotations

from dataclasses import dataclass

from django.apps import apps
from django.db import models

ALWAYS = "1 = 1"


@dataclass(frozen=True)
class Guard:
    """One table's refusals. An empty condition means that the statement is not guarded."""

    model: str
    name: str
    says: str
    insert: str = ""
    update: str = ""
    delete: str = ""
    #: PostgreSQL only: a query with ``{row}`` that holds, until the transaction ends, the row on which the
    #: condition depends. SQLite has one writer at a time and needs none.
    lock: str = ""
    #: Columns that may still change; an update that leaves all others alone is let through.
    may_change: tuple[str, ...] = ()
    #: Refuse a second insert under a key already used: INSERT OR REPLACE would delete the first one unseen.
    keeps_keys: bool = False

    @property
    def app_label(self) -> str:
        return self.model.partition(".")[0]

    @property
    def table(self) -> str:
        return _model(self.model)._meta.db_table

    def condition(self, statement: str) -> str:
        """The SQL condition under which ``statement`` (insert, update or delete) is refused; empty for
        never."""
        said = {"insert": self.insert, "update": self.update, "delete": self.delete}[statement]
        if statement == "update" and said and self.may_change:
            return f"({said}) AND ({self._other_column_changed()})"
        return said

    def key_columns(self) -> list[tuple[str, ...]]:
        """The column sets that name a row: primary key, unique columns, and unconditional unique
        constraints."""
        meta = _model(self.model)._meta
        found: list[tuple[str, ...]] = [(_column(field),) for field in meta.concrete_fields if field.unique]
        for constraint in meta.constraints:
            if isinstance(constraint, models.UniqueConstraint) and constraint.condition is None and constraint.fields:
                found.append(tuple(_column(meta.get_field(name)) for name in constraint.fields))
        return found

    @property
    def changing_columns(self) -> tuple[str, ...]:
        """The columns that may still change."""
        meta = _model(self.model)._meta
        return tuple(_column(meta.get_field(name)) for name in self.may_change)

    def _other_column_changed(self) -> str:
        meta = _model(self.model)._meta
        allowed = set(self.changing_columns)
        others = [field.column for field in meta.concrete_fields if field.column not in allowed]
        return " OR ".join(f'OLD."{column}" IS DISTINCT FROM NEW."{column}"' for column in others)


def _column(field: object) -> str:
    if not isinstance(field, models.Field) or field.column is None:
        raise TypeError(f"{field} is not a column")
    return str(field.column)


def _model(label: str) -> type[models.Model]:
    return apps.get_model(label)


_declared: dict[str, Guard] = {}


def declared() -> tuple[Guard, ...]:
    """Every guard of the installed apps, by name."""
    return tuple(_declared[name] for name in sorted(_declared))


def declare(guard: Guard) -> None:
    """Add a guard; the same name for something else is a mistake of the programmer."""
    known = _declared.setdefault(guard.name, guard)
    if known != guard:
        raise ValueError(f"two guards are called {guard.name}")


def append_only(model: str, *, may_change: tuple[str, ...] = ()) -> None:
    """Rows come and stay: no update (``may_change`` apart), no delete, no truncate, no replacing insert."""
    declare(
        Guard(
            model,
            name=f"{_word(model)}_append_only",
            says=f"{_noun(model)} is append-only: a row is never changed or taken out",
            update=ALWAYS,
            delete=ALWAYS,
            may_change=may_change,
            keeps_keys=True,
        )
    )


def frozen_when(model: str, *, when: str, may_change: tuple[str, ...] = (), name: str = "", says: str = "") -> None:
    """A row on which ``when`` (over ``OLD``) holds is neither changed (``may_change`` apart) nor taken
    out."""
    declare(
        Guard(
            model,
            name=name or f"{_word(model)}_frozen",
            says=says or f"{_noun(model)} is frozen: it can no longer be changed or taken out",
            update=when,
            delete=when,
            may_change=may_change,
        )
    )


def closed_when(model: str, *, when: str, lock: str = "", name: str = "", says: str = "") -> None:
    """No row comes, changes, goes or moves while ``when`` holds; ``{row}`` stands for the row in question.

    ``lock`` selects the row on which ``when`` depends, with FOR SHARE: without it an insert could pass the
    check just before the closing commits.
    """
    new, old = when.replace("{row}", "NEW"), when.replace("{row}", "OLD")
    declare(
        Guard(
            model,
            name=name or f"{_word(model)}_closed",
            says=says or f"{_noun(model)} is closed: nothing comes, changes or goes any more",
            insert=new,
            update=f"({old}) OR ({new})",
            delete=old,
            lock=lock,
        )
    )


def no_more_when(model: str, *, when: str, lock: str = "", name: str = "", says: str = "") -> None:
    """No row is added while ``when`` holds: for tables whose rows are append-only besides."""
    declare(
        Guard(
            model,
            name=name or f"{_word(model)}_no_more",
            says=says or f"{_noun(model)} is closed: nothing is added any more",
            insert=when.replace("{row}", "NEW"),
            lock=lock,
        )
    )


def _word(model: str) -> str:
    return model.replace(".", "_").lower()


def _noun(model: str) -> str:
    return model.rpartition(".")[2].lower()
