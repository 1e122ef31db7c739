"""The frozen list of a notice: canonical JSON under its SHA-256, made once for each revision and read back."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from builds.models import NoticeRevision
from builds.reports.notices.touched import Touched
from builds.reports.reach.answer import Spot
from shop.errors import Refusal
from shop.record import chain
from shop.record.models import Blob
from shop.record.values import instant

LIST_TYPE = "application/json"


@dataclass(frozen=True)
class FrozenRow:
    """One row of a frozen list. `day` is RFC 3339 text, or empty."""

    key: str
    spot: str
    what: str
    mark: str
    axle: str
    where: str
    order: str
    consignee: str
    day: str
    address: str
    ways: tuple[str, ...]
    inside: bool
    is_axle: bool

    @property
    def place(self) -> Spot:
        return Spot[self.spot.upper()]

    @property
    def on(self) -> datetime | None:
        return datetime.fromisoformat(self.day) if self.day else None


def frozen_list(
    *, number: int, revision: int, words: str, asked: Mapping[str, str], touched: Sequence[Touched], at: datetime
) -> bytes:
    """The bytes that are kept: the cause as asked and in words, when, and every row with the ways that connect it."""
    return chain.canonical(
        {
            "notice": number,
            "revision": revision,
            "at": instant(at),
            "cause": words,
            "asked": dict(asked),
            "rows": [_facts(one) for one in touched],
        }
    )


def _facts(one: Touched) -> dict[str, Any]:
    row = one.row
    return {
        "key": one.key, "spot": row.spot.key, "what": row.what, "mark": row.mark, "axle": row.axle,
        "where": row.where, "order": row.order, "consignee": row.consignee,
        "day": instant(row.day) if row.day is not None else "", "address": one.address, "ways": list(row.ways),
        "inside": one.inside, "is_axle": row.is_axle,
    }  # fmt: skip


def frozen_rows(revision: NoticeRevision) -> list[FrozenRow]:
    """The rows as they were frozen. Raises Refusal where the bytes do not match their fingerprint."""
    content = bytes(Blob.objects.get(pk=revision.sha256).content)
    if hashlib.sha256(content).hexdigest() != revision.sha256:
        raise Refusal("The frozen list does not match its fingerprint. Nothing is read from it; tell the manager.")
    return [FrozenRow(**{**row, "ways": tuple(row["ways"])}) for row in json.loads(content)["rows"]]


def rows_now(touched: Sequence[Touched]) -> list[FrozenRow]:
    """The same shape for a list that is drawn now and kept nowhere."""
    return [FrozenRow(**{**facts, "ways": tuple(facts["ways"])}) for facts in map(_facts, touched)]
