"""What a heat's certificate must state, and the verdict on each value.

The material's definition and the build card may both ask for a value; then the narrower limit on each side judges.
Values are judged exactly as typed unless the material is bought to ASTM E29: it rounds to the limit's last place first.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from builds.definitions.card import Card
from builds.definitions.card import Material as CardMaterial
from builds.definitions.card import PartKind as CardPartKind
from builds.definitions.characteristic import Characteristic as Planned
from builds.definitions.material import StatedValue, element_of, same_name
from builds.definitions.words import Tracking
from builds.errors import FarOff
from builds.models import Material, Revision
from measurements.engineering.limits import FigureError, Limits, Question, far_off, judge, parse_figure, plain
from measurements.engineering.units import rounded
from measurements.models import VerdictWord
from shop.errors import Refusal

GIVEN_BY_HEAT = "heat"
#: Parts per million in one per cent.
PPM = Decimal(10_000)
#: Nothing is made of more than this.
MOST_PERCENT = Decimal(100)


@dataclass(frozen=True)
class Asked:
    """One value that is asked for: under which code it is kept, on whose row, and between which limits."""

    code: str
    name: str
    unit: str
    limits: Limits
    decimals: int
    key: str
    optional: bool = False
    recorded_only: bool = False
    choices: tuple[str, ...] = ()
    accepted: tuple[str, ...] = ()

    @property
    def element(self) -> str:
        """The symbol, where it is the content of an element."""
        return element_of(self.name) if self.unit == "%" else ""


@dataclass(frozen=True)
class Judged:
    asked: Asked
    typed: str
    value: Decimal | None
    verdict: VerdictWord
    questioned: bool = False

    @property
    def unit(self) -> str:
        return self.asked.unit if self.value is not None else ""

    @property
    def is_bad(self) -> bool:
        return self.verdict not in (VerdictWord.IN, VerdictWord.NONE)


def asked_of(revision: Revision, part_kind: str, material: Material | None) -> list[Asked]:
    """What the card asks of this kind of steel, in its order, then what only the material's definition asks."""
    defined = {same_name(value.name): value for value in material.definition.values} if material is not None else {}
    found = []
    for planned in steel_values(revision.card, part_kind):
        asked = _of_card(planned, revision)
        also = defined.pop(same_name(planned.name), None)
        found.append(_narrowed(asked, also) if also is not None else asked)
    if material is not None:
        found += [_of_material(value, material) for value in defined.values()]
    return found


def steel_values(card: Card, part_kind: str) -> list[Planned]:
    """What a heat's certificate must state for steel of this part kind, in the order of the card."""
    roles = {need.role for operation in card.operations for need in operation.needs if need.part_kind == part_kind}
    return [found for found in _given_by_heat(card) if found.given and found.given.role in roles]


def comes_by_heat(card: Card, kind: CardPartKind) -> bool:
    """Whether heats of this kind are taken in: stock with values to judge, or parts of a stated material."""
    if kind.tracking == Tracking.HEAT or steel_values(card, kind.code):
        return True
    return kind.tracking == Tracking.SERIAL and bool(kind.material)


def _given_by_heat(card: Card) -> Iterator[Planned]:
    for operation in card.operations:
        for found in operation.characteristics:
            if found.given is not None and found.given.source == GIVEN_BY_HEAT:
                yield found


def material_of(card: Card, part_kind: str) -> CardMaterial:
    """The material of a part kind; one that the card does not describe is judged absolutely."""
    code = card.part_kind(part_kind).material
    known = {material.code: material for material in card.materials}
    return known.get(code, CardMaterial(code=code, name=code or part_kind, grade=""))


def rounding_of(card: Card, part_kind: str, material: Material | None) -> str:
    """The rule that values are judged by: the definition's, else the card's word for this material."""
    return material.definition.rounding if material is not None else material_of(card, part_kind).rounding


def _of_card(found: Planned, revision: Revision) -> Asked:
    return Asked(
        found.code, found.name, found.unit, Limits(found.low, found.high, found.never_above), found.decimals,
        revision.key, found.optional, found.recorded_only, found.choices, found.accepted,
    )  # fmt: skip


def _of_material(value: StatedValue, material: Material) -> Asked:
    only = value.low is None and value.high is None
    return Asked(
        value.code, value.name, value.unit, Limits(value.low, value.high), value.decimals, material.key,
        not value.needed, only,
    )  # fmt: skip


