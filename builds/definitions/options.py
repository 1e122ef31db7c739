"""Options of an axle: axes, their values, what may not be combined, and the condition `When`."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import product

MOST_COMBINATIONS = 4096

Fact = str | int | Decimal | bool
Chosen = Mapping[str, str]


@dataclass(frozen=True)
class Clause:
    """One axis and the values it may have (or, negated, may not have)."""

    axis: str
    values: tuple[str, ...]
    negated: bool = False

    def holds(self, chosen: Chosen) -> bool:
        """Whether the chosen value of the axis satisfies this clause; an axis not chosen never does."""
        return self.axis in chosen and (chosen[self.axis] in self.values) is not self.negated


@dataclass(frozen=True)
class When:
    """A condition on the chosen options: all clauses must hold. No clause: always."""

    clauses: tuple[Clause, ...] = ()

    def holds(self, chosen: Chosen) -> bool:
        """Whether this condition holds for the chosen options."""
        return all(clause.holds(chosen) for clause in self.clauses)


ALWAYS = When()


@dataclass(frozen=True)
class OptionValue:
    """One thing that can be chosen, with plain facts about it (tooth counts, splines ...)."""

    code: str
    label: str
    facts: tuple[tuple[str, Fact], ...] = ()

    def fact(self, name: str) -> Fact | None:
        """The named fact, or None where this value does not state it."""
        return dict(self.facts).get(name)


@dataclass(frozen=True)
class Option:
    """An axis of choice."""

    axis: str
    label: str
    values: tuple[OptionValue, ...]
    default: str

    def value(self, code: str) -> OptionValue | None:
        """The value with this code, or None."""
        return next((value for value in self.values if value.code == code), None)


@dataclass(frozen=True)
class Refusal:
    """A combination that cannot be built, and why."""

    when: When
    reason: str


def complete(options: tuple[Option, ...], chosen: Chosen) -> dict[str, str]:
    """The chosen values with the default of every axis that was left out."""
    return {option.axis: option.default for option in options} | dict(chosen)


def refusals_for(options: tuple[Option, ...], refusals: tuple[Refusal, ...], chosen: Chosen) -> list[str]:
    """Plain sentences saying why these options cannot be built; an empty list means they can."""
    axes = {option.axis: option for option in options}
    said = [f"This axle has no option called {axis}." for axis in chosen if axis not in axes]
    full = complete(options, chosen)
    for axis, option in axes.items():
        if option.value(full[axis]) is None:
            known = ", ".join(value.code for value in option.values)
            said.append(f"{option.label} cannot be {full[axis]!r}; choose one of: {known}.")
    return said + [refusal.reason for refusal in refusals if refusal.when.holds(full)]


def combinations(options: tuple[Option, ...], axes: Collection[str]) -> Iterator[dict[str, str]]:
    """Every way to choose these axes (the others at their default), up to a sane number."""
    moved = [option for option in options if option.axis in axes]
    values = [[value.code for value in option.values] for option in moved]
    for number, combination in enumerate(product(*values)):
        if number >= MOST_COMBINATIONS:
            return
        chosen = dict(zip((option.axis for option in moved), combination, strict=True))
        yield complete(options, chosen)
