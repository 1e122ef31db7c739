"""The form of a unit that is begun for stock: which side, where the sides differ, and the options it is built to."""

from __future__ import annotations

from typing import Any

from django import forms

from builds.definitions.card import Card
from builds.forms.orders import whole
from shop.forms import PlainForm

_OPTION = "option-"


class BeginForm(PlainForm):
    """Of the options only those that such a unit is built to."""

    ids = "begin"
    count = whole("How many", initial=1)

    def __init__(self, card: Card, role: str, *args: Any, sides: tuple[str, ...] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if sides:
            self.fields["side"] = forms.ChoiceField(label="Side", choices=[(side, side) for side in sides])
        for option in card.options:
            if option.axis in card.options_of(role):
                self.fields[f"{_OPTION}{option.axis}"] = forms.ChoiceField(
                    label=option.label,
                    choices=[(value.code, value.label) for value in option.values],
                    initial=option.default,
                )

    @property
    def options(self) -> dict[str, str]:
        """The chosen value of each axis."""
        chosen = {name: value for name, value in self.cleaned_data.items() if name.startswith(_OPTION)}
        return {name.removeprefix(_OPTION): value for name, value in chosen.items()}
