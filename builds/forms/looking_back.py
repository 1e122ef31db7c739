"""The decision about one closed axle of a look-back."""

from __future__ import annotations

from typing import Any

from django import forms

from builds.actions.deciding import LONGEST_REASON, Agreement
from builds.actions.looking_back import Settled
from builds.forms.deciding import AGREEMENT
from builds.models import Outcome
from shop.forms import PlainForm, day

SAYS = {
    Outcome.AS_IS: "Use as is: it stays where it is, and the reason stands here.",
    Outcome.STOP: "Bring it back: it is to be looked at again. Telling the customer is a person's work.",
}


class SettleForm(PlainForm):
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
    agreed_by = forms.CharField(label="Who agreed for the customer", max_length=120, required=False)
    agreed_on = day("On which day", required=False)
    agreed_how = forms.CharField(label="How", help_text="A letter, a message, a call.", max_length=120, required=False)

    def clean(self) -> dict[str, Any]:
        """The customer's agreement is whole or absent: a half one would be lost without a word."""
        found = super().clean() or {}
        given = [name for name in AGREEMENT if found.get(name) and str(found[name]).strip()]
        for name in AGREEMENT if given else ():
            if name not in given and name not in self.errors:
                self.add_error(name, "An agreement says who, on which day, and how.")
        return found

    @property
    def settled(self) -> Settled:
        data = self.cleaned_data
        agreed = all(data[name] for name in AGREEMENT)
        agreement = Agreement(data["agreed_by"], data["agreed_on"], data["agreed_how"]) if agreed else None
        return Settled(data["outcome"], data["reason"], agreement)
