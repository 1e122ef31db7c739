"""Forms of the material drawer. They read what was typed; whether it may be so is the action's to say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils import timezone

from builds.forms.orders import whole
from measurements.engineering.limits import FigureError, parse_figure
from shop.clock import shop_day
from shop.forms import PlainForm, day
from shop.models import Heat, HeatStatus, Lot, PartKind, Supplier, Tracking

FACT = "fact-"
_HAS_A_FIELD = ("set_mark", "heat")


def mark_field(label: str, help_text: str = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=60,
        help_text=help_text,
        widget=forms.TextInput(attrs={"autocapitalize": "characters", "autocomplete": "off"}),
    )


def sure_field() -> forms.BooleanField:
    return forms.BooleanField(
        label="The mark is right as typed",
        required=False,
        help_text="Only when the page has asked about a mark that looks like another one.",
    )


def supplier_field() -> forms.ModelChoiceField[Supplier]:
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


class BarForm(PlainForm):
    ids = "bar"
    mark = mark_field("Our mark for it", "At most 14 characters, as on its tag.")
    kind = _kind(Tracking.PIECE)
    heat = _heat("Heat stamped on it")
    mark_readable = forms.BooleanField(label="Its heat mark can be read", required=False, initial=True)
    length = forms.CharField(label="Length in inches, where measured", max_length=20, required=False)
    sure = sure_field()

    def clean_length(self) -> Any:
        typed = self.cleaned_data["length"].strip()
        try:
            return parse_figure(typed) if typed else None
        except FigureError as error:
            raise forms.ValidationError(str(error)) from error


class LotForm(PlainForm):
    ids = "lot"
    mark = mark_field("Lot number", "As the maker prints it.")
    kind = _kind(Tracking.LOT, Tracking.BULK)
    supplier = supplier_field()
    received_on = day("Came on")
    received = whole("How many came", min_value=0, initial=0)
    expires_on = day("May be used to the end of", required=False, help_text="Without an end, when left empty.")
    use_within_days = whole(
        "Days it keeps once opened",
        min_value=0,
        required=False,
        help_text="Of a drum, can or spool; the day of opening is not counted. Empty: as long as the lot.",
    )
    sure = sure_field()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["received_on"].initial = shop_day(timezone.now())


class CountForm(PlainForm):
    ids = "count"
    received = whole("How many came, counted again", min_value=1)
    reason = forms.CharField(label="Why the count before was another", max_length=200)


class DrumForm(PlainForm):
    ids = "drum"
    lot = forms.ModelChoiceField(label="Lot", queryset=Lot.objects.none())
    mark = mark_field("Our mark for it", "At most 14 characters, as on its tag.")

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
    mark = mark_field("Serial number", "As it is marked on the part.")
    supplier = supplier_field()
    heat = _heat("Heat, where it carries one")
    set_mark = forms.CharField(label="Set number, where it is one of a set", max_length=40, required=False)
    sure = sure_field()

    def __init__(self, facts: Sequence[str], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.names = [name for name in facts if name not in _HAS_A_FIELD]
        for name in self.names:
            words = name.replace("_", " ").capitalize()
            self.fields[f"{FACT}{name}"] = forms.CharField(label=words, max_length=80, required=False)

    @property
    def facts(self) -> dict[str, str]:
        return {name: self.cleaned_data.get(f"{FACT}{name}", "") for name in self.names}
