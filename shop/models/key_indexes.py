"""A reference whose index another one of its table stands in for: the migration that takes the index away.

Django's own change of `db_index` makes the whole table anew on SQLite, which its guards would have to be lifted for;
an index can be dropped by itself on both databases.
"""

from __future__ import annotations

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState
from django.db.models import Index, Model


class DropKeyIndex(Operation):
    """Takes the index of the foreign key `name` of `model_name`, which is `db_index=False` from then on."""

    reversible = True
    reduces_to_sql = True

    def __init__(self, model_name: str, name: str) -> None:
        self.model_name, self.name = model_name, name

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        field = state.models[app_label, self.model_name.lower()].fields[self.name].clone()
        field.db_index = False
        state.alter_field(app_label, self.model_name.lower(), self.name, field, True)

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: ProjectState, to_state: ProjectState
    ) -> None:
        model = from_state.apps.get_model(app_label, self.model_name)
        if self.allow_migrate_model(schema_editor.connection.alias, model):
            schema_editor.remove_index(model, key_index(schema_editor, model, self.name))

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: ProjectState, to_state: ProjectState
    ) -> None:
        model = to_state.apps.get_model(app_label, self.model_name)
        if self.allow_migrate_model(schema_editor.connection.alias, model):
            schema_editor.add_index(model, key_index(schema_editor, model, self.name))

    def describe(self) -> str:
        return f"Drop the index of {self.model_name}.{self.name}, which another one stands in for"


def key_index(schema_editor: BaseDatabaseSchemaEditor, model: type[Model], name: str) -> Index:
    """The index that Django lays down for a foreign key by itself, by the name that it gives to it."""
    _, column = model._meta.get_field(name).get_attname_column()  # type: ignore[union-attr]
    given: str = schema_editor._create_index_name(model._meta.db_table, [column])  # type: ignore[attr-defined]
    return Index(fields=[name], name=given)
