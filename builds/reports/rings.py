"""What the build cards measure with a gauge that is set on a ring."""

from __future__ import annotations

from collections.abc import Collection

from builds.models import Revision
from measurements import rings


def set_on_a_ring(card_keys: Collection[str]) -> set[tuple[str, str]]:
    """(card key, code), of these cards. One query, and one for each card that this process has not parsed yet."""
    revisions = Revision.objects.select_related("model").defer("text")
    return {
        (revision.key, found.code)
        for revision in revisions
        if revision.key in card_keys
        for operation in revision.card.operations
        for found in operation.characteristics
        if found.needs_setting
    }


rings.declare(set_on_a_ring)
