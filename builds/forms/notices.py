"""What a notice says, what was done for its lines, and why it is closed."""

from __future__ import annotations

from typing import Any

from django import forms

from builds.actions.following import LONGEST_NOTE, Step
from builds.actions.noticing import LONGEST_ASK, LONGEST_FOUND, Says
from builds.models import Notice, NoticeLine, StepKind
from shop.forms import PlainForm, day


class NoticeForm(PlainForm):
    ids = "notice"
    found = forms.CharField(
        label="What was found",
        max_length=LONGEST_FOUND,
        help_text="In plain words; every consignee and customer reads it. No serials, no names.",
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Say what was found."},
    )
    ask = forms.CharField(
        label="What consignees are asked to do",
        max_length=LONGEST_ASK,
        help_text="What to look at, what to leave alone, whom to ask. It does not say that an axle may go on the road.",
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say what they are asked to do."},
    )

    @property
    def says(self) -> Says:
        return Says(self.cleaned_data["found"], self.cleaned_data["ask"])


class StepForm(PlainForm):
    """One step for some of the lines of a group. Nothing is chosen beforehand."""

    kind = forms.ChoiceField(
        label="What was done",
        choices=StepKind.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what was done."},
    )
    on = day("On which day")
    note = forms.CharField(
        label="Note",
        max_length=LONGEST_NOTE,
        required=False,
        help_text="By letter or call, what was said, what was seen. Needed to close.",
    )
    lines = forms.MultipleChoiceField(
        error_messages={
            "required": "Choose at least one line that this was done for.",
            "invalid_choice": "That line is not of this notice. Load the page again.",
        },
    )

    def __init__(self, notice: Notice, group: str, data: Any = None) -> None:
        self.ids = f"step-{group}"
        super().__init__(data)
        self.group = group
        known = NoticeLine.objects.filter(notice=notice).values_list("pk", flat=True)
        self.fields["lines"].choices = [(str(pk), str(pk)) for pk in known]  # type: ignore[attr-defined]

    @property
    def chosen(self) -> set[str]:
        """What was ticked, to be drawn again."""
        return set(self.data.getlist("lines")) if self.is_bound else set()  # type: ignore[attr-defined]

    @property
    def step(self) -> Step:
        return Step(self.cleaned_data["kind"], self.cleaned_data["on"], self.cleaned_data["note"])

    @property
    def line_ids(self) -> list[int]:
        return [int(line) for line in self.cleaned_data["lines"]]


class CloseForm(PlainForm):
    ids = "close"
    reason = forms.CharField(
        label="How it ended",
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Say how it ended."},
    )
