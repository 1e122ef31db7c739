"""Forms of the gauge shelf."""

from __future__ import annotations

from django import forms

from measurements.actions.gauges import MOST_USES, Calibrated, NewGauge
from shop.forms import day

WHOLE = "Type a whole number, without comma or point."


ERROR_IN = [("unit", "the unit that the gauge reads"), ("percent", "per cent of the true value")]


class GaugeForm(forms.Form):
    mark = forms.CharField(label="Mark on its label", max_length=14)
    kind = forms.CharField(label="Kind, as the build cards name it (such as torque_wrench)", max_length=40)
    name = forms.CharField(label="What it is", max_length=80)
    unit = forms.CharField(label="Unit it reads", max_length=12)
    step = forms.DecimalField(label="Step", required=False, max_digits=18, decimal_places=9)
    low = forms.DecimalField(label="Range from", required=False, max_digits=18, decimal_places=9)
    high = forms.DecimalField(label="Range to", required=False, max_digits=18, decimal_places=9)
    setting = forms.DecimalField(label="Size, for a setting ring", required=False, max_digits=18, decimal_places=9)

    @property
    def gauge(self) -> NewGauge:
        return NewGauge(**self.cleaned_data)


class CalibrationForm(forms.Form):
    made_on = day("Calibrated on")
    due_on = day("Due on (no longer good from this day)")
    due_after = forms.IntegerField(
        label="Due after so many uses",
        required=False,
        min_value=1,
        max_value=MOST_USES,
        help_text="For hand torque tools: 12 months or 5,000 uses, whichever comes first. Empty: by the day only.",
        error_messages={"invalid": WHOLE},
    )
    certificate = forms.CharField(label="Certificate", max_length=80)
    error_in = forms.ChoiceField(
        label="The errors are given in",
        choices=ERROR_IN,
        required=False,
        help_text="Shown minus true; more than zero when it reads high. Torque tools are judged in per cent.",
    )
    as_found = forms.DecimalField(label="Error as found", required=False, max_digits=18, decimal_places=9)
    as_left = forms.DecimalField(label="Error as left", required=False, max_digits=18, decimal_places=9)

    @property
    def calibrated(self) -> Calibrated:
        given = dict(self.cleaned_data)
        return Calibrated(in_percent=given.pop("error_in") == "percent", **given)


class UsesForm(forms.Form):
    uses = forms.IntegerField(label="Uses", min_value=1, max_value=MOST_USES, error_messages={"invalid": WHOLE})
    what_for = forms.CharField(label="What for", max_length=200)


class RecallForm(forms.Form):
    reason = forms.CharField(label="Why it is recalled", max_length=200)


class RetireForm(forms.Form):
    reason = forms.CharField(label="Why it is retired", max_length=200)
