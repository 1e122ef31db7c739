"""The decision about one closed axle of a look-back, and the question what a look-back would find."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from builds.actions.deciding import LONGEST_REASON
from builds.actions.settling import Settled
from builds.forms.deciding import AGREEMENT, AgreementForm
from builds.models import Outcome
from builds.reports.lookback import Off
from measurements.forms import ERROR_IN
from measurements.gauges import ALL_OF_IT, MORE_THAN_ALL, no_percentage
from measurements.models import Gauge
from shop.forms import PlainForm, day

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


class IfOffForm(PlainForm):
    """What if this gauge were off by so much between these days: the address holds the whole question."""

    ids = "if-off"
    error = forms.DecimalField(
        max_digits=18,
        decimal_places=9,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        error_messages={
            "required": "Say how far it is off.",
            "invalid": "Type a figure with a point, such as 0.0006; less than zero when it reads low.",
        },
    )
    error_in = forms.ChoiceField(label="It is given in", choices=ERROR_IN, required=False)
    first = day("From this day on")
    last = day("Up to and including this day")

    def __init__(self, gauge: Gauge, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._gauge, self._today = gauge, today
        ring = gauge.setting is not None
        error = self.fields["error"]
        error.label = "How much larger it is than its mark" if ring else "How far it is off"
        error.help_text = (
            "Less than zero when smaller." if ring else "Shown minus true; more than zero when it reads high."
        )
        if ring:
            del self.fields["error_in"]

    def clean_error(self) -> Any:
        error = self.cleaned_data["error"]
        if error == 0:
            raise forms.ValidationError("An error of zero changes no reading. Type how far it is off.")
        return error

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        first, last = found.get("first"), found.get("last")
        if last is not None and last > self._today:
            self.add_error("last", "That day is still to come: nothing was read on it yet.")
        elif first is not None and last is not None and first > last:
            self.add_error("last", f"The last day is before the first, {first:%d %b %Y}. Change one of them.")
        if found.get("error_in") == "percent":
            self._check_percent(found.get("error"))
        return found

    def _check_percent(self, error: Any) -> None:
        if said := no_percentage(self._gauge):
            self.add_error("error_in", said)
        elif error is not None and abs(error) >= ALL_OF_IT:
            self.add_error("error", MORE_THAN_ALL)

    @property
    def off(self) -> Off:
        given = self.cleaned_data
        return Off(self._gauge, given["error"], given.get("error_in") == "percent")
