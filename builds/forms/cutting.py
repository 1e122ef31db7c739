"""What the saw takes: typed on the cutting plan's page, and part of its address."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from builds.models import Measured
from builds.reports.planning.nesting import GRAIN, Saw
from measurements.engineering.limits import FigureError, parse_figure
from shop.forms import PlainForm

#: Of a band saw for tube (common practice, no source); each shop types its own.
USUAL = {"kerf": "0.0625", "trim": "0.5"}


class _Inches(forms.CharField):
    """A length in inches by the rule of every figure here: a point, no comma, no sign."""

    def __init__(self, label: str, most: Decimal, help_text: str) -> None:
        blank = {"required": f"{label}: nothing was typed. Blank is not zero; type 0 for none."}
        look = forms.TextInput(attrs={"size": 6})
        super().__init__(label=label, max_length=12, help_text=help_text, widget=look, error_messages=blank)
        self.most = most

    def clean(self, value: Any) -> Decimal:
        try:
            figure = parse_figure(str(super().clean(value)))
        except FigureError as fault:
            raise forms.ValidationError(str(fault)) from fault
        if figure % GRAIN:
            raise forms.ValidationError(f"{self.label}: four decimals at most, not {figure}.")
        if not 0 <= figure <= self.most:
            raise forms.ValidationError(f"{self.label}: from 0 to {self.most} in, not {figure}.")
        return figure


class SawForm(PlainForm):
    ids = "saw"
    kerf = _Inches("Kerf, in", Decimal(1), "What each cut turns into chips. 1/16 in: common practice, no source.")
    trim = _Inches(
        "Trimmed end, in", Decimal(12), "Cut off the end of each bar first. 1/2 in: common practice, no source."
    )

    def saw(self) -> Saw:
        return Saw(self.cleaned_data["kerf"], self.cleaned_data["trim"])


class MeasureForm(PlainForm):
    """A length of a bar, taken on the rack."""

    ids = "measure"
    what = forms.ChoiceField(label="What was measured", choices=Measured.choices, initial=Measured.REMNANT)
    length = forms.CharField(
        label="Length, in the bar's unit",
        max_length=20,
        help_text="0 for a bar of which nothing is left.",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    reason = forms.CharField(
        label="Why", max_length=200, required=False, help_text="Needed when the length of the whole bar is put right."
    )

    def clean_length(self) -> Decimal:
        try:
            return parse_figure(self.cleaned_data["length"])
        except FigureError as fault:
            raise forms.ValidationError(str(fault)) from fault
