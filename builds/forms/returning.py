"""What is typed when an axle, or word of it, comes back."""

from __future__ import annotations

from typing import Any

from django import forms

from builds.actions.returning import LONGEST, LONGEST_NAME, Said
from builds.models import FindingWord
from shop.forms import PlainForm, day


class SerialForm(PlainForm):
    """Which axle: from its plate."""

    ids = "serial"
    serial = forms.CharField(
        label="Axle",
        max_length=60,
        help_text="Scan its plate, or type the serial with its check character.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}),
    )


class ReturnForm(PlainForm):
    ids = "return"
    words = forms.CharField(
        label="What the customer reports", max_length=LONGEST, widget=forms.Textarea(attrs={"rows": 3})
    )
    role = forms.ChoiceField(label="Part said to have failed", required=False)
    use = forms.CharField(label="Use until then", required=False, max_length=120, help_text="Hours, distance, load.")
    came_on = day("Reported on")

    def __init__(self, data: Any = None, *, roles: list[str]) -> None:
        super().__init__(data)
        self.fields["role"].choices = [  # type: ignore[attr-defined]
            ("", "the axle as a whole, or not known"), *((role, role.replace("_", " ")) for role in roles)
        ]  # fmt: skip

    @property
    def said(self) -> Said:
        data = self.cleaned_data
        return Said(data["words"], data["came_on"], data["role"], data["use"])


class FindingForm(PlainForm):
    """About one of several returns on a page. Nothing is chosen beforehand."""

    says = forms.ChoiceField(label="It is", choices=FindingWord.choices, widget=forms.RadioSelect)
    words = forms.CharField(label="What was found", max_length=LONGEST, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, data: Any = None, *, number: int) -> None:
        super().__init__(data, auto_id=f"finding-{number}-%s")
        self.number = number


class ReturnPhotoForm(PlainForm):
    """A picture of what came back. The file itself is looked at when it is kept."""

    name = forms.CharField(label="What it shows", max_length=LONGEST_NAME)

    def __init__(self, data: Any = None, *, number: int) -> None:
        super().__init__(data, auto_id=f"photo-{number}-%s")
        self.number = number
