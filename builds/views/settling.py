"""What a page shows of the decision about an axle that has left, whatever look-back asks for it."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from django.utils import timezone

from builds.actions.settling import settlers
from builds.forms.looking_back import SettleForm
from builds.permissions import holds_one_of, role_words
from measurements.models import CharacteristicClass
from shop.errors import Refusal
from shop.http import Asked, new_submission


def settling(
    request: Asked, form: SettleForm, classes: Collection[str], refusal: Refusal | None = None
) -> dict[str, Any]:
    """The form, who may sign it, and what it needs, for `classes` of what was found."""
    return {
        "form": form,
        "pin_error": refusal.text if refusal is not None and refusal.field == "pin" else "",
        "deciders": role_words(settlers(classes)),
        "may_decide": holds_one_of(request.person, settlers(classes), timezone.now()),
        "needs_agreement": CharacteristicClass.SAFETY in classes,
        "submission": new_submission(),
    }
