"""The record: ledger, signatures, submission keys, the job table and stored bytes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.apps import AppConfig
from django.core.checks import Tags, register
from django.db import connections
from django.db.models.signals import post_migrate, pre_migrate

from shop.record import checks, guards, triggers


class RecordConfig(AppConfig):
    name = "shop.record"
    label = "record"
    verbose_name = "Record"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        for model in ("record.Event", "record.Leaf", "record.Checkpoint", "record.Signature", "record.Blob"):
            guards.append_only(model)
        guards.declare(
            guards.Guard(
                "record.Submission",
                name="record_submission_kept",
                says="a submission is kept as it was answered",
                update="OLD.result IS NOT NULL OR NEW.key <> OLD.key OR NEW.fingerprint <> OLD.fingerprint",
                delete=guards.ALWAYS,
                keeps_keys=True,
            )
        )
        guards.frozen_when("record.SigningKey", when="OLD.valid_to IS NOT NULL", name="record_signingkey_ended")
        guards.frozen_when(
            "record.SigningKey", when=guards.ALWAYS, may_change=("valid_to",), name="record_signingkey_kept"
        )
        guards.declare(
            guards.Guard(
                "record.Head",
                name="record_head_forward",
                says="a chain only grows: its head moves forward by one event at a time",
                update="NEW.subject <> OLD.subject OR NEW.sequence <> OLD.sequence + 1",
                delete=guards.ALWAYS,
                keeps_keys=True,
            )
        )
        pre_migrate.connect(lift, dispatch_uid="record-guards")
        post_migrate.connect(lay_down, dispatch_uid="record-guards")
        register(checks.guards_lie_there, Tags.database)
        register(checks.connection_is_safe, Tags.database)


def lift(sender: AppConfig, using: str, plan: Sequence[Any], **_: Any) -> None:
    """Before a migration on SQLite, which alters a table by making it anew: as it lets the old one go, every guard
    that names it is an error. Nobody else writes meanwhile (SQLite has one writer), and should the migration fail,
    the check and `verify` name the missing guards until it is run again. PostgreSQL keeps its guards throughout."""
    if sender.label == RecordConfig.label and plan and connections[using].vendor == "sqlite":
        triggers.lift(using)


def lay_down(sender: AppConfig, using: str, **_: Any) -> None:
    """After a migration, because SQLite drops triggers whenever it makes a table anew."""
    triggers.install(using, sender.label)
