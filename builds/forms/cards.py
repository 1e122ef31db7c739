"""Forms of the build cards: a definition file, a document, a signature under a release."""

from __future__ import annotations

from django import forms

from shop.forms import PlainForm


class DefinitionForm(PlainForm):
    ids = "definition"
    file = forms.FileField(
        label="Definition file",
        help_text="One axle model at one revision, as TOML. A draft of that revision is replaced.",
        widget=forms.ClearableFileInput(attrs={"accept": ".toml,text/plain"}),
        error_messages={"empty": "The file is empty. Choose the definition file again."},
    )


class DocumentForm(PlainForm):
    ids = "document"
    file = forms.FileField(
        label="PDF or picture",
        help_text="At most 10 MB (PDF) or 8 MB (picture). Attached once; it is not replaced.",
        widget=forms.ClearableFileInput(attrs={"accept": "application/pdf,image/png,image/jpeg,image/webp"}),
        error_messages={"empty": "The file is empty. Choose it again."},
    )
