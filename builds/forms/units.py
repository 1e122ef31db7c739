"""The form of a unit that is begun for stock: which side, where the sides differ, and the options it is built to."""

from __future__ import annotations

from typing import Any

from django import forms

from builds.definitions.card import Card
from builds.forms.options import OptionsForm
from builds.forms.orders import whole


class BeginForm(OptionsForm):
    """Of the options only those that such a unit is built to."""

    ids = "begin"
    count = whole("How many", initial=1)

    def __init__(self, card: Card, role: str, *args: Any, sides: tuple[str, ...] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if sides:
            self.fields["side"] = forms.ChoiceField(label="Side", choices=[(side, side) for side in sides])
        self.ask(option for option in card.options if option.axis in card.options_of(role))
