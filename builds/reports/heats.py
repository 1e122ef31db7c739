"""One heat as its page shows it: the values with every try, the rule, carbon equivalents, papers, what is left."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from builds.definitions.material import element_of
from builds.models import Delivered, HeatJudged, Paper
from builds.reports.wording import VERDICT_KIND
from measurements.engineering.limits import plain
from measurements.engineering.units import rounded
from measurements.engineering.validity import OutsideValidity
from measurements.engineering.welds import Equivalent, carbon_equivalent
from measurements.models import Reading, VerdictWord
from shop.models import Heat, Item

RULES = {
    "absolute": "Each value is judged exactly as the certificate states it.",
    "E29": "Each value is rounded to the last place in which its limit is written (ASTM E29; a tie to the even figure),"
    " then judged.",
}
_SHOWN_TO = Decimal("0.001")


@dataclass(frozen=True)
class StatedValue:
    """One value of a certificate, with the limits of that day in words. `stands`: no later try took its place."""

    reading: Reading
    stands: bool = True

    @property
    def kind(self) -> str:
        """The sign of its verdict; empty where there is no limit."""
        return VERDICT_KIND[VerdictWord(self.reading.verdict)]

    @property
    def limits(self) -> str:
        low, high = self.reading.low, self.reading.high
        if low is not None and high is not None:
            return f"{plain(low)} to {plain(high)}"
        if high is not None:
            return f"at most {plain(high)}"
        return f"at least {plain(low)}" if low is not None else "recorded"


@dataclass(frozen=True)
class Equivalents:
    """A carbon equivalent for the page. `remark`: which elements the certificate does not state."""

    name: str
    formula: str
    value: str
    remark: str


@dataclass(frozen=True)
class HeatFile:
    values: list[StatedValue]
    rule: str
    judged_by: str
    equivalents: list[Equivalents]
    no_equivalents: str
    papers: list[Paper]
    delivery: Item | None


_FORMULAS = {
    Equivalent.CE: "C + Mn/6 + (Cr + Mo + V)/5 + (Ni + Cu)/15",
    Equivalent.CET: "C + (Mn + Mo)/10 + (Cr + Cu)/20 + Ni/40",
    Equivalent.PCM: "C + Si/30 + (Mn + Cu + Cr)/20 + Ni/60 + Mo/15 + V/10 + 5 B",
}


def heat_file(heat: Heat) -> HeatFile:
    values = heat_values(heat)
    found, why_not = equivalents([stated.reading for stated in values if stated.stands])
    judged = HeatJudged.objects.filter(pk=heat.pk).select_related("revision__model", "material").first()
    by = ""
    if judged is not None:
        by = f"build card {judged.revision}" + (f" and {judged.material}" if judged.material is not None else "")
    came = Delivered.objects.filter(item=heat.item_id).select_related("delivery__item").first()
    papers = Paper.objects.filter(covers__item=heat.item_id).prefetch_related("scans", "covers__item").order_by("pk")
    return HeatFile(
        values=values,
        rule=RULES[judged.rounding] if judged is not None else "",
        judged_by=by,
        equivalents=found,
        no_equivalents=why_not,
        papers=list(papers),
        delivery=came.delivery.item if came is not None else None,
    )


def heat_values(heat: Heat) -> list[StatedValue]:
    rows = list(Reading.objects.filter(item=heat.item_id).select_related("characteristic", "person").order_by("pk"))
    last = {row.characteristic_id: row.pk for row in rows}
    first = {row.characteristic_id: place for place, row in reversed(list(enumerate(rows)))}
    rows.sort(key=lambda row: (first[row.characteristic_id], row.attempt))
    return [StatedValue(row, stands=last[row.characteristic_id] == row.pk) for row in rows]


def equivalents(rows: list[Reading]) -> tuple[list[Equivalents], str]:
    """CE, CET and Pcm from what the certificate states; else a sentence why there are none."""
    analysis = {
        symbol: Fraction(row.value)
        for row in rows
        if row.value is not None and row.characteristic.unit == "%" and (symbol := element_of(row.characteristic.name))
    }
    used = {symbol for kind in Equivalent for symbol in kind.value[1]}
    try:
        worked = [
            (kind, carbon_equivalent({name: value for name, value in analysis.items() if name in used}, kind))
            for kind in Equivalent
        ]
    except OutsideValidity as reason:
        return [], reason.text
    return [
        Equivalents(kind.value[0], _FORMULAS[kind], f"{rounded(made.value, _SHOWN_TO):f}", _missing(made.assumed_zero))
        for kind, made in worked
    ], ""


def _missing(names: tuple[str, ...]) -> str:
    return f"{', '.join(names)} not stated: counted as 0, so the true figure may be higher" if names else ""
