"""A form that shows every kind of field; it keeps nothing."""

from __future__ import annotations

from django import forms


class GalleryForm(forms.Form):
    """One field of each kind."""

    name = forms.CharField(label="Name on the badge", help_text="As it should be printed.")
    # A number input drops what it cannot read; a text field keeps it for the worker to mend.
    width = forms.DecimalField(
        label="Width over flanges",
        help_text="In inches, a point before decimals.",
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    brake = forms.ChoiceField(label="Brake", choices=[("disc", "Disc"), ("drum", "Drum")], required=False)
    paper = forms.ChoiceField(
        label="Certificate on", widget=forms.RadioSelect, choices=[("a4", "A4"), ("letter", "Letter")]
    )
    note = forms.CharField(label="Note", widget=forms.Textarea, required=False)
    wanted = forms.BooleanField(label="Witness points agreed", required=False)
