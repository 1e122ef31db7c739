"""The form of a bench book entry: one field for each of its own. What a figure may be is the book's to say."""

from __future__ import annotations

from collections.abc import Mapping

from django import forms

from measurements.bench.book import CannotTake, Entry, Field, given
from measurements.bench.given import Given
from shop.forms import PlainForm

LONGEST = 400


class BookForm(PlainForm):
    ids = "book"

    def __init__(self, entry: Entry, typed: Mapping[str, str]) -> None:
        keys = [field.key for field in entry.fields]
        super().__init__(typed if any(typed.get(key, "").strip() for key in keys) else None)
        self.entry = entry
        self.given: Given | None = None
        for field in entry.fields:
            label = f"{field.label}, {field.unit}" if field.unit else field.label
            hint = "Several: a space or a semicolon between them." if field.several else ""
            widget = self._widget(field, typed.get(field.key, ""))
            self.fields[field.key] = forms.CharField(
                label=label, required=False, max_length=LONGEST, widget=widget, help_text=hint
            )
            self.fields[field.key].optional = not field.needed  # type: ignore[attr-defined]

    def _widget(self, field: Field, typed: str) -> forms.Widget:
        """A list to pick from where only some words will do; what was typed by hand in an address stays in it."""
        if not field.choices:
            # Once something was sent, a grey example in a field left blank could pass for a figure.
            example = "" if self.is_bound else field.example
            return forms.TextInput(attrs={"autocomplete": "off", "placeholder": example})
        strange = [typed] if typed and typed not in field.choices else []
        return forms.Select(choices=[("", ""), *((word, word) for word in (*strange, *field.choices))])

    def clean(self) -> dict[str, str]:
        """The figures, or a sentence at each field that cannot be taken."""
        found = super().clean() or {}
        try:
            self.given = given(self.entry, {key: found.get(key, "") for key in self.fields})
        except CannotTake as cannot:
            for key, fault in cannot.faults.items():
                if key not in self.errors:
                    self.add_error(key, fault)
        return found
