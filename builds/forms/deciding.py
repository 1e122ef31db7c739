"""The decision about a red tag."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.html import format_html
from django.utils.safestring import SafeString

from builds.actions.deciding import Agreement, Decided
from builds.models import Bench, Decision, Fitted, RedTag
from builds.reports.deciders import closed_to, rejected_part
from builds.reports.units import unit_alone
from shop.forms import PlainForm, day

#: What each decision does, said before it is chosen: on an axle, and on what is in no axle.
ON_AXLE = {
    Decision.USE_AS_IS: "It stays as it is. A value out of limit gets a numbered concession for this one value.",
    Decision.REWORK: "The operation opens again and the part is brought inside its limits.",
    Decision.REPAIR: "The operation opens again; the part is made fit for its use, though not as drawn.",
    Decision.SCRAP: "A part comes out and goes to the scrap bin, or the whole axle is scrapped.",
    Decision.RETURN: "A part comes out and goes back to its supplier.",
}
ON_UNIT = ON_AXLE | {
    Decision.SCRAP: "A part comes out and goes to the scrap bin; or the unit, once nothing is in it.",
    Decision.RETURN: "A part comes out and goes back to its supplier.",
}
LOOSE = {
    Decision.USE_AS_IS: "It goes back to stock as it is.",
    Decision.REWORK: "It has been brought inside its drawing and goes back to stock. Say in the reason what was done.",
    Decision.REPAIR: "It has been made fit for its use, though not as drawn, and goes back. Say what was done.",
    Decision.SCRAP: "It goes to the scrap bin. A heat is refused with every bar of it.",
    Decision.RETURN: "It goes back to the supplier. A heat is refused with every bar of it.",
}
AGREEMENT = ("agreed_by", "agreed_on", "agreed_how")


class AgreementForm(PlainForm):
    """The customer's agreement: whole or absent, for a half one would be lost without a word."""

    agreed_by = forms.CharField(label="Who agreed for the customer", max_length=120, required=False)
    agreed_on = day("On which day", required=False)
    agreed_how = forms.CharField(label="How", help_text="A letter, a message, a call.", max_length=120, required=False)

    def require_whole_agreement(self) -> None:
        """Say at each field what is missing of an agreement that was begun."""
        given = [name for name in AGREEMENT if str(self.cleaned_data.get(name) or "").strip()]
        for name in AGREEMENT if given else ():
            if name not in given and name not in self.errors:
                self.add_error(name, "An agreement says who, on which day, and how.")

    @property
    def agreement(self) -> Agreement | None:
        data = self.cleaned_data
        if not all(data[name] for name in AGREEMENT):
            return None
        return Agreement(data["agreed_by"], data["agreed_on"], data["agreed_how"])


class DecideForm(AgreementForm):
    """What is decided, why, and what the decision needs. Nothing is chosen beforehand."""

    ids = "decide"
    decision = forms.ChoiceField(
        label="Decision", widget=forms.RadioSelect, error_messages={"required": "Choose a decision."}
    )
    reason = forms.CharField(
        label="Why",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Say why."},
    )
    scope = forms.CharField(
        label="What exactly is allowed",
        help_text="It is printed with the concession. Left empty, it is this one value on this one item.",
        max_length=400,
        required=False,
    )
    cause = forms.ChoiceField(
        label="What the work changes",
        help_text="Everything that this makes invalid is opened again with it, and nothing else.",
        required=False,
    )
    welded_at = forms.ChoiceField(
        label="Where it is welded again",
        help_text="Needed where a weld is repaired: the new arc has its own record, and the looks after it are due.",
        required=False,
    )
    part = forms.ChoiceField(label="Which part comes out", required=False)
    whole_axle = forms.BooleanField(label="Scrap the whole axle", required=False)

    def __init__(self, tag: RedTag, data: Any = None) -> None:
        super().__init__(data)
        bench = tag.axle if tag.axle is not None else unit_alone(tag.item)
        loose = LOOSE if bench is None else ON_UNIT
        says = ON_AXLE if tag.axle is not None else loose
        self.closed = closed_to(tag, rejected_part(tag))
        self._choices("decision", _explained({word: said for word, said in says.items() if word not in self.closed}))
        causes = [(rule.cause, rule.name) for rule in bench.card_revision.card.invalidates] if bench is not None else []
        self._choices("cause", [("", "only this operation"), *causes])
        self._choices("welded_at", [("", "it is not"), *(_welds(bench) if bench is not None else ())])
        self._parts = {str(row.pk): row for row in (_fitted(bench) if bench is not None else ())}
        named = [
            (key, f"{row.role.replace('_', ' ')} {row.part.mark} in {row.host.mark}")
            for key, row in self._parts.items()
        ]
        self._choices("part", [("", "none"), *named])

    def _choices(self, name: str, choices: Sequence[tuple[str, str | SafeString]]) -> None:
        self.fields[name].choices = list(choices)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        if found.get("decision") == Decision.USE_AS_IS:
            self.require_whole_agreement()
        return found

    @property
    def decided(self) -> Decided:
        """Only what belongs to the chosen decision; the fields of the others are left unread."""
        data = self.cleaned_data
        word = data["decision"]
        as_is, again = word == Decision.USE_AS_IS, word in (Decision.REWORK, Decision.REPAIR)
        out = word in (Decision.SCRAP, Decision.RETURN)
        return Decided(
            decision=word,
            reason=data["reason"],
            scope=data["scope"] if as_is else "",
            agreement=self.agreement if as_is else None,
            cause=data["cause"] if again else "",
            welded_at=data["welded_at"] if again else "",
            part=self._parts.get(data["part"]) if out else None,
            whole_axle=data["whole_axle"] and word == Decision.SCRAP,
        )


def _explained(says: dict[Decision, str]) -> list[tuple[str, SafeString]]:
    return [
        (str(word), format_html("<b>{}</b> <span class='soft'>{}</span>", word.label, words))
        for word, words in says.items()
    ]


def _welds(bench: Bench) -> list[tuple[str, str]]:
    """The slots at which something is welded, by key."""
    return [
        (slot.key, f"{slot.operation.number} {slot.operation.name}" + (f", {slot.side}" if slot.side else ""))
        for slot in bench.plan.slots
        if slot.welds
    ]


def _fitted(bench: Bench) -> list[Fitted]:
    """What is in the axle, or in the unit that is in none."""
    axle = bench.as_axle
    rows = Fitted.objects.filter(axle=axle) if axle is not None else Fitted.objects.filter(host=bench.pk, axle=None)
    return list(rows.now().select_related("part", "host", "axle__item").order_by("pk"))
