"""Work done on paper and entered afterwards: who did it, and when."""

from __future__ import annotations

from datetime import datetime

from django import forms

from builds.actions.claiming import OnPaper
from shop.clock import shop_zone
from shop.models import Person


class PaperForm(forms.Form):
    worked_by = forms.ModelChoiceField(
        Person.objects.working(),
        to_field_name="code",
        label="Who did the work",
        error_messages={
            "required": "Say who did the work.",
            "invalid_choice": "Choose a person of the shop.",
        },
    )
    worked_at = forms.CharField(
        label="When it was done",
        max_length=20,
        widget=forms.TextInput(attrs={"type": "datetime-local"}),
        error_messages={"required": "Say when it was done."},
    )

    def clean_worked_at(self) -> datetime:
        text = self.cleaned_data["worked_at"].strip().replace(" ", "T")
        try:
            return datetime.strptime(text[:16], "%Y-%m-%dT%H:%M").replace(tzinfo=shop_zone())
        except ValueError:
            raise forms.ValidationError("Write day and time as 2025-11-20 14:30.") from None

    @property
    def on_paper(self) -> OnPaper:
        return OnPaper(self.cleaned_data["worked_by"], self.cleaned_data["worked_at"])
