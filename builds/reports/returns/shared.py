"""What the returned axles share more often than chance would give: suspects by rank. It decides nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from urllib.parse import urlencode

from builds.models import Axle, Finding, FindingWord, Returned, Shipment
from builds.reports.reach.cause import CauseKind
from builds.reports.returns.exposure import Exposed, Value, exposure
from measurements.statistics.suspects import Counts, Suspect, rank
from shop.lists import CsvList

#: Rows on the page; the CSV has all.
MOST = 40
#: Values of one row that are shown before it is unfolded.
SHOWN = 5
#: Below this an adjusted p would be called small; what cannot get there is told so.
SMALL = 0.05


@dataclass(frozen=True)
class Row:
    """Values that the same axles have, which no count can tell apart, with what is said of them."""

    values: tuple[Value, ...]
    suspect: Suspect
    serials: tuple[str, ...]

    @property
    def first(self) -> list[tuple[Value, str]]:
        """The values shown at once, each with the question that the reach list is asked for it."""
        return [(value, urlencode(_asked(value))) for value in self.values[:SHOWN]]

    @property
    def rest(self) -> list[tuple[Value, str]]:
        """The values to be unfolded: what every axle has is a long list that says little."""
        return [(value, urlencode(_asked(value))) for value in self.values[SHOWN:]]

    @property
    def too_few(self) -> bool:
        """Whether even the worst case could not be told from chance."""
        return self.suspect.least_p > SMALL

    @property
    def others(self) -> tuple[int, int]:
        """How many of those without the value came back, and of how many."""
        counts = self.suspect.counts
        return counts.failed - counts.both, counts.built - counts.exposed


@dataclass(frozen=True)
class Shared:
    """`set_aside`: returns that were found to be no fault of the axle. `looked_at`: every value tested."""

    built: int
    failed: int
    looked_at: int
    rows: list[Row] = field(default_factory=list)
    set_aside: int = 0


def returns_that_count(role: str = "") -> tuple[list[Returned], int]:
    """The returns (about one role, or all) whose newest finding does not clear the axle, and how many it clears."""
    rows = Returned.objects.select_related("axle__item").order_by("number")
    found = list(rows.filter(role=role) if role else rows)
    newest: dict[int, str] = dict(
        Finding.objects.filter(returned__in=found).order_by("pk").values_list("returned", "says")
    )
    counted = [row for row in found if newest.get(row.pk) != FindingWord.OTHER]
    return counted, len(found) - len(counted)


def shared(role: str = "") -> Shared:
    """Over every axle that left the shop; an axle counts once however often it came back."""
    counted, set_aside = returns_that_count(role)
    built = sorted(set(Shipment.objects.values_list("axle", flat=True)))
    failed = frozenset(row.axle_id for row in counted)
    if not failed:
        return Shared(len(built), 0, 0, set_aside=set_aside)
    return Shared(len(built), len(failed), *_ranked(exposure(built), failed, len(built)), set_aside)


def _ranked(every: Exposed, failed: frozenset[int], built: int) -> tuple[int, list[Row]]:
    """How many values were looked at, and those that a returned axle has, by rank."""
    alike: dict[frozenset[int], list[Value]] = defaultdict(list)
    for value, those in every.items():
        if those & failed:
            alike[those].append(value)
    sets = list(alike)
    counts = [Counts(len(those & failed), len(those), len(failed), built) for those in sets for _ in alike[those]]
    places = [those for those in sets for _ in alike[those]]
    serials = dict(Axle.objects.filter(pk__in=failed).values_list("pk", "item__mark"))
    rows: dict[frozenset[int], Row] = {}
    for one in rank(counts, len(every)):
        those = places[one.place]
        if those not in rows:
            back = tuple(sorted(serials[pk] for pk in those & failed))
            rows[those] = Row(tuple(sorted(alike[those])), one, back)
    return len(every), list(rows.values())


def _asked(value: Value) -> Mapping[str, str]:
    kind = "" if value.kind in (CauseKind.ITEM, CauseKind.GAUGE) else value.kind.value
    asked = {"cause": value.typed, "kind": kind, "day_from": value.day, "day_to": value.day, "shift": value.shift}
    return {name: given for name, given in asked.items() if given}


def shared_list(found: Shared) -> CsvList:
    """Every value that a returned axle has, one line each."""
    head = ("value", "kind", "returned with it", "with it", "returned without it", "without it", "relative risk",
            "from", "to", "p", "least p", "adjusted p", "values looked at")  # fmt: skip
    lines: list[Sequence[object]] = []
    for row in found.rows:
        one, risk = row.suspect, row.suspect.risk
        for value in row.values:
            lines.append((
                value.words, value.kind.value, one.counts.both, one.counts.exposed, *row.others,
                *((f"{risk.ratio:.4g}", f"{risk.low:.4g}", f"{risk.high:.4g}") if risk else ("", "", "")),
                f"{one.p:.6g}", f"{one.least_p:.6g}", f"{one.adjusted:.6g}", found.looked_at,
            ))  # fmt: skip
    return CsvList("what-returns-share", head, lines)
