"""The shop's list of weld procedures: name, revision, process and the days they are in force."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from builds.models import WeldProcedure
from shop import entries
from shop.clock import shop_day
from shop.codes import normalise_mark
from shop.errors import Refusal
from shop.models import Role
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who


@dataclass(frozen=True)
class NewProcedure:
    code: str
    revision: str
    process: str
    title: str
    released_on: date


def add_procedure(*, procedure: NewProcedure, by: Who, now: datetime | None = None) -> WeldProcedure:
    """List a procedure that has been qualified outside this program; its substance stays in its own paper."""
    code = normalise_mark(procedure.code)
    revision = normalise_mark(procedure.revision)
    if not code or not revision or not procedure.title.strip():
        raise Refusal("A procedure needs its number, its revision and a title.", field="code")
    entries.day(procedure.released_on, "first day", field="released_on")
    process = entries.line(procedure.process, "process", longest=40)
    with act("procedure.listed", subject=f"procedure:{code}", by=by, now=now) as a:
        require_role(by, Role.ENGINEER, shop_day(a.now))
        if WeldProcedure.objects.filter(code=code, revision=revision).exists():
            raise Refusal(f"{code} rev {revision} is listed already.", field="revision")
        return a.create(
            WeldProcedure,
            code=code,
            revision=revision,
            process=process,
            title=procedure.title.strip(),
            released_on=procedure.released_on,
        )


def withdraw_procedure(*, procedure: WeldProcedure, by: Who, now: datetime | None = None) -> WeldProcedure:
    """From today nobody welds by it."""
    with act("procedure.withdrawn", subject=f"procedure:{procedure.code}", by=by, now=now) as a:
        require_role(by, Role.ENGINEER, shop_day(a.now))
        procedure = WeldProcedure.objects.get(pk=procedure.pk)
        if procedure.withdrawn_on is not None:
            raise Refusal(f"{procedure} is withdrawn already.")
        return a.update(procedure, withdrawn_on=shop_day(a.now))