def _narrowed(asked: Asked, value: StatedValue) -> Asked:
    if asked.unit != value.unit:
        raise Refusal(
            f"{asked.name} is in {asked.unit} on the build card and in {value.unit} in the material's definition."
            " An engineer has to put one of them right."
        )
    # Of two alike the definition's writing counts: its last place is what ASTM E29 rounds to.
    lows = [limit for limit in (value.low, asked.limits.low) if limit is not None]
    highs = [limit for limit in (value.high, asked.limits.high) if limit is not None]
    low, high = max(lows, default=None), min(highs, default=None)
    if low is not None and high is not None and low > high:
        raise Refusal(
            f"{asked.name}: no value is inside the limits both of the build card and of the material's definition."
            " An engineer has to put one of them right."
        )
    limits = Limits(low, high, asked.limits.never_above)
    return replace(asked, limits=limits, recorded_only=low is None and high is None)


def limits_words(limits: Limits) -> str:
    """The limits without their unit: "0.28 to 0.33", "at most 0.04", "recorded"."""
    low, high = limits.low, limits.high
    if low is not None and high is not None:
        return f"{plain(low)} to {plain(high)}"
    if high is not None:
        return f"at most {plain(high)}"
    return f"at least {plain(low)}" if low is not None else "recorded"


def judged(asked: Asked, typed: str, rounding: str, *, kept: bool) -> Judged:
    """The verdict on one value as it was typed. `kept`: its question was asked, and it stays. Raises Refusal."""
    typed = typed.strip()
    if not typed and not asked.optional:
        raise Refusal(
            f"{asked.name} ({asked.code}) is blank. Type what the certificate states; blank is not zero.",
            field=asked.code,
        )
    if asked.choices or not typed or not asked.unit:
        return Judged(asked, typed, None, _word(asked, typed))
    try:
        value = parse_figure(typed)
    except FigureError as error:
        raise Refusal(f"{asked.name}: {error}", field=asked.code) from error
    _possible(asked, value)
    question = _question(asked, value)
    if question is not None and not kept:
        doubt = FarOff(f"{asked.name}: {question.text}", str(question.meant or ""))
        doubt.field = asked.code
        raise doubt
    verdict = VerdictWord.NONE
    if not asked.recorded_only:
        verdict = VerdictWord.of(judge(as_compared(value, asked.limits, rounding), asked.limits))
    return Judged(asked, typed, value, verdict, question is not None)


def _word(asked: Asked, typed: str) -> VerdictWord:
    if not typed or asked.recorded_only:
        return VerdictWord.NONE
    if asked.choices and typed not in asked.choices:
        raise Refusal(f"{asked.name} is one of: {', '.join(asked.choices)}.", field=asked.code)
    return VerdictWord.IN if not asked.accepted or typed in asked.accepted else VerdictWord.NO


def _possible(asked: Asked, value: Decimal) -> None:
    if asked.element and value > MOST_PERCENT:
        raise Refusal(
            f"{asked.name}: {plain(value)} % is more than the whole. Where the certificate states ppm,"
            f" {plain(value)} ppm is {plain(value / PPM)} %: type per cent.",
            field=asked.code,
        )


def _question(asked: Asked, value: Decimal) -> Question | None:
    """Asked once before an odd value is kept; ppm for per cent has its own words."""
    if asked.element and value > 0 and not _fits(asked, value) and _fits(asked, value / PPM):
        return Question(
            f"{plain(value)} % cannot be this steel, but {plain(value)} ppm is {plain(value / PPM)} %: does the"
            f" certificate state ppm? Type per cent; keep {plain(value)} only if it really says per cent.",
            value / PPM,
        )
    if asked.recorded_only:
        return None
    return far_off(value, asked.limits, Decimal(1).scaleb(-asked.decimals))


def _fits(asked: Asked, value: Decimal) -> bool:
    """In limits; where the grade has none, at most what a residual element of these steels may be."""
    if asked.recorded_only:
        return value <= 5
    return VerdictWord.of(judge(value, asked.limits)) == VerdictWord.IN


def as_compared(value: Decimal, limits: Limits, rounding: str) -> Decimal:
    """The value held against the limits: as it is, or by ASTM E29 rounded to the limit's last place."""
    stated = [limit for limit in (limits.low, limits.high) if limit is not None]
    if rounding != "E29" or not stated:
        return value
    places = max(-int(limit.as_tuple().exponent) for limit in stated)
    return rounded(value, Decimal(1).scaleb(-places))
