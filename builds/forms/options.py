"""One choice for each option of a build card, as fields of a form."""

from __future__ import annotations

from collections.abc import Iterable

from django import forms

from builds.definitions.options import Option
from shop.forms import PlainForm

_OPTION = "option-"


class OptionsForm(PlainForm):
    """A form that asks for options after its own fields."""

    def ask(self, options: Iterable[Option]) -> None:
        """Add a choice for each of these."""
        for option in options:
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
