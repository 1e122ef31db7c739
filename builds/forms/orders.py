"""Forms of orders. They read what was typed; whether it may be so is the action's to say."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from builds.definitions.card import Card
from builds.forms.options import OptionsForm
from shop.clock import shop_day
from shop.forms import PlainForm, day
from shop.models import Customer, Paper


def whole(label: str, **more: Any) -> forms.IntegerField:
    return forms.IntegerField(
        label=label,
        error_messages={"invalid": "Type a whole number, without comma or point."},
        max_value=1_000_000_000,
        **more,
    )


class OrderForm(PlainForm):
    ids = "order"
    number = forms.CharField(label="Order number", max_length=40)
    customer = forms.ModelChoiceField(label="Customer", queryset=Customer.objects.all(), empty_label="choose one")
    placed_on = day("Placed on")
    customer_reference = forms.CharField(
        label="The customer's own number", max_length=60, required=False, help_text="May stay empty."
    )
    paper = forms.ChoiceField(label="Certificates on", choices=Paper.choices)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["placed_on"].initial = shop_day(timezone.now())


class LineForm(OptionsForm):
    """How many, when, and one choice for each option of the card."""

    ids = "line"
    quantity = whole("How many axles", initial=1)
    promised_from = day("Promised from", help_text="The earliest day.")
    promised_to = day("Promised to", help_text="The latest day.")
    rush = forms.BooleanField(label="Rush", required=False)

    def __init__(self, card: Card, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(card.options)


class BookForm(PlainForm):
    count = whole("How many to book", initial=1)
