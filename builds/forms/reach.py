"""What a reach list is asked with: one cause or two, days, and how two go together. Part of the page's address."""

from __future__ import annotations

from datetime import datetime

from django import forms

from builds.reports.reach.cause import CauseKind, Question, Together
from builds.reports.reach.question import Typed, question_of
from shop.errors import Refusal
from shop.forms import PlainForm, day

KINDS = [
    ("", "what the scan or mark says"),
    (CauseKind.MATCHED_SET, "a matched set"),
    (CauseKind.SUPPLIER, "a supplier"),
    (CauseKind.PERSON, "a person"),
    (CauseKind.PROCEDURE, "a weld procedure"),
    (CauseKind.TERMINAL, "a terminal"),
    (CauseKind.STATION_SHIFT, "a station's shift"),
    (CauseKind.REVISION, "a build card's revision"),
]
TOGETHER = [
    (Together.SAME_WORK, "both at the same piece of work"),
    (Together.BOTH, "both in the same thing"),
    (Together.EITHER, "either of them"),
]


class ReachForm(PlainForm):
    ids = "reach"
    cause = forms.CharField(
        label="Cause",
        required=False,
        max_length=80,
        help_text="Scan a label, or type a mark, code or name: heat, bar, lot, drum, serial, gauge, person …",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false",
                                      "autofocus": True}),
    )  # fmt: skip
    kind = forms.ChoiceField(label="It is", choices=KINDS, required=False)
    day_from = day("From", required=False, help_text="When it was fitted, measured or worked on. Empty: always.")
    day_to = day("Up to and including", required=False)
    other = forms.CharField(
        label="Second cause",
        required=False,
        max_length=80,
        help_text="May stay empty. This seal lot and this assembler, say.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}),
    )
    other_kind = forms.ChoiceField(label="The second is", choices=KINDS, required=False)
    together = forms.ChoiceField(label="Touched by", choices=TOGETHER, required=False)
    shift = forms.CharField(
        label="Shift", required=False, max_length=20, help_text="For a station's shift: its name. Empty: the whole day."
    )

    @property
    def narrowing(self) -> list[forms.BoundField]:
        """The fields that few ask for: folded away until one of them says something."""
        return [field for field in self if field.name not in ("cause", "kind")]

    @property
    def narrows(self) -> bool:
        return any(
            field.errors or (field.value() or "") not in ("", Together.SAME_WORK.value) for field in self.narrowing
        )

    def question(self, now: datetime) -> Question | None:
        """The question, or None with the errors said at their fields."""
        if not self.is_valid():
            return None
        try:
            return question_of(self.typed, now)
        except Refusal as refusal:
            self.add_error(refusal.field if refusal.field in self.fields else None, refusal.text)
            return None

    @property
    def typed(self) -> Typed:
        return Typed(**self.cleaned_data)
