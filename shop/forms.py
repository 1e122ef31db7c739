"""Forms of the shop's own pages. They read what was typed; whether it may be so is the action's to say."""

from __future__ import annotations

from typing import Any

from django import forms

from shop.models import Paper, Role, Station


class PlainForm(forms.Form):
    """Labels without a colon, and ids of their own where several forms share a page."""

    ids = "id"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        kwargs.setdefault("auto_id", f"{self.ids}-%s")
        super().__init__(*args, **kwargs)


class DayInput(forms.DateInput):
    input_type = "date"


class ClockInput(forms.TimeInput):
    input_type = "time"


def day(label: str, *, required: bool = True, help_text: str = "") -> forms.DateField:
    """A day, typed or picked."""
    return forms.DateField(
        label=label,
        required=required,
        help_text=help_text,
        widget=DayInput(format="%Y-%m-%d"),
        input_formats=["%Y-%m-%d"],
        error_messages={
            "invalid": "Write the day as year-month-day, such as 2025-11-20.",
            "required": "Give the day as year-month-day, such as 2025-11-20.",
        },
    )


def _secret(label: str, *, numeric: bool, fresh: bool = False) -> forms.CharField:
    attributes = {"autocomplete": "new-password" if fresh else "off"}
    if numeric:
        attributes |= {"inputmode": "numeric", "maxlength": "12"}
    return forms.CharField(label=label, strip=False, max_length=200, widget=forms.PasswordInput(attrs=attributes))


class BadgeForm(PlainForm):
    scan = forms.CharField(
        label="Badge",
        help_text="Scan it, or type the code printed on it.",
        max_length=60,
        widget=forms.PasswordInput(attrs={"autocomplete": "off", "autofocus": True}),
    )


class PinForm(PlainForm):
    pin = _secret("PIN", numeric=True)


class OfficeForm(PlainForm):
    code = forms.CharField(label="Your code", max_length=20, widget=forms.TextInput(attrs={"autofocus": True}))
    password = _secret("Password", numeric=False)


class EngageForm(PlainForm):
    ids = "engage"
    code = forms.CharField(label="Code", max_length=20, help_text="In small letters; never used twice.")
    name = forms.CharField(label="Name", max_length=80)


class NewPinForm(PlainForm):
    ids = "new-pin"
    new_pin = _secret("New PIN, 6 to 12 digits", numeric=True, fresh=True)
    again = _secret("The same again", numeric=True, fresh=True)

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        if found.get("new_pin") != found.get("again") and "again" in found:
            self.add_error("again", "The two are not the same. Type both again.")
        return found


class MyPinForm(NewPinForm):
    ids = "my-pin"
    pin = _secret("Your PIN now", numeric=True)
    field_order = ("pin", "new_pin", "again")


class NewPasswordForm(PlainForm):
    ids = "new-password"
    new_password = _secret("New password, 12 characters or more", numeric=False, fresh=True)
    again = _secret("The same again", numeric=False, fresh=True)

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        if found.get("new_password") != found.get("again") and "again" in found:
            self.add_error("again", "The two are not the same. Type both again.")
        return found


class MyPasswordForm(NewPasswordForm):
    ids = "my-password"
    password = _secret("Your password now", numeric=False)
    field_order = ("password", "new_password", "again")


class ReasonForm(PlainForm):
    ids = "reason"
    reason = forms.CharField(label="Reason", max_length=200)


class RoleForm(PlainForm):
    ids = "role"
    role = forms.ChoiceField(label="Role", choices=Role.choices)
    valid_from = day("From", required=False, help_text="Today, when left empty.")
    valid_until = day("Up to, not including", required=False, help_text="Without an end, when left empty.")


class SkillForm(PlainForm):
    ids = "skill"
    process = forms.CharField(label="Process", max_length=40, help_text="As the build card names it.")
    valid_from = day("Qualified from")
    valid_until = day("Up to, not including", required=False, help_text="Without an end, when left empty.")
    continuity_months = forms.IntegerField(
        label="Lapses after so many months without use",
        required=False,
        min_value=1,
        max_value=120,
        help_text="Does not lapse by disuse, when left empty.",
    )
    source = forms.CharField(label="Proof", max_length=200, required=False)


class TerminalForm(PlainForm):
    ids = "terminal"
    code = forms.CharField(label="Terminal", max_length=20, help_text="A code that nobody used before.")
    station = forms.ModelChoiceField(label="Station", queryset=Station.objects.all(), empty_label=None)


class StationForm(PlainForm):
    ids = "station"
    code = forms.CharField(label="Code", max_length=8)
    name = forms.CharField(label="Name", max_length=60)
    order = forms.IntegerField(label="Place in lists", min_value=0, max_value=999, initial=0)


class ShiftForm(PlainForm):
    ids = "shift"
    name = forms.CharField(label="Shift", max_length=20)
    starts = forms.TimeField(label="Begins", widget=ClockInput())
    ends = forms.TimeField(label="Ends", widget=ClockInput())


class CustomerForm(PlainForm):
    ids = "customer"
    code = forms.CharField(label="Code", max_length=20)
    name = forms.CharField(label="Name", max_length=120)
    address = forms.CharField(label="Address", max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 3}))
    paper = forms.ChoiceField(label="Paper of certificates", choices=Paper.choices)


class CustomerChangeForm(PlainForm):
    ids = "customer"
    name = forms.CharField(label="Name", max_length=120)
    address = forms.CharField(label="Address", max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 3}))
    paper = forms.ChoiceField(label="Paper of certificates", choices=Paper.choices)


class SupplierForm(PlainForm):
    ids = "supplier"
    code = forms.CharField(label="Code", max_length=20)
    name = forms.CharField(label="Name", max_length=120)
