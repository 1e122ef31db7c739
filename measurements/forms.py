"""Forms of the gauge shelf."""

from __future__ import annotations

from django import forms

from measurements.actions.gauges import Calibrated, NewGauge
from shop.forms import day


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
    certificate = forms.CharField(label="Certificate", max_length=80)
    as_found = forms.DecimalField(label="Error as found", required=False, max_digits=18, decimal_places=9)
    as_left = forms.DecimalField(label="Error as left", required=False, max_digits=18, decimal_places=9)

    @property
    def calibrated(self) -> Calibrated:
        return Calibrated(**self.cleaned_data)


class RetireForm(forms.Form):
    reason = forms.CharField(label="Why it is retired", max_length=200)
