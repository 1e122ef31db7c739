"""Load a material definition: checked whole, kept for ever, in force for whatever comes in afterwards."""

from __future__ import annotations

import hashlib
from datetime import datetime

from builds.definitions.material import StatedValue, read_material
from builds.definitions.table import DefinitionError
from builds.errors import AlreadyThere, BrokenDefinition
from builds.models import Material
from measurements.models import Characteristic
from shop.clock import shop_day
from shop.errors import Refusal
from shop.models import Role
from shop.permissions import require_role
from shop.record.act import act
from shop.record.who import Who


def load_material(*, content: bytes, name: str, by: Who, now: datetime | None = None) -> Material:
    """Raises BrokenDefinition with every fault, and AlreadyThere when that revision stands here."""
    try:
        made = read_material(content, name)
    except DefinitionError as error:
        raise BrokenDefinition(name, [str(fault) for fault in error.faults]) from error
    with act("material.loaded", subject=f"material:{made.code}", by=by, now=now) as a:
        require_role(by, Role.ENGINEER, shop_day(a.now))
        if by.person is None:
            raise Refusal("Nobody is signed in. Sign in first.")
        if Material.objects.filter(code=made.code, revision=made.revision).exists():
            raise AlreadyThere(
                f"Material {made.code} rev {made.revision} is here already and stays. Give the file a new revision.",
                field="file",
            )
        sha256 = hashlib.sha256(content).hexdigest()
        row = a.create(
            Material,
            code=made.code,
            revision=made.revision,
            name=made.name,
            text=content.decode("utf-8"),
            sha256=sha256,
            loaded_by=by.person,
            loaded_at=a.now,
        )
        a.create_many(Characteristic, [_characteristic(row, value) for value in made.values])
        a.note(revision=made.revision, sha256=sha256, rounding=made.rounding)
        return row


def in_force(code: str) -> Material | None:
    """The definition that judges what comes in now: the one loaded last."""
    return Material.objects.filter(code=code).order_by("-pk").first()


def _characteristic(row: Material, value: StatedValue) -> dict[str, object]:
    return {
        "card_key": row.key,
        "code": value.code,
        "name": value.name,
        "kind": "given",
        "unit": value.unit,
        "low": value.low,
        "high": value.high,
        "decimals": value.decimals,
        "class_code": "S",
        "recorded_only": value.low is None and value.high is None,
    }
