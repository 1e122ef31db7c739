"""Forms of the receiving pages: packing slips, certificates, values put right. Whether it may be so the action says."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils import timezone

from builds.actions.judging_heats import Asked, limits_words
from builds.forms.stock import mark_field, supplier_field, sure_field
from builds.models import PaperKind
from shop.clock import shop_day
from shop.forms import PlainForm, day

VALUE, KEPT = "value-", "kept-"
_ACCEPT = "application/pdf,image/png,image/jpeg,image/webp"


def _paper_kind() -> forms.ChoiceField:
    return forms.ChoiceField(label="Type of the certificate (EN 10204)", choices=PaperKind.choices)


def _scan(*, required: bool = False) -> forms.FileField:
    return forms.FileField(
        label="Scan of the paper",
        required=required,
        help_text="PDF (at most 10 MB) or picture (8 MB). Looked through, then kept with its fingerprint.",
        widget=forms.ClearableFileInput(attrs={"accept": _ACCEPT}),
        error_messages={"empty": "The file is empty. Choose it again."},
    )


def read_scan(form: forms.Form) -> bytes:
    """The scan that was chosen, or nothing."""
    file = form.cleaned_data.get("scan")
    return file.read() if file else b""


class HeatForm(PlainForm):
    """A mill certificate: the heat, and one field for every value that is asked for."""

    ids = "heat"
    mark = mark_field("Heat number", "As it is stamped on the steel.")
    supplier = supplier_field()
    certificate = forms.CharField(label="Number of the mill's certificate", max_length=80)
    certificate_type = _paper_kind()
    scan = _scan()
    sure = sure_field()
    shared = forms.BooleanField(
        label="The certificate names several heats",
        required=False,
        help_text="Only when the page has asked about a certificate that stands for another heat already.",
    )

    def __init__(self, values: Sequence[Asked], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("certificate_type", PaperKind.INSPECTION)
        self.codes = [found.code for found in values]
        for found in values:
            words = " ".join(word for word in (limits_words(found.limits), found.unit) if word)
            self.fields[f"{VALUE}{found.code}"] = forms.CharField(
                label=f"{found.code} {found.name}",
                required=False,
                max_length=40,
                help_text=words + (", may be left empty" if found.optional else ""),
                widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
            )

    def keep_question(self, code: str) -> None:
        """Offer to keep a value that was asked about; shown only after the question."""
        self.fields[f"{KEPT}{code}"] = forms.BooleanField(label=f"{code} is so on the certificate", required=False)

    @property
    def typed(self) -> dict[str, str]:
        return {code: self.cleaned_data.get(f"{VALUE}{code}", "") for code in self.codes}

    @property
    def kept(self) -> frozenset[str]:
        return frozenset(code for code in self.codes if self.data.get(f"{KEPT}{code}") == "on")


class CorrectForm(PlainForm):
    ids = "correct"
    code = forms.ChoiceField(label="Value to be put right")
    typed = forms.CharField(
        label="As the certificate states it",
        max_length=40,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    reason = forms.CharField(label="Why it was entered otherwise", max_length=300)
    kept = forms.BooleanField(
        label="It is so on the certificate",
        required=False,
        help_text="Only when the page has asked about a value that looks like a slip.",
    )

    def __init__(self, values: Sequence[tuple[str, str]], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["code"].choices = list(values)  # type: ignore[attr-defined]


class PaperForm(PlainForm):
    """A further paper, or the scan of one that is known by its number."""

    ids = "paper"
    certificate = forms.CharField(label="Number of the certificate", max_length=80)
    certificate_type = _paper_kind()
    scan = _scan()
    compared = forms.BooleanField(
        label="Every value was compared with those on record",
        required=False,
        help_text="Needed for a second certificate of a heat; none of its values is written over.",
    )
    shared = forms.BooleanField(label="The certificate names several heats", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("certificate_type", PaperKind.INSPECTION)


class DeliveryForm(PlainForm):
    ids = "delivery"
    supplier = supplier_field()
    slip = mark_field("Number of the packing slip", "As the supplier prints it.")
    came_on = day("Came on")
    note = forms.CharField(label="Note", max_length=200, required=False, help_text="Damage, short count, carrier.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["came_on"].initial = shop_day(timezone.now())


class MaterialForm(PlainForm):
    ids = "material"
    file = forms.FileField(
        label="Material definition",
        help_text="One material at one revision, as TOML. What is loaded stays; a change is a new revision.",
        widget=forms.ClearableFileInput(attrs={"accept": ".toml,text/plain"}),
        error_messages={"empty": "The file is empty. Choose the definition again."},
    )
