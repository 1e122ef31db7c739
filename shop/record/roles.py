"""Two database roles on PostgreSQL: the owner migrates, the shop's own role can only add to what is
append-only.

The guards stop a mistake and every statement that passes through the application. They do not stop who owns
the tables, because an owner may drop a trigger. So in real use the web server and the workers connect as a
role that owns nothing: it may read and add to the ledger and every other append-only table, never change,
empty or alter them; and it cannot touch the guards. Only the one-shot migration connects as the owner.

    manage.py app_role axlebook_app --apply --password-file FILE      (as the owner, after every migration)

Without --apply the grants are printed, for an administrator who makes the role and runs them by hand:
CREATE ROLE axlebook_app LOGIN PASSWORD '...'.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db import connections

from shop.record.guards import ALWAYS, Guard, declared

READ = "SELECT"
ADD = "SELECT, INSERT"
CHANGE = "SELECT, INSERT, UPDATE, DELETE"
NAME = re.compile(r"[a-z_][a-z0-9_]{0,62}")


def append_only_tables() -> frozenset[str]:
    """Tables on which every update (of some single column apart) and every delete is refused."""
    return frozenset(guard.table for guard in declared() if _adds_only(guard))


def _adds_only(guard: Guard) -> bool:
    return guard.update == guard.delete == ALWAYS and (guard.keeps_keys or not guard.may_change)


def login(role: str, password: str, using: str = "default") -> Any:
    """The statement that makes the role, or gives the one that is there this password. It owns nothing."""
    connection = connections[using]
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", [role])
        verb = "ALTER" if cursor.fetchone() else "CREATE"
        return cursor.mogrify(f'{verb} ROLE "{role}" LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE PASSWORD %s', [password])


def grants(role: str, using: str = "default") -> Iterator[str]:
    """The statements that give the role what it needs on the tables of this database, and take all else."""
    if not NAME.fullmatch(role):
        raise ValueError(f"{role!r} is no plain name for a role: small letters, digits and _")
    connection = connections[using]
    adds = append_only_tables()
    ours = {model._meta.db_table for model in apps.get_models(include_auto_created=True)}
    yield f'REVOKE ALL ON ALL TABLES IN SCHEMA public FROM "{role}"'
    yield f'REVOKE CREATE ON SCHEMA public FROM "{role}"'
    yield f'GRANT USAGE ON SCHEMA public TO "{role}"'
    for table in sorted(connection.introspection.table_names()):
        allowed = ADD if table in adds else CHANGE if table in ours else READ
        yield f'GRANT {allowed} ON "{table}" TO "{role}"'
    for guard in declared():
        if _adds_only(guard) and guard.may_change:
            columns = ", ".join(f'"{column}"' for column in guard.changing_columns)
            yield f'GRANT UPDATE ({columns}) ON "{guard.table}" TO "{role}"'
    yield f'GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO "{role}"'
