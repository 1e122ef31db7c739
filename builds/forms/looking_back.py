"""The decision about one closed axle of a look-back."""

from __future__ import annotations

from typing import Any

from django import forms

from builds.actions.deciding import LONGEST_REASON
from builds.actions.settling import Settled
from builds.forms.deciding import AGREEMENT, AgreementForm
from builds.models import Outcome

SAYS = {
    Outcome.AS_IS: "Use as is: it stays where it is, and the reason stands here.",
    Outcome.STOP: "Bring it back: it is to be looked at again. Telling the customer is a person's work.",
}


class SettleForm(AgreementForm):
    """What becomes of the axle, why, and the customer's yes. Nothing is chosen beforehand."""

    ids = "settle"
    outcome = forms.ChoiceField(
        label="Decision",
        widget=forms.RadioSelect,
        choices=list(SAYS.items()),
        error_messages={"required": "Choose a decision."},
    )
    reason = forms.CharField(
        label="Why",
        max_length=LONGEST_REASON,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Say why."},
    )

    field_order = ("outcome", "reason", *AGREEMENT)

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        self.require_whole_agreement()
        return found

    @property
    def settled(self) -> Settled:
        return Settled(self.cleaned_data["outcome"], self.cleaned_data["reason"], self.agreement)
