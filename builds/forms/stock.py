"""Forms of the material drawer. They read what was typed; whether it may be so is the action's to say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils import timezone

from builds.actions.receiving_heats import CERTIFICATE_TYPES
from builds.definitions.characteristic import Characteristic
from builds.forms.orders import whole
from builds.reports.cards import limits_words
from measurements.engineering.limits import FigureError, parse_figure
from shop.clock import shop_day
from shop.forms import PlainForm, day
from shop.models import Heat, HeatStatus, Lot, PartKind, Supplier, Tracking

VALUE, KEPT, FACT = "value-", "kept-", "fact-"
_HAS_A_FIELD = ("set_mark", "heat")


def _mark(label: str, help_text: str = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=60,
        help_text=help_text,
        widget=forms.TextInput(attrs={"autocapitalize": "characters", "autocomplete": "off"}),
    )


def _sure() -> forms.BooleanField:
    return forms.BooleanField(
        label="The mark is right as typed",
        required=False,
        help_text="Only when the page has asked about a mark that looks like another one.",
    )


def _supplier() -> forms.ModelChoiceField[Supplier]:
    return forms.ModelChoiceField(label="Supplier", queryset=Supplier.objects.all())


def _kind(*tracking: Tracking) -> forms.ModelChoiceField[PartKind]:
    return forms.ModelChoiceField(label="Part kind", queryset=PartKind.objects.filter(tracking__in=tracking))


def _heat(label: str) -> forms.ModelChoiceField[Heat]:
    rows = Heat.objects.exclude(status=HeatStatus.REFUSED).select_related("item").order_by("item__mark")
    return _HeatChoice(label=label, queryset=rows, required=False)


class _ItemChoice(forms.ModelChoiceField[Any]):
    """A choice among things: their key is another table's, so a senseless one is not caught for us."""

    def to_python(self, value: Any) -> Any:
        if isinstance(value, str) and value.strip() and not (value.isascii() and value.isdecimal() and len(value) < 19):
            raise forms.ValidationError(self.error_messages["invalid_choice"], params={"value": value[:20]})
        return super().to_python(value)


class _HeatChoice(_ItemChoice):
    def label_from_instance(self, obj: Heat) -> str:
        return f"{obj.item.mark} {obj.material}, {obj.get_status_display()}"


class HeatForm(PlainForm):
    """A mill certificate: the heat, and one field for every value the card asks for."""

    ids = "heat"
    mark = _mark("Heat number", "As it is stamped on the steel.")
    supplier = _supplier()
    certificate = forms.CharField(label="Number of the mill's certificate", max_length=80)
    certificate_type = forms.ChoiceField(
        label="Type of the mill's certificate (EN 10204)",
        choices=[(word, word) for word in CERTIFICATE_TYPES],
    )
    sure = _sure()

    def __init__(self, values: Sequence[Characteristic], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.codes = [found.code for found in values]
        for found in values:
            self.fields[f"{VALUE}{found.code}"] = forms.CharField(
                label=f"{found.code} {found.name}",
                required=False,
                max_length=40,
                help_text=limits_words(found),
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


class BarForm(PlainForm):
    ids = "bar"
    mark = _mark("Our mark for it", "At most 14 characters, as on its tag.")
    kind = _kind(Tracking.PIECE)
    heat = _heat("Heat stamped on it")
    mark_readable = forms.BooleanField(label="Its heat mark can be read", required=False, initial=True)
    length = forms.CharField(label="Length in inches, where measured", max_length=20, required=False)
    sure = _sure()

    def clean_length(self) -> Any:
        typed = self.cleaned_data["length"].strip()
        try:
            return parse_figure(typed) if typed else None
        except FigureError as error:
            raise forms.ValidationError(str(error)) from error


class LotForm(PlainForm):
    ids = "lot"
    mark = _mark("Lot number", "As the maker prints it.")
    kind = _kind(Tracking.LOT, Tracking.BULK)
    supplier = _supplier()
    received_on = day("Came on")
    received = whole("How many came", min_value=0, initial=0)
    expires_on = day("May be used to the end of", required=False, help_text="Without an end, when left empty.")
    sure = _sure()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["received_on"].initial = shop_day(timezone.now())


class DrumForm(PlainForm):
    ids = "drum"
    lot = forms.ModelChoiceField(label="Lot", queryset=Lot.objects.none())
    mark = _mark("Our mark for it", "At most 14 characters, as on its tag.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        bulk = Lot.objects.filter(kind__tracking=Tracking.BULK).select_related("item", "kind")
        self.fields["lot"] = _LotChoice(label="Lot", queryset=bulk)


class _LotChoice(_ItemChoice):
    def label_from_instance(self, obj: Lot) -> str:
        return f"{obj.item.mark} {obj.kind}"


class PartForm(PlainForm):
    """A part of one kind: what stands on it is asked for by the card."""

    ids = "part"
    mark = _mark("Serial number", "As it is marked on the part.")
    supplier = _supplier()
    heat = _heat("Heat, where it carries one")
    set_mark = forms.CharField(label="Set number, where it is one of a set", max_length=40, required=False)
    sure = _sure()

    def __init__(self, facts: Sequence[str], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.names = [name for name in facts if name not in _HAS_A_FIELD]
        for name in self.names:
            words = name.replace("_", " ").capitalize()
            self.fields[f"{FACT}{name}"] = forms.CharField(label=words, max_length=80, required=False)

    @property
    def facts(self) -> dict[str, str]:
        return {name: self.cleaned_data.get(f"{FACT}{name}", "") for name in self.names}
